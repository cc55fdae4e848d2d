#include "sim/disk/packed.hpp"

#include <zlib.h>

#include <new>

namespace plunge {

std::string packed(std::span<const double> values) {
  const std::size_t count = values.size();
  const auto* bytes = reinterpret_cast<const unsigned char*>(values.data());
  std::string shuffled(values.size_bytes(), '\0');
  for (std::size_t byte = 0; byte < sizeof(double); ++byte) {
    for (std::size_t i = 0; i < count; ++i) {
      shuffled[byte * count + i] = static_cast<char>(bytes[i * sizeof(double) + byte]);
    }
  }
  uLongf size = compressBound(static_cast<uLong>(shuffled.size()));
  std::string deflated(size, '\0');
  if (compress2(reinterpret_cast<Bytef*>(deflated.data()), &size,
                reinterpret_cast<const Bytef*>(shuffled.data()),
                static_cast<uLong>(shuffled.size()), kDeflateLevel) != Z_OK) {
    throw std::bad_alloc();  // the room is large enough: what is left is memory
  }
  deflated.resize(size);
  return deflated;
}

}  // namespace plunge
