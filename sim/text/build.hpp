// What program this is: its version, the commit and the compiler that it was built from and with.
#pragma once

#include <string>

namespace plunge {

// `git describe --always --dirty` of the tree as it was built; "unknown" outside a repository.
std::string build_commit();

// Compiler, its version and the options that its results turn on: "GNU 12.2.0 -O3 -DNDEBUG".
std::string build_compiler();

// All of it in one line: "plunge 0.1.0, commit 5f8081e, GNU 12.2.0 -O3 -DNDEBUG".
std::string build_text();

}  // namespace plunge
