#include "tools/cli/voice.hpp"

#include <cstdio>

namespace plunge {

namespace {

bool said_on_standard_error = false;

}  // namespace

void say_text(std::string_view text) {
  std::fwrite(text.data(), 1, text.size(), said_on_standard_error ? stderr : stdout);
}

void say_on_standard_error() { said_on_standard_error = true; }

void tell_text(std::string_view text) { std::fwrite(text.data(), 1, text.size(), stderr); }

}  // namespace plunge
