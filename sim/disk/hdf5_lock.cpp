#include "sim/disk/hdf5_lock.hpp"

namespace plunge {

std::recursive_mutex& hdf5_lock() {
  static std::recursive_mutex mutex;
  return mutex;
}

}  // namespace plunge
