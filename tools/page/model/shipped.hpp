// The files of scenarios/ that a scene may be or name, as they were when this was built.
#pragma once

#include <span>
#include <string_view>

namespace plunge {

struct ShippedFile {
  std::string_view path;  // below scenarios/: "scenes/drop-to-landing.toml"
  std::string_view text;
};

// By their paths.
std::span<const ShippedFile> shipped_files();

}  // namespace plunge
