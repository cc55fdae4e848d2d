#include "sim/disk/file_kind.hpp"

#include <fmt/core.h>

#include "sim/text/build.hpp"
#include "sim/text/version.hpp"

namespace plunge {

void write_kind(Hdf5Writer& writer, const FileKind& kind, const std::string& title,
                const std::string& history) {
  writer.attributes("/", {{"Conventions", "CF-1.8"},
                          {"title", title},
                          {"history", history},
                          {"source", fmt::format("plunge {}", kProgramVersion)},
                          {"file_type", kind.type},
                          {"format_version", std::vector{kind.major, kind.minor}},
                          {"program_version", kProgramVersion},
                          {"program_commit", build_commit()},
                          {"program_compiler", build_compiler()}});
}

FileSaid demand_kind(const Hdf5Reader& reader, const FileKind& kind) {
  const std::string type =
      reader.has_attribute("/", "file_type") ? reader.text_attribute("/", "file_type") : "";
  if (type != kind.type) {
    reader.refuse("file_type", type, fmt::format("must be \"{}\": {}", kind.type, kind.what));
  }
  const std::vector<int> version = reader.integer_attribute("/", "format_version");
  if (version.size() != 2) reader.refuse("format_version", "", "must be two whole numbers");
  const std::string found = fmt::format("{}.{}", version[0], version[1]);
  if (version[0] < kind.major) {
    reader.refuse(
        "", "", fmt::format("was written by an older plunge (format {}): {}", found, kind.remedy));
  }
  if (version[0] > kind.major) {
    reader.refuse("format_version", found,
                  fmt::format("must be {}.x: a newer plunge wrote it", kind.major));
  }
  const auto text = [&](const char* name) {
    return reader.has_attribute("/", name) ? reader.text_attribute("/", name) : "";
  };
  return {text("title"), text("history"), text("program_version"), version[1]};
}

}  // namespace plunge
