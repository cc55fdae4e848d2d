#include "sim/disk/disk_files.hpp"

#include <filesystem>
#include <mutex>
#include <set>
#include <system_error>

#include "sim/disk/text_file.hpp"

namespace plunge {
namespace {

class DiskFiles : public TextFiles {
 public:
  std::string read(const std::string& path) const override {
    std::string text = read_text_file(path);
    const std::lock_guard lock(mutex_);
    read_.insert(path);
    return text;
  }
  bool has(const std::string& path) const override {
    std::error_code error;
    return std::filesystem::is_regular_file(path, error);
  }
  std::string folder_of(const std::string& path) const override {
    return std::filesystem::path(path).parent_path().string();
  }
  std::string beside(const std::string& folder, const std::string& path) const override {
    return (std::filesystem::path(folder) / path).lexically_normal().string();
  }

  std::vector<std::string> all_read() const {
    const std::lock_guard lock(mutex_);
    return {read_.begin(), read_.end()};
  }

 private:
  mutable std::mutex mutex_;
  mutable std::set<std::string> read_;
};

const DiskFiles& files() {
  static const DiskFiles files;
  return files;
}

}  // namespace

const TextFiles& disk_files() { return files(); }

std::vector<std::string> files_read() { return files().all_read(); }

}  // namespace plunge
