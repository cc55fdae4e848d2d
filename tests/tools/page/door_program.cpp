// The page's door to the model as a program of this machine, for tests to hold the module against:
// asks each line of the standard input, with the numbers of FOLDER/N.given where there is one, and
// leaves the answer to line N in FOLDER/N.json and FOLDER/N.f64.
#include <cstring>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>
#include <vector>

#include "tools/page/model/door.hpp"

namespace {

// A file of doubles; none where there is no such file.
std::vector<double> numbers_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
  std::vector<double> numbers(bytes.size() / sizeof(double));
  std::memcpy(numbers.data(), bytes.data(), numbers.size() * sizeof(double));
  return numbers;
}

}  // namespace

int main(int count, char** words) {
  if (count != 2) return 2;
  plunge::Door door;
  std::string question;
  for (int number = 0; std::getline(std::cin, question); ++number) {
    const std::string path = std::string(words[1]) + "/" + std::to_string(number);
    const std::vector<double> given = numbers_of(path + ".given");
    door.ask(question, given);
    std::ofstream(path + ".json", std::ios::binary) << door.words();
    const auto bytes = std::as_bytes(door.numbers());
    std::ofstream(path + ".f64", std::ios::binary)
        .write(reinterpret_cast<const char*>(bytes.data()),
               static_cast<std::streamsize>(bytes.size()));
  }
}
