// What the WebAssembly module shows: room for a question and its numbers, the question, and the
// answer's words and numbers (door.hpp). Addresses are good until the next question.
#include <cstddef>
#include <string>
#include <vector>

#include "tools/page/model/door.hpp"

#define PLUNGE_EXPORT(name) extern "C" __attribute__((export_name(#name))) auto name

namespace plunge {
namespace {

// Never destroyed: the module ends with the page.
Door& door() {
  static Door& the_door = *new Door;
  return the_door;
}

std::string& question() {
  static std::string& the_question = *new std::string;
  return the_question;
}

std::vector<double>& given() {
  static std::vector<double>& the_numbers = *new std::vector<double>;
  return the_numbers;
}

}  // namespace

PLUNGE_EXPORT(plunge_room)(std::size_t size)->char* {
  question().resize(size);
  return question().data();
}

PLUNGE_EXPORT(plunge_numbers_room)(std::size_t count)->double* {
  given().resize(count);
  return given().data();
}

PLUNGE_EXPORT(plunge_ask)(std::size_t size)->void {
  door().ask({question().data(), size}, given());
}

PLUNGE_EXPORT(plunge_words)()->const char* { return door().words().data(); }
PLUNGE_EXPORT(plunge_words_size)()->std::size_t { return door().words().size(); }
PLUNGE_EXPORT(plunge_numbers)()->const double* { return door().numbers().data(); }
PLUNGE_EXPORT(plunge_numbers_count)()->std::size_t { return door().numbers().size(); }

}  // namespace plunge
