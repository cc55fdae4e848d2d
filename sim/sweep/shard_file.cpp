#include "sim/sweep/shard_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <mutex>
#include <numeric>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/hdf5_lock.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/hdf5_units.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/version.hpp"

namespace plunge {
namespace {

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
  writer.attributes("/", {{"Conventions", "CF-1.8"},
                          {"source", fmt::format("plunge {}", kProgramVersion)},
                          {"file_type", kShardFileType},
                          {"format_version", std::vector{kShardFormatMajor, kShardFormatMinor}},
                          {"program_version", kProgramVersion},
                          {"plan_fingerprint", fingerprint},
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
                  said("1", "how the row came about: 0 lanes, 1 adaptive, 2 failed"));
  writer.variable("/reason", {"/ride"}, reasons,
                  said("1", "place of the reason in reasons; 0: did not fail"));
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
    std::vector<double> table(shard.rows.size() * samples, kUnset);
    for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
      if (i >= shard.rows[ride].traces.size()) continue;
      const std::vector<float>& kept = shard.rows[ride].traces[i];
      std::ranges::transform(kept, table.begin() + static_cast<std::ptrdiff_t>(ride * samples),
                             [](float value) { return std::isnan(value) ? kUnset : value; });
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
  if (!reader.has_attribute("/", "file_type") ||
      reader.text_attribute("/", "file_type") != kShardFileType) {
    reader.refuse("file_type", "", fmt::format("must be \"{}\"", kShardFileType));
  }
  const std::vector<int> format = reader.integer_attribute("/", "format_version");
  if (format.size() != 2 || format[0] != kShardFormatMajor) {
    reader.refuse("format_version", format.empty() ? "" : fmt::format("{}", format[0]),
                  fmt::format("major version must be {}", kShardFormatMajor));
  }
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

struct Rows {
  std::vector<int> origins;
  std::vector<std::string> failures;
};

Rows read_rows(const Hdf5Reader& reader, std::size_t count) {
  Rows rows;
  rows.origins = reader.integers("/origin");
  const std::vector<int> reasons = reader.integers("/reason");
  const std::vector<std::string> texts = reader.texts("/reasons");
  if (rows.origins.size() != count) reader.refuse("/origin", "", "must have a value for each ride");
  if (reasons.size() != count) reader.refuse("/reason", "", "must have a value for each ride");
  for (std::size_t ride = 0; ride < count; ++ride) {
    const int origin = rows.origins[ride];
    if (origin < 0 || origin > static_cast<int>(Origin::failed)) {
      reader.refuse("/origin", fmt::format("{}", origin), "must be 0, 1 or 2");
    }
    const int reason = reasons[ride];
    if (reason < 0 || static_cast<std::size_t>(reason) >= texts.size()) {
      reader.refuse("/reason", fmt::format("{}", reason), "must be a place in reasons");
    }
    rows.failures.push_back(texts[static_cast<std::size_t>(reason)]);
  }
  return rows;
}

}  // namespace

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
  write_file_atomically(path, bytes);
}

Shard read_shard(const std::string& path, const Plan& plan, const std::string& fingerprint) {
  demand_seal(path);
  const Hdf5Reader reader(path, true);
  const std::size_t number = demand_shard(reader, plan, fingerprint);
  Shard shard;
  shard.number = number;
  shard.first = number * plan.shard_size();
  shard.rows.resize(rides_of_shard(plan, number));
  const Rows rows = read_rows(reader, shard.rows.size());
  for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
    shard.rows[ride].origin = static_cast<Origin>(rows.origins[ride]);
    shard.rows[ride].failure = rows.failures[ride];
  }
  for (const std::string& name : plan.keep().metrics) {
    const std::vector<double> column = numbers_in(reader, "/" + name, find_metric(name)->unit);
    if (column.size() != shard.rows.size()) {
      reader.refuse("/" + name, "", "must have a value for each ride");
    }
    for (std::size_t ride = 0; ride < column.size(); ++ride) {
      shard.rows[ride].metrics.push_back(column[ride]);
    }
  }
  for (const std::string& name : plan.keep().traces) {
    const std::vector<std::size_t> shape = reader.shape("/" + name);
    if (shape.size() != 2 || shape[0] != shard.rows.size()) {
      reader.refuse("/" + name, "", "must have a line for each ride");
    }
    const std::vector<double> table = numbers_in(reader, "/" + name, find_channel(name)->unit);
    for (std::size_t ride = 0; ride < shard.rows.size(); ++ride) {
      std::vector<float> trace;
      for (std::size_t k = 0; k < shape[1]; ++k) {
        trace.push_back(static_cast<float>(table[ride * shape[1] + k]));
      }
      while (!trace.empty() && std::isnan(trace.back())) trace.pop_back();  // the padding
      shard.rows[ride].traces.push_back(std::move(trace));
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
  demand_seal(path);
  const Hdf5Reader reader(path, true);
  const std::size_t number = demand_shard(reader, plan, fingerprint);
  Rows rows = read_rows(reader, rides_of_shard(plan, number));
  ShardTally tally;
  if (reader.has("/sample_time")) {
    const std::vector<std::size_t> samples = reader.shape("/sample_time");
    if (samples.size() != 1) reader.refuse("/sample_time", "", "must have one dimension");
    tally.samples = samples[0];
  }
  for (std::size_t ride = 0; ride < rows.origins.size(); ++ride) {
    const auto origin = static_cast<Origin>(rows.origins[ride]);
    if (origin == Origin::adaptive) ++tally.redone;
    if (origin != Origin::failed) continue;
    tally.failed.push_back(number * plan.shard_size() + ride);
    tally.failed_with.push_back(std::move(rows.failures[ride]));
  }
  return tally;
}

}  // namespace plunge
