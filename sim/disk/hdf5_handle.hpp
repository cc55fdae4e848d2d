// An identifier of the HDF5 library that is given back when it goes out of scope.
#pragma once

#include <cstdint>
#include <utility>

namespace plunge {

class Hdf5Handle {
 public:
  using Close = int (*)(std::int64_t);
  Hdf5Handle() = default;
  Hdf5Handle(std::int64_t id, Close close) : id_(id), close_(close) {}
  Hdf5Handle(Hdf5Handle&& other) noexcept
      : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Hdf5Handle& operator=(Hdf5Handle&& other) noexcept {
    std::swap(id_, other.id_);
    std::swap(close_, other.close_);
    return *this;
  }
  ~Hdf5Handle() {
    if (id_ >= 0) close_(id_);
  }
  std::int64_t id() const { return id_; }

 private:
  std::int64_t id_ = -1;
  Close close_ = nullptr;
};

}  // namespace plunge
