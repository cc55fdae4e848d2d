#include "sim/input/findings.hpp"

#include <algorithm>
#include <utility>

#include "sim/input/toml_values.hpp"

namespace plunge {

void Findings::add(Fault fault) {
  if (fault.key.ends_with(".roughness")) fault.rule += ", or \"class A\" to \"class H\"";
  faults_.push_back(std::move(fault));
}

void Findings::add(const Faults& faults) {
  for (const Fault& fault : faults) add(fault);
}

void Findings::add_judged(const Faults& faults) {
  std::set<std::string> faulty;
  for (const Fault& fault : faults_) faulty.insert(fault.key);
  for (Fault fault : faults) {
    if (faulty.contains(fault.key) || in_unread_part(fault.key)) continue;
    locate(fault);
    add(std::move(fault));
  }
}

void Findings::blame(const TomlFile& file, const TomlNode& node, std::string key,
                     std::string rule) {
  add({std::move(key), written(node), std::move(rule), file.place(node)});
}

void Findings::set_source(const std::string& key, const Place& place, const std::string& written) {
  sources_[key] = {place, written};
}

void Findings::remember(const std::string& key, const TomlFile& file, const TomlNode& node) {
  set_source(key, file.place(node), written(node));
}

void Findings::locate(Fault& fault) const {
  std::string key = fault.key;
  if (const auto found = sources_.find(key); found != sources_.end()) {
    fault.place = found->second.place;
    if (!found->second.written.empty()) fault.value = found->second.written;
    return;
  }
  while (!key.empty()) {
    const std::size_t cut = key.find_last_of(".[");
    key.resize(cut == std::string::npos ? 0 : cut);
    if (const auto found = sources_.find(key); found != sources_.end()) {
      fault.place = found->second.place;
      return;
    }
  }
}

void Findings::throw_faults() {
  if (!faults_.empty()) throw InputError(std::move(faults_));
}

bool Findings::in_unread_part(std::string_view key) const {
  return std::ranges::any_of(unread_, [&](const std::string& part) {
    return key == part || key.starts_with(part + ".") || key.starts_with(part + "[");
  });
}

}  // namespace plunge
