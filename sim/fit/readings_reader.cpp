#include "sim/fit/readings_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <utility>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/settle.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/sweep/plan_tables.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

bool is_csv(const std::string& path) { return path.ends_with(".csv") || path.ends_with(".CSV"); }

// A line of a table in its cells, each with the column at which it begins.
std::vector<TomlNode> cells_of(std::string_view line, char mark, int number) {
  std::vector<TomlNode> cells;
  std::size_t start = 0;
  while (true) {
    const std::size_t end = std::min(line.find(mark, start), line.size());
    const std::string_view whole = line.substr(start, end - start);
    TomlNode cell;
    cell.kind = Kind::text;
    cell.text = trimmed(whole);
    cell.line = number;
    const std::size_t blanks = cell.text.empty() ? 0 : whole.find(cell.text);
    cell.column = static_cast<int>(count_letters(line.substr(0, start + blanks))) + 1;
    cells.push_back(std::move(cell));
    if (end == line.size()) return cells;
    start = end + 1;
  }
}

// A table as the tree of a TOML file with the same readings.
TomlFile tree_of_table(std::string_view text, const std::string& file) {
  demand_utf8(text, file);
  TomlFile tree{file, {}};
  TomlMember list{"reading", 1, 1, {}};
  list.value.kind = Kind::array;
  std::vector<TomlNode> columns;
  char mark = ',';
  int number = 0;
  for (std::size_t start = 0; start < text.size();) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    const std::string_view line = text.substr(start, end - start);
    start = end + 1;
    ++number;
    if (trimmed(line).empty() || trimmed(line).front() == '#') continue;
    if (columns.empty()) {
      for (const char candidate : {';', '\t'}) {
        if (line.find(candidate) != std::string_view::npos) mark = candidate;
      }
      columns = cells_of(line, mark, number);
      continue;
    }
    std::vector<TomlNode> cells = cells_of(line, mark, number);
    if (cells.size() != columns.size()) {
      throw InputError(Fault{"",
                             "",
                             fmt::format("must have {}, as the first line; it has {}",
                                         counted(columns.size(), "cell"), cells.size()),
                             {file, number, 1}});
    }
    TomlNode row;
    row.line = number;
    row.column = 1;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (cells[i].text.empty()) continue;
      row.members.push_back({columns[i].text, cells[i].line, cells[i].column, cells[i]});
    }
    list.value.items.push_back(std::move(row));
  }
  tree.root.members.push_back(std::move(list));
  return tree;
}

class ReadingsReader {
 public:
  ReadingsReader(const TextFiles& files, const std::string& path)
      : files_(files),
        tables_(is_csv(path) ? tree_of_table(files.read(path), path)
                             : parse_toml(files.read(path), path)),
        folder_(files.folder_of(path)),
        table_(is_csv(path)) {}

  Readings read() {
    if (!table_) read_heading();
    read_ambient();
    read_instruments();
    read_list();
    return std::move(readings_);
  }

  Faults& faults() { return tables_.faults(); }

 private:
  const TomlNode& root() const { return tables_.file().root; }

  void read_heading() {
    const std::string type = read_type(tables_.file(), tables_.faults());
    if (!type.empty() && type != "readings") {
      tables_.blame(*root().find("type"), "type", "must be \"readings\" here");
    }
    tables_.refuse_unknown_keys(
        root(), "", {"type", "format", "note", "name", "ambient", "instruments", "reading"});
    for (const char* key : {"name", "note"}) read_text(root(), key, key, readings_.name);
    if (root().find("name") == nullptr) readings_.name.clear();
  }

  // Text, where the key is there.
  void read_text(const TomlNode& table, const std::string& prefix, const char* key,
                 std::string& text) {
    constexpr std::size_t kLongest = 400;
    const TomlNode* node = table.find(key);
    if (node == nullptr) return;
    if (node->kind != Kind::text) {
      tables_.blame(*node, prefix, "must be text; found " + describe(*node));
    } else if (node->text.size() > kLongest) {
      tables_.blame(*node, prefix, fmt::format("must be at most {} bytes", kLongest));
    } else if (std::string_view(key) != "note") {
      text = node->text;
    }
  }

  // A number in its range, where the key is there.
  void read_ranged(const TomlNode& table, const std::string& key, std::string_view own,
                   std::string_view unit, std::string_view said, bool whole, double low,
                   double high, double& number) {
    const TomlNode* node = table.find(own);
    if (node == nullptr) return;
    double found = kUnset;
    if (!read_number(tables_.file(), *node, key, {unit, whole}, found, tables_.faults())) return;
    if (in_range(found, low, high)) {
      number = found;
    } else {
      tables_.blame(*node, key, "must be " + say_range(low, high, said));
    }
  }

  void read_ambient() {
    const TomlNode* table = tables_.table_of("ambient", {"altitude", "temperature"});
    readings_.ambient = defaults().ambient;
    if (table == nullptr) return;
    Setup setup = defaults();
    for (const char* own : {"altitude", "temperature"}) {
      const Parameter& field = *find_parameter(std::string("ambient.") + own);
      read_ranged(*table, std::string(field.name), own, field.unit, field.said, false, field.low,
                  field.high, field.at(setup));
    }
    readings_.ambient = setup.ambient;
  }

  void read_instruments() {
    std::vector<std::string_view> known;
    for (const auto& field : instrument_fields()) known.push_back(field.name);
    readings_.instruments = usual_instruments();
    const TomlNode* table = tables_.table_of("instruments", known);
    if (table == nullptr) return;
    for (const auto& field : instrument_fields()) {
      read_ranged(*table, fmt::format("instruments.{}", field.name), field.name, field.unit,
                  field.said, field.whole, field.low, field.high, field.at(readings_.instruments));
    }
  }

  void read_list() {
    const TomlNode* list = root().find("reading");
    if (list == nullptr || (list->kind == Kind::array && list->items.empty())) {
      tables_.missing(root(), "reading", "must have at least one reading, [[reading]]");
      return;
    }
    if (list->kind != Kind::array) {
      tables_.blame(*list, "reading",
                    "must be an array of tables, [[reading]]; found " + describe(*list));
      return;
    }
    if (list->items.size() > kMostReadings) {
      tables_.blame(*list, "reading", fmt::format("must be at most {} readings", kMostReadings));
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string key = fmt::format("reading[{}]", i);
      if (tables_.demand_table(list->items[i], key)) read_one(list->items[i], key, i);
    }
  }

  // The position of a word among values, or nothing after a fault or where the key is not there.
  std::optional<int> read_word(const TomlNode& table, const std::string& prefix, const char* key,
                               std::span<const ChoiceValue> values) {
    const TomlNode* node = table.find(key);
    if (node == nullptr) return std::nullopt;
    const std::string full = fmt::format("{}.{}", prefix, key);
    const int word = node->kind == Kind::text ? find_value(values, node->text) : -1;
    if (word >= 0) return word;
    tables_.blame(*node, full,
                  node->kind == Kind::text
                      ? word_rule(values, node->text)
                      : fmt::format("must be one of {}; found {}", quoted_list(names_of(values)),
                                    describe(*node)));
    return std::nullopt;
  }

  void read_one(const TomlNode& table, const std::string& key, std::size_t number) {
    const std::vector<ChoiceValue> kinds = reading_kinds();
    if (table.find("kind") == nullptr) {
      tables_.missing(table, key + ".kind",
                      fmt::format("must be given: one of {}", quoted_list(names_of(kinds))));
      return;
    }
    const auto kind = read_word(table, key, "kind", kinds);
    if (!kind) return;
    Reading reading;
    reading.kind = static_cast<ReadingKind>(*kind);
    reading.place = tables_.file().place(table);
    const ReadingRow& row = row_of(reading.kind);
    reading.label = fmt::format("reading {} ({})", number + 1, row.name);
    std::vector<std::string_view> known = {"kind", "reads", "spread", "instrument", "note"};
    if (reads_moving(reading.kind)) known.emplace_back("moving");
    if (reading.kind == ReadingKind::ring) known.emplace_back("scene");
    for (const auto& field : condition_fields()) {
      if (is_read(field, reading)) known.push_back(field.name);
    }
    refuse_foreign_keys(table, key, row.name, known);
    read_values(table, key, row, reading);
    if (reads_moving(reading.kind)) {
      reading.moving = static_cast<Moving>(read_word(table, key, "moving", movings()).value_or(0));
    }
    read_text(table, key + ".instrument", "instrument", reading.instrument);
    read_text(table, key + ".note", "note", reading.instrument);
    if (!reading.instrument.empty()) reading.label += ", " + reading.instrument;
    if (reading.kind == ReadingKind::ring) read_scene(table, key, reading);
    readings_.list.push_back(std::move(reading));
  }

  // A condition of another kind is told as such.
  void refuse_foreign_keys(const TomlNode& table, const std::string& key, std::string_view kind,
                           const std::vector<std::string_view>& known) {
    for (const TomlMember& member : table.members) {
      if (std::ranges::find(known, member.key) != known.end()) continue;
      const bool foreign = member.key == "moving" || member.key == "scene" ||
                           std::ranges::any_of(condition_fields(), [&](const auto& field) {
                             return field.name == member.key;
                           });
      tables_.add({key + "." + member.key,
                   written(member.value),
                   foreign ? fmt::format("does not belong to the kind \"{}\"", kind)
                           : "is no known key" + suggestion(member.key, known),
                   {tables_.file().file, member.line, member.column}});
    }
  }

  void read_values(const TomlNode& table, const std::string& key, const ReadingRow& row,
                   Reading& reading) {
    read_ranged(table, key + ".reads", "reads", row.unit, row.said, false, row.low, row.high,
                reading.reads);
    read_ranged(table, key + ".spread", "spread", row.unit, row.said, false, 1e-6 * row.high,
                row.high, reading.spread);
    for (const char* own : {"reads", "spread"}) {
      if (table.find(own) != nullptr) continue;
      tables_.missing(table, fmt::format("{}.{}", key, own),
                      fmt::format("must be given, {}", say_range(row.low, row.high, row.said)));
    }
    for (const auto& field : condition_fields()) {
      if (!is_read(field, reading)) continue;
      double number = field.fallback;
      read_ranged(table, fmt::format("{}.{}", key, field.name), field.name, field.unit, field.said,
                  field.whole, field.low, field.high, number);
      field.set(reading, number);
      const bool needed = field.needed != nullptr && std::isnan(field.fallback);
      if (needed && table.find(field.name) == nullptr) {
        tables_.missing(
            table, fmt::format("{}.{}", key, field.name),
            fmt::format("must be given, {}", say_range(field.low, field.high, field.said)));
      }
    }
    if (!(std::isnan(reading.travel) || reading.until < reading.travel ||
          std::isnan(reading.until))) {
      tables_.missing(table, key + ".until",
                      fmt::format("must be less than {} (travel)", say(reading.travel, "mm")));
    }
  }

  void read_scene(const TomlNode& table, const std::string& key, Reading& reading) {
    std::string path;
    read_text(table, key + ".scene", "scene", path);
    if (table.find("scene") == nullptr) {
      tables_.missing(table, key + ".scene", "must be given: the path of a scene file");
    }
    if (!path.empty()) reading.scene = files_.beside(folder_, path);
  }

  const TextFiles& files_;
  PlanTables tables_;
  std::string folder_;
  bool table_;
  Readings readings_;
};

}  // namespace

Readings load_readings(const TextFiles& files, const std::string& path) {
  ReadingsReader reader(files, path);
  Readings readings = reader.read();
  if (!reader.faults().empty()) throw InputError(std::move(reader.faults()));
  return readings;
}

bool is_readings(const TextFiles& files, const std::string& path) {
  if (is_csv(path)) return true;
  try {
    const TomlFile file = parse_toml(files.read(path), path);
    const TomlNode* type = file.root.find("type");
    return type != nullptr && type->text == "readings";
  } catch (const InputError&) {
    return false;
  }
}

Faults check_readings(const TextFiles& files, const std::string& path) {
  try {
    ReadingsReader reader(files, path);
    const Readings readings = reader.read();
    Faults faults = std::move(reader.faults());
    for (const Reading& reading : readings.list) {
      if (reading.scene.empty()) continue;
      Faults found;
      check_part(files, reading.scene, found);
      faults.insert(faults.end(), found.begin(), found.end());
    }
    return faults;
  } catch (const InputError& error) {
    return error.faults();
  }
}

std::vector<BenchReading> with_scenes(const TextFiles& files, const Readings& readings,
                                      const std::string& fork) {
  std::vector<BenchReading> list;
  for (const Reading& reading : readings.list) {
    BenchReading bench{reading, {}};
    if (!reading.scene.empty()) {
      OverlaidScene loaded = load_scene(files, reading.scene, Overlay{{{"fork", fork}}});
      Setup& setup = loaded.scene.setup;
      setup.hold = {};
      if (!std::isnan(reading.spacers)) setup.fork.spacers = reading.spacers;
      setup.fork.pressure = reading.pressure;
      Faults faults = settle(setup);
      for (Fault& fault : faults) loaded.locate(fault);
      if (!faults.empty()) throw InputError(std::move(faults));
      bench.scene = setup;
    }
    list.push_back(std::move(bench));
  }
  return list;
}

}  // namespace plunge
