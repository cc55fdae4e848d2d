// A small file of every kind of contents that the HDF5 writer knows.
#pragma once

#include <string>
#include <vector>

#include "sim/disk/hdf5_writer.hpp"

namespace plunge {

inline Hdf5Writer small_file() {
  Hdf5Writer writer;
  writer.attributes(
      "/", {{"title", std::string("two by three")}, {"format_version", std::vector<int>{1, 0}}});
  writer.dimension("/ride", std::vector<int>{0, 1}, {{"units", std::string("1")}});
  writer.dimension("/time", std::vector<double>{0.0, 0.5, 1.0}, {{"units", std::string("s")}});
  writer.variable("/travel", {"/ride", "/time"}, std::vector<double>{1, 2, 3, 4, 5, 6},
                  {{"units", std::string("m")}});
  writer.group("/energy");
  writer.variable("/energy/damper", {"/ride"}, std::vector<double>{7.0, 8.0}, {});
  writer.variable("/label", {"/ride"}, std::vector<std::string>{"naïve \"µ\"", ""}, {});
  return writer;
}

}  // namespace plunge
