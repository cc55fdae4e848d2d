#include "sim/input/terrain_reader.hpp"

#include <fmt/core.h>

#include <cmath>
#include <string_view>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/input/profile_file.hpp"
#include "sim/input/toml_values.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

}  // namespace

std::string text_of(const TextFiles& files, const std::string& path, const std::string& key,
                    const Source* named) {
  try {
    return files.read(path);
  } catch (const InputError& error) {
    Fault fault = error.faults().front();
    if (named == nullptr || fault.place.line > 0) throw;
    throw InputError(Fault{key, named->written, path + " " + fault.rule, named->place});
  }
}

void TerrainReader::read_file(const TomlFile& file, const std::string& folder) {
  constexpr std::string_view kKeys[] = {"type", "format", "note", "name", "terrain"};
  tables_.check_note(file, file.root);
  for (const TomlMember& member : file.root.members) {
    if (tables_.is_heading(member.key)) continue;
    if (member.key == "name") {
      if (member.value.kind != Kind::text) {
        found_.blame(file, member.value, "name", "must be text; found " + describe(member.value));
      }
    } else if (member.key == "terrain") {
      read_features(file, member.value, folder);
    } else {
      tables_.unknown(file, member, member.key, {std::begin(kKeys), std::end(kKeys)});
    }
  }
}

void TerrainReader::read_features(const TomlFile& file, const TomlNode& list,
                                  const std::string& folder) {
  found_.remember("terrain", file, list);
  if (list.kind != Kind::array) {
    found_.blame(
        file, list, "terrain",
        "must be the path of a terrain file or an array of features; found " + describe(list));
    found_.leave_unread("terrain");
    return;
  }
  for (std::size_t i = 0; i < list.items.size(); ++i) {
    const std::string key = fmt::format("terrain[{}]", i);
    Feature feature;
    if (tables_.read_kind(file, list.items[i], key, feature_choices()[0])) {
      read_feature(file, list.items[i], key, folder, feature);
    } else {
      found_.leave_unread(key);
    }
    setup_.terrain.push_back(std::move(feature));
  }
}

void TerrainReader::read_feature(const TomlFile& file, const TomlNode& item, const std::string& key,
                                 const std::string& folder, Feature& feature) {
  std::vector<std::string_view> words = {"file", "decimal", "distance", "elevation"};
  for (const auto& choice : feature_choices()) words.push_back(choice.name);
  const char decimal = read_decimal(file, item, key);
  const auto other = [&](const TomlMember& member) {
    return read_other(file, member, key, folder, decimal, feature);
  };
  tables_.read_fields(file, item, key, feature_fields(), feature, other, words);
  refuse_strange_keys(file, item, key, feature);
}

bool TerrainReader::read_other(const TomlFile& file, const TomlMember& member,
                               const std::string& key, const std::string& folder, char decimal,
                               Feature& feature) {
  if (tables_.read_choice(file, member, key, feature_choices(), feature)) return true;
  const std::string full = fmt::format("{}.{}", key, member.key);
  if (member.key == "distance") {
    read_lengths(file, member.value, full, feature.distance);
  } else if (member.key == "elevation") {
    read_lengths(file, member.value, full, feature.elevation);
  } else if (member.key == "file") {
    read_profile_file(file, member.value, full, folder, decimal, feature);
  } else if (member.key == "decimal") {
    // read_decimal() has read it.
  } else if (member.key == "roughness" && member.value.kind == Kind::text &&
             roughness_class(member.value.text)) {
    found_.remember(full, file, member.value);
    feature.roughness = *roughness_class(member.value.text);
  } else {
    return false;
  }
  return true;
}

char TerrainReader::read_decimal(const TomlFile& file, const TomlNode& item,
                                 const std::string& key) {
  const TomlNode* value = item.find("decimal");
  if (value == nullptr) return '.';
  const std::string full = key + ".decimal";
  if (item.find("file") == nullptr) {
    found_.blame(file, *value, full, "belongs to a file, which is not named");
  } else if (value->kind != Kind::text || (value->text != "." && value->text != ",")) {
    found_.blame(file, *value, full, "must be \",\" or \".\", which its decimals follow");
  } else {
    return value->text.front();
  }
  return '.';
}

void TerrainReader::refuse_strange_keys(const TomlFile& file, const TomlNode& item,
                                        const std::string& key, const Feature& feature) {
  const auto refuse = [&](const TomlNode& value, std::string_view name) {
    found_.blame(file, value, fmt::format("{}.{}", key, name),
                 fmt::format("does not belong to the kind \"{}\"", to_string(feature.kind)));
  };
  for (const auto& choice : feature_choices()) {
    const TomlNode* value = item.find(choice.name);
    if (value != nullptr && !choice.needed(feature)) refuse(*value, choice.name);
  }
  const TomlNode* profile_file = item.find("file");
  if (profile_file != nullptr && (item.find("distance") || item.find("elevation"))) {
    found_.blame(file, *profile_file, key + ".file", "must not stand beside distance or elevation");
  }
  if (profile_file != nullptr && feature.kind != FeatureKind::profile) {
    refuse(*profile_file, "file");
  }
}

void TerrainReader::read_profile_file(const TomlFile& file, const TomlNode& value,
                                      const std::string& key, const std::string& folder,
                                      char decimal, Feature& feature) {
  if (value.kind != Kind::text) {
    found_.blame(file, value, key, "must be the path of a CSV file; found " + describe(value));
    found_.leave_unread(key.substr(0, key.rfind('.')));
    return;
  }
  const std::string path = files_.beside(folder, value.text);
  const std::string owner = key.substr(0, key.rfind('.'));
  const Place whole_file{path, 0, 0};
  found_.set_source(owner + ".distance", whole_file);
  found_.set_source(owner + ".elevation", whole_file);
  try {
    const Source named{file.place(value), written(value)};
    MeasuredProfile profile = parse_profile(text_of(files_, path, key, &named), path, decimal);
    feature.distance = std::move(profile.distance);
    feature.elevation = std::move(profile.elevation);
  } catch (const InputError& error) {
    found_.add(error.faults());
    found_.leave_unread(owner);
  }
}

void TerrainReader::read_lengths(const TomlFile& file, const TomlNode& value,
                                 const std::string& key, std::vector<double>& lengths) {
  found_.set_source(key, file.place(value));
  if (value.kind != Kind::array) {
    found_.blame(file, value, key, "must be an array of lengths; found " + describe(value));
    return;
  }
  lengths.reserve(value.items.size());
  for (std::size_t i = 0; i < value.items.size(); ++i) {
    const TomlNode& item = value.items[i];
    double length = kUnset;
    if ((item.kind == Kind::whole || item.kind == Kind::real) && std::isfinite(item.number)) {
      length = item.number;
    } else if (item.kind == Kind::real) {
      found_.blame(file, item, fmt::format("{}[{}]", key, i), "must be finite");
    } else {
      tables_.read_number(file, item, fmt::format("{}[{}]", key, i), {"m", false}, length);
    }
    if (std::isnan(length)) {
      found_.leave_unread(key.substr(0, key.rfind('.')));
      return;
    }
    if (key.ends_with(".distance") && !lengths.empty() && !(length > lengths.back())) {
      found_.blame(
          file, item, fmt::format("{}[{}]", key, i),
          fmt::format("must be above the distance before it, {}", say(lengths.back(), "m")));
    }
    lengths.push_back(length);
  }
}

}  // namespace plunge
