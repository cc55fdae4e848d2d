#include "tools/cli/voice.hpp"

#include <cstdio>

namespace plunge {

void say_text(std::string_view text) { std::fwrite(text.data(), 1, text.size(), stdout); }

void tell_text(std::string_view text) { std::fwrite(text.data(), 1, text.size(), stderr); }

}  // namespace plunge
