// The page's door to the model as a program of this machine, for tests to hold the module against:
// asks each line of the standard input, and leaves the answer to line N in FOLDER/N.json and
// FOLDER/N.f64.
#include <fstream>
#include <iostream>
#include <string>

#include "tools/page/model/door.hpp"

int main(int count, char** words) {
  if (count != 2) return 2;
  plunge::Door door;
  std::string question;
  for (int number = 0; std::getline(std::cin, question); ++number) {
    door.ask(question);
    const std::string path = std::string(words[1]) + "/" + std::to_string(number);
    std::ofstream(path + ".json", std::ios::binary) << door.words();
    const auto bytes = std::as_bytes(door.numbers());
    std::ofstream(path + ".f64", std::ios::binary)
        .write(reinterpret_cast<const char*>(bytes.data()),
               static_cast<std::streamsize>(bytes.size()));
  }
}
