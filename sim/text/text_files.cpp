#include "sim/text/text_files.hpp"

#include <algorithm>
#include <vector>

namespace plunge {

std::string MemoryFiles::read(const std::string& path) const {
  const auto found = texts_.find(path);
  if (found == texts_.end()) throw InputError(Fault{"", "", "does not exist", {path, 0, 0}});
  return found->second;
}

std::string MemoryFiles::folder_of(const std::string& path) const {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? std::string() : path.substr(0, slash);
}

std::string MemoryFiles::beside(const std::string& folder, const std::string& path) const {
  const bool absolute = path.starts_with('/');
  const std::string whole = absolute || folder.empty() ? path : folder + "/" + path;
  std::vector<std::string> parts;
  for (std::size_t start = 0; start <= whole.size();) {
    const std::size_t end = std::min(whole.find('/', start), whole.size());
    const std::string part = whole.substr(start, end - start);
    start = end + 1;
    if (part.empty() || part == ".") continue;
    if (part == ".." && !parts.empty() && parts.back() != "..") {
      parts.pop_back();
    } else {
      parts.push_back(part);
    }
  }
  std::string plain;
  for (const std::string& part : parts) plain += (plain.empty() ? "" : "/") + part;
  return whole.starts_with('/') ? "/" + plain : plain;
}

}  // namespace plunge
