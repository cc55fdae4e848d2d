// Features of the ground: the array of a terrain file or of a scene, with the profiles that it
// names.
#pragma once

#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/input/findings.hpp"
#include "sim/input/table_reader.hpp"
#include "sim/text/text_files.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

// The text of a file that another one names. One that cannot be read at all is a fault of the value
// that names it; `named` may be null.
std::string text_of(const TextFiles& files, const std::string& path, const std::string& key,
                    const Source* named);

class TerrainReader {
 public:
  // All are used as long as the reader is; features are added to the Setup.
  TerrainReader(const TextFiles& files, Setup& setup, Findings& found, TableReader& tables)
      : files_(files), setup_(setup), found_(found), tables_(tables) {}

  // The root of a terrain file; files that it names are sought in `folder`.
  void read_file(const TomlFile& file, const std::string& folder);
  void read_features(const TomlFile& file, const TomlNode& list, const std::string& folder);

 private:
  void read_feature(const TomlFile& file, const TomlNode& item, const std::string& key,
                    const std::string& folder, Feature& feature);
  // A key of a feature that is no plain number; false: it is none of these.
  bool read_other(const TomlFile& file, const TomlMember& member, const std::string& key,
                  const std::string& folder, char decimal, Feature& feature);
  // What the decimals of a measured file follow, as the feature says.
  char read_decimal(const TomlFile& file, const TomlNode& item, const std::string& key);
  void refuse_strange_keys(const TomlFile& file, const TomlNode& item, const std::string& key,
                           const Feature& feature);
  void read_profile_file(const TomlFile& file, const TomlNode& value, const std::string& key,
                         const std::string& folder, char decimal, Feature& feature);
  // An array of lengths: texts with units, or bare numbers, which are metres.
  void read_lengths(const TomlFile& file, const TomlNode& value, const std::string& key,
                    std::vector<double>& lengths);

  const TextFiles& files_;
  Setup& setup_;
  Findings& found_;
  TableReader& tables_;
};

}  // namespace plunge
