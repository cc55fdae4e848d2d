// Who may be inside the HDF5 library.
//
// Debian's build of it does not lock itself. Whoever writes HDF5 from several threads holds this
// lock; a process that is to read is forked under it (sim/disk/reading_process.hpp), so that the
// library is at rest in the copy. Readers themselves need no lock.
#pragma once

#include <mutex>

namespace plunge {

std::recursive_mutex& hdf5_lock();

}  // namespace plunge
