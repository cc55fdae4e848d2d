// What a file says about itself: its type, the version of its format, and who wrote it how.
//
// Every HDF5 file here has the same first attributes at its root:
//   Conventions, title, history, source, file_type, format_version [major, minor],
//   program_version, program_commit, program_compiler
// `history` says by which command a file came about, without the names of outputs and without a
// clock: the same contents have the same bytes.
#pragma once

#include <string>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"

namespace plunge {

struct FileKind {
  std::string type;    // "plunge ride"
  int major = 0;       // readers refuse another
  int minor = 0;       // readers take any
  std::string what;    // of the file, for refusals: "the file that plunge ride writes"
  std::string remedy;  // for a file of an older format: "ride it again"
};

// As the file says it.
struct FileSaid {
  std::string title;
  std::string history;
  std::string program_version;
  int minor = 0;
};

void write_kind(Hdf5Writer& writer, const FileKind& kind, const std::string& title,
                const std::string& history);

// Refuses another type and another major version: InputError.
FileSaid demand_kind(const Hdf5Reader& reader, const FileKind& kind);

}  // namespace plunge
