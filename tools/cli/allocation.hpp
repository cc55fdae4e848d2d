// Memory that was asked for and not given.
//
// The program's operator new is defined beside it: as the usual one, but it keeps the size that was
// refused last, so that a shortage can be told with its number.
#pragma once

#include <cstddef>

namespace plunge {

// [byte]; 0: none was refused.
std::size_t refused_allocation();

}  // namespace plunge
