// Without the rights of root, which may read and write everything, while it lasts.
#pragma once

#include <unistd.h>

namespace plunge {

class AsNobody {
 public:
  AsNobody() {
    if (before_ == 0 && ::seteuid(kNobody) != 0) ::_exit(1);
  }
  ~AsNobody() {
    if (before_ == 0 && ::seteuid(before_) != 0) ::_exit(1);
  }
  AsNobody(const AsNobody&) = delete;
  AsNobody& operator=(const AsNobody&) = delete;

 private:
  static constexpr uid_t kNobody = 65534;
  const uid_t before_ = ::geteuid();
};

}  // namespace plunge
