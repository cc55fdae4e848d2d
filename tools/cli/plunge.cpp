// The program plunge: its command line, and what is left to say at the end.
#include <cstdio>
#include <iostream>

#include "tools/cli/command_line.hpp"

int main(int argc, char** argv) {
  const int code = plunge::CommandLine().run(argc, argv);
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return code;
  std::cerr << "plunge: cannot write to the standard output\n";
  return code == 0 ? 1 : code;
}
