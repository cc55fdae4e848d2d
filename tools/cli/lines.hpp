// Text in lines of a given width.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace plunge {

// The words of a text in lines no wider than `width` letters, where no word is.
std::vector<std::string> broken(std::string_view text, std::size_t width);

// The same as one text, each line but the first behind `indent` blanks; `width` counts them.
std::string wrapped(std::string_view text, std::size_t width, std::size_t indent = 0);

}  // namespace plunge
