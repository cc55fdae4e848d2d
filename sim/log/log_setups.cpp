#include "sim/log/log_setups.hpp"

#include <fmt/core.h>

#include "models/setup/parameters.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

void put_numbers(Setup& setup, const LogEntry& entry) {
  for (const auto& [name, value] : entry.numbers) {
    if (const Parameter* parameter = find_parameter(name)) parameter->set(setup, value);
  }
}

Setup setup_of_thing(const LogEntry& thing) {
  Setup setup;
  const std::string file = thing.text("file");
  if (!file.empty()) {
    MemoryFiles files;
    const std::string name = fmt::format("file of {}", name_of(thing));
    files.put(name, file);
    setup = load_part(files, name, thing.kind->name, {}, false);
  }
  put_numbers(setup, thing);
  return setup;
}

Knowledge knowledge_of_fork(const LogEntry& fork, const LogEntry* setting) {
  if (fork.text("file").empty()) return {};
  MemoryFiles files;
  const std::string name = fmt::format("file of {}", name_of(fork));
  files.put(name, fork.text("file"));
  const Scene scene = load_fork_scene(files, name, "", {});
  Setup anew = scene.setup;
  put_numbers(anew, fork);
  if (setting != nullptr) put_numbers(anew, *setting);
  Knowledge knowledge = scene.knowledge;
  for (std::size_t i = knowledge.size(); i-- > 0;) {
    const Parameter& parameter = *find_parameter(knowledge.numbers()[i].name);
    if (parameter.get(anew) != parameter.get(scene.setup)) knowledge.remove(i);
  }
  return knowledge;
}

Setup setup_of_setting(const LogContent& log, const LogEntry& setting) {
  Setup setup;
  const auto part = [&](std::string_view field) { return log.find(setting.reference(field)); };
  if (const LogEntry* fork = part("fork")) setup.fork = setup_of_thing(*fork).fork;
  if (const LogEntry* rider = part("rider")) setup.rider = setup_of_thing(*rider).rider;
  if (const LogEntry* bike = part("bike")) setup.bike = setup_of_thing(*bike).bike;
  put_numbers(setup, setting);
  return setup;
}

}  // namespace plunge
