// The program plunge: its command line, and what is left to say at the end.
#include "tools/cli/command_line.hpp"
#include "tools/cli/voice.hpp"

int main(int argc, char** argv) {
  plunge::open_voice();
  return plunge::close_voice(plunge::CommandLine().run(argc, argv));
}
