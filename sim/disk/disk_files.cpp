#include "sim/disk/disk_files.hpp"

#include <filesystem>
#include <system_error>

#include "sim/disk/text_file.hpp"

namespace plunge {
namespace {

class DiskFiles : public TextFiles {
 public:
  std::string read(const std::string& path) const override { return read_text_file(path); }
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
};

}  // namespace

const TextFiles& disk_files() {
  static const DiskFiles files;
  return files;
}

}  // namespace plunge
