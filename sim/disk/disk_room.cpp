#include "sim/disk/disk_room.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/resource.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <filesystem>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"

namespace plunge {
namespace {

[[noreturn]] void refuse_size(const std::string& target, std::uint64_t wanted,
                              std::uint64_t there) {
  throw RunError(fmt::format("cannot write {}: it would take up to {}, and {} are free on its disk",
                             target, say_bytes(wanted), say_bytes(there)));
}

// Bytes that are free where a file is or would be, behind all links. An error: the system does not
// say, or the target is a pipe or its like.
std::uint64_t free_bytes(const std::string& target, std::error_code& error) {
  namespace fs = std::filesystem;
  if (target == kStandardOutput) {
    const fs::path spool = fs::temp_directory_path(error);
    return error ? 0 : fs::space(spool, error).available;
  }
  const fs::path real = fs::weakly_canonical(target, error);
  if (error) return 0;
  if (fs::exists(target, error) && !fs::is_regular_file(target, error)) {
    error = std::make_error_code(std::errc::not_supported);
    return 0;
  }
  error.clear();
  const fs::path folder = real.parent_path();
  return fs::space(folder.empty() ? "." : folder, error).available;
}

}  // namespace

std::string say_bytes(std::uint64_t bytes) {
  constexpr std::array kUnits = {"kB", "MB", "GB", "TB", "PB"};
  constexpr double kStep = 1000.0;
  if (bytes < 1000) return fmt::format("{} bytes", bytes);
  double size = static_cast<double>(bytes) / kStep;
  std::size_t unit = 0;
  while (size >= kStep && unit + 1 < kUnits.size()) {
    size /= kStep;
    ++unit;
  }
  return fmt::format("{:.1f} {}", size, kUnits[unit]);
}

void demand_room(const std::string& target, std::uint64_t bytes) {
  struct rlimit largest = {};
  if (::getrlimit(RLIMIT_FSIZE, &largest) == 0 && largest.rlim_cur != RLIM_INFINITY &&
      largest.rlim_cur < bytes) {
    throw RunError(
        fmt::format("cannot write {}: it would take up to {}, and a file may have {} here "
                    "(ulimit -f)",
                    target, say_bytes(bytes), say_bytes(largest.rlim_cur)));
  }
  std::error_code error;
  const std::uint64_t there = free_bytes(target, error);
  if (!error && there < bytes) refuse_size(target, bytes, there);
}

void hold_room(const std::string& file, const std::string& target, std::uint64_t bytes) {
  const int descriptor = ::open(file.c_str(), O_WRONLY | O_CLOEXEC);
  if (descriptor < 0) return;
  int failed = 0;
  do {
    failed = ::fallocate(descriptor, FALLOC_FL_KEEP_SIZE, 0, static_cast<off_t>(bytes));
  } while (failed != 0 && errno == EINTR);
  const bool full = failed != 0 && errno == ENOSPC;
  ::close(descriptor);
  if (!full) return;
  std::error_code error;
  refuse_size(target, bytes, free_bytes(target, error));
}

void give_back_room(const std::string& file) {
  std::error_code error;
  const std::uint64_t size = std::filesystem::file_size(file, error);
  if (!error) std::filesystem::resize_file(file, size, error);
}

}  // namespace plunge
