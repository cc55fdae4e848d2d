#include "sim/sweep/shard_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <mutex>
#include <numeric>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/file_kind.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/hdf5_units.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/sweep_paths.hpp"

namespace plunge {
namespace {

const FileKind kShardKind{kShardFileType, kShardFormatMajor, kShardFormatMinor,
                          "a finished shard of a sweep", "sweep it again"};

constexpr std::string_view kNameBegin = "shard-";
constexpr std::string_view kNameEnd = ".h5";

Hdf5Attributes said(const std::string& units, const std::string& long_name) {
  return {{"units", units}, {"long_name", long_name}};
}

// Numbers as 32-bit integers where all fit.
void add_rides(Hdf5Writer& writer, std::size_t first, std::size_t count) {
  const Hdf5Attributes attributes = said("1", "number of the ride in its plan");
  if (first + count <= static_cast<std::size_t>(std::numeric_limits<int>::max())) {
    std::vector<int> numbers(count);
    std::iota(numbers.begin(), numbers.end(), static_cast<int>(first));
    writer.dimension("/ride", numbers, attributes);
  } else {
    std::vector<double> numbers(count);
    std::iota(numbers.begin(), numbers.end(), static_cast<double>(first));
    writer.dimension("/ride", numbers, attributes);
  }
}

std::string bytes_of(const Shard& shard, const Plan& plan, const std::string& fingerprint,
                     InstructionSet lanes) {
  const Keep& keep = plan.keep();
  std::size_t samples = 0;
  for (const RideRow& row : shard.rows) {
    for (const std::vector<float>& trace : row.traces) samples = std::max(samples, trace.size());
  }
  const std::size_t values = keep.metrics.size() + keep.traces.size() * samples;
  Hdf5Writer writer(sizeof(double) * shard.rows.size() * values);
  write_kind(writer, kShardKind, plan.name(), sweep_history(plan));
  writer.attributes("/", {{"plan_fingerprint", fingerprint},
                          {"shard", std::vector{static_cast<int>(shard.number)}},
                          {"lanes", std::string(to_string(lanes))}});
  add_rides(writer, shard.first, shard.rows.size());

  std::vector<int> origins;
  std::vector<int> reasons;
  std::vector<std::string> texts{""};
  std::map<std::string, int> places{{"", 0}};
  for (const RideRow& row : shard.rows) {
    origins.push_back(static_cast<int>(row.origin));
    const auto [place, fresh] = places.try_emplace(row.failure, static_cast<int>(texts.size()));
    if (fresh) texts.push_back(row.failure);
    reasons.push_back(place->second);
  }
  for (std::size_t i = 0; i < keep.metrics.size(); ++i) {
    const Label& metric = *find_metric(keep.metrics[i]);
    std::vector<double> column;
    for (const RideRow& row : shard.rows) {
      const double value = i < row.metrics.size() ? row.metrics[i] : kUnset;
      column.push_back(std::isnan(value) ? kUnset : value);  // one kind of NaN: the same bytes
    }
    writer.variable("/" + metric.name, {"/ride"}, column, said(metric.unit, metric.long_name));
  }
  writer.variable("/origin", {"/ride"}, origins,
                  {{"long_name", "how the row came about"},
                   {"flag_values", std::vector{0, 1, 2}},
                   {"flag_meanings", "lanes adaptive failed"}});
  writer.variable("/reason", {"/ride"}, reasons, reason_attributes(texts));
  std::vector<int> numbers(texts.size());
  std::iota(numbers.begin(), numbers.end(), 0);
  writer.dimension("/reason_number", numbers, said("1", "place of a reason"));
  writer.variable("/reasons", {"/reason_number"}, texts, {{"long_name", "why rides failed"}});

  if (keep.traces.empty()) return writer.bytes();
  std::vector<double> times(samples);
  for (std::size_t k = 0; k < samples; ++k) times[k] = static_cast<double>(k) / keep.trace_rate;
  writer.dimension("/sample_time", times, said("s", "time since the start of the ride"));
  for (std::size_t i = 0; i < keep.traces.size(); ++i) {
    const Label& trace = *find_channel(keep.traces[i]);
    constexpr float kNothing = std::numeric_limits<float>::quiet_NaN();
    std::vector<float> table(shard.rows.size() * samples, kNothing);
    for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
      if (i >= shard.rows[ride].traces.size()) continue;
      const std::vector<float>& kept = shard.rows[ride].traces[i];
      std::ranges::transform(kept, table.begin() + static_cast<std::ptrdiff_t>(ride * samples),
                             [](float value) { return std::isnan(value) ? kNothing : value; });
    }
    writer.variable("/" + trace.name, {"/ride", "/sample_time"}, table,
                    said(trace.unit, trace.long_name));
  }
  return writer.bytes();
}

// Number of the shard; refuses a file that is not that shard of this plan.
std::size_t demand_shard(const Hdf5Reader& reader, const Plan& plan,
                         const std::string& fingerprint) {
  std::size_t number = 0;
  if (!is_shard_name(std::filesystem::path(reader.path()).filename().string(), number)) {
    reader.refuse("", "", fmt::format("must have a name like {}", shard_name(0)));
  }
  demand_kind(reader, kShardKind);
  const std::string found = reader.text_attribute("/", "plan_fingerprint");
  if (found != fingerprint) {
    reader.refuse("plan_fingerprint", found,
                  fmt::format("is of another plan; this one has {}", fingerprint));
  }
  const std::vector<int> shard = reader.integer_attribute("/", "shard");
  if (shard != std::vector{static_cast<int>(number)}) {
    reader.refuse("shard", shard.empty() ? "" : fmt::format("{}", shard[0]),
                  fmt::format("must be {}, as the file's name says", number));
  }
  const std::vector<std::size_t> rides = reader.shape("/ride");
  const std::size_t expected = rides_of_shard(plan, number);
  if (rides != std::vector{expected}) {
    reader.refuse("/ride", "", fmt::format("must have {} rides", expected));
  }
  return number;
}

// Origins, reasons and their texts.
void read_rows(const Hdf5Reader& reader, std::size_t count, ShardColumns& shard) {
  shard.origins = reader.integers("/origin");
  shard.reasons = reader.integers("/reason");
  shard.texts = reader.texts("/reasons");
  if (shard.origins.size() != count) {
    reader.refuse("/origin", "", "must have a value for each ride");
  }
  if (shard.reasons.size() != count) {
    reader.refuse("/reason", "", "must have a value for each ride");
  }
  for (const int origin : shard.origins) {
    if (origin < 0 || origin > static_cast<int>(Origin::failed)) {
      reader.refuse("/origin", fmt::format("{}", origin), "must be 0, 1 or 2");
    }
  }
  for (const int reason : shard.reasons) {
    if (reason < 0 || static_cast<std::size_t>(reason) >= shard.texts.size()) {
      reader.refuse("/reason", fmt::format("{}", reason), "must be a place in reasons");
    }
  }
}

void demand_no_link(const std::string& path) {
  std::error_code error;
  if (std::filesystem::is_symlink(path, error)) {
    throw InputError(Fault{"", "", kNoLink, {path, 0, 0}});
  }
}

}  // namespace

std::string sweep_history(const Plan& plan) {
  return fmt::format("plunge sweep, of the plan \"{}\"", plan.name());
}

Hdf5Attributes reason_attributes(const std::vector<std::string>& texts) {
  Hdf5Attributes attributes{{"long_name", "why the ride failed: place in reasons; 0: it did not"}};
  if (texts.size() > kMostFlags) return attributes;
  std::vector<int> values(texts.size());
  std::iota(values.begin(), values.end(), 0);
  std::string meanings = "did_not_fail";
  for (std::size_t place = 1; place < texts.size(); ++place) {
    meanings += " ";
    for (const char c : texts[place]) {
      const bool plain = std::isalnum(static_cast<unsigned char>(c)) != 0 ||
                         std::string_view("_-.+@").find(c) != std::string_view::npos;
      meanings += plain ? c : '_';
    }
  }
  attributes.push_back({"flag_values", values});
  attributes.push_back({"flag_meanings", meanings});
  return attributes;
}

std::string shard_name(std::size_t number) {
  return fmt::format("{}{:08}{}", kNameBegin, number, kNameEnd);
}

bool is_shard_name(const std::string& name, std::size_t& number) {
  if (!name.starts_with(kNameBegin) || !name.ends_with(kNameEnd)) return false;
  std::size_t read = 0;
  for (std::size_t i = kNameBegin.size(); i + kNameEnd.size() < name.size(); ++i) {
    if (name[i] < '0' || name[i] > '9' || i > kNameBegin.size() + 12) return false;
    read = 10 * read + static_cast<std::size_t>(name[i] - '0');
  }
  number = read;
  return name == shard_name(read);
}

std::size_t rides_of_shard(const Plan& plan, std::size_t number) {
  const std::size_t first = number * plan.shard_size();
  return first >= plan.size() ? 0 : std::min(plan.shard_size(), plan.size() - first);
}

void write_shard(const std::string& path, const Shard& shard, const Plan& plan,
                 const std::string& fingerprint, InstructionSet lanes) {
  std::string bytes;
  {
    const std::lock_guard lock(hdf5_lock());
    bytes = bytes_of(shard, plan, fingerprint, lanes);
  }
  write_file_atomically(path, bytes, Links::refused);
}

ShardColumns read_shard_columns(const std::string& path, const Plan& plan,
                                const std::string& fingerprint, Seal seal) {
  demand_no_link(path);
  if (seal == Seal::demanded) demand_seal(path);
  const Hdf5Reader reader(path, Seal::looked_at);
  ShardColumns shard;
  shard.number = demand_shard(reader, plan, fingerprint);
  shard.first = shard.number * plan.shard_size();
  const std::size_t rides = rides_of_shard(plan, shard.number);
  read_rows(reader, rides, shard);
  for (const std::string& name : plan.keep().metrics) {
    shard.metrics.push_back(numbers_in(reader, "/" + name, find_metric(name)->unit));
    if (shard.metrics.back().size() != rides) {
      reader.refuse("/" + name, "", "must have a value for each ride");
    }
  }
  for (const std::string& name : plan.keep().traces) {
    const std::vector<std::size_t> shape = reader.shape("/" + name);
    if (shape.size() != 2 || shape[0] != rides ||
        (!shard.traces.empty() && shape[1] != shard.samples)) {
      reader.refuse("/" + name, "", "must have a line for each ride");
    }
    shard.samples = shape[1];
    shard.traces.push_back(numbers_in(reader, "/" + name, find_channel(name)->unit));
  }
  return shard;
}

Shard read_shard(const std::string& path, const Plan& plan, const std::string& fingerprint) {
  const ShardColumns columns = read_shard_columns(path, plan, fingerprint);
  Shard shard{columns.number, columns.first, {}};
  shard.rows.resize(columns.origins.size());
  for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
    RideRow& row = shard.rows[ride];
    row.origin = static_cast<Origin>(columns.origins[ride]);
    row.failure = columns.texts[static_cast<std::size_t>(columns.reasons[ride])];
    for (const std::vector<double>& column : columns.metrics) row.metrics.push_back(column[ride]);
    for (const std::vector<double>& table : columns.traces) {
      const auto begin = table.begin() + static_cast<std::ptrdiff_t>(ride * columns.samples);
      std::vector<float> trace(columns.samples);
      std::transform(begin, begin + static_cast<std::ptrdiff_t>(columns.samples), trace.begin(),
                     [](double value) { return static_cast<float>(value); });
      while (!trace.empty() && std::isnan(trace.back())) trace.pop_back();  // the padding
      row.traces.push_back(std::move(trace));
    }
  }
  return shard;
}

ShardTally tally(const Shard& shard) {
  ShardTally tally;
  for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
    const RideRow& row = shard.rows[ride];
    for (const auto& trace : row.traces) tally.samples = std::max(tally.samples, trace.size());
    if (row.origin == Origin::adaptive) ++tally.redone;
    if (row.origin != Origin::failed) continue;
    tally.failed.push_back(shard.first + ride);
    tally.failed_with.push_back(row.failure);
  }
  return tally;
}

ShardTally read_shard_tally(const std::string& path, const Plan& plan,
                            const std::string& fingerprint) {
  demand_no_link(path);
  demand_seal(path);
  const Hdf5Reader reader(path, Seal::looked_at);
  const std::size_t number = demand_shard(reader, plan, fingerprint);
  ShardColumns shard;
  read_rows(reader, rides_of_shard(plan, number), shard);
  ShardTally tally;
  if (reader.has("/sample_time")) {
    const std::vector<std::size_t> samples = reader.shape("/sample_time");
    if (samples.size() != 1) reader.refuse("/sample_time", "", "must have one dimension");
    tally.samples = samples[0];
  }
  for (std::size_t ride = 0; ride < shard.origins.size(); ++ride) {
    const auto origin = static_cast<Origin>(shard.origins[ride]);
    if (origin == Origin::adaptive) ++tally.redone;
    if (origin != Origin::failed) continue;
    tally.failed.push_back(number * plan.shard_size() + ride);
    tally.failed_with.push_back(shard.texts[static_cast<std::size_t>(shard.reasons[ride])]);
  }
  return tally;
}

}  // namespace plunge
