#include "sim/sweep/gather.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <optional>
#include <string_view>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/hdf5_seal.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "sim/sweep/sweep_paths.hpp"
#include "sim/sweep/tallies.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

// Why the shards of one folder can't go into another; empty: they can.
std::string difference(const SweepFolder& part, const SweepFolder& whole) {
  if (part.fingerprint == whole.fingerprint) return {};
  if (part.build != whole.build) {
    return fmt::format(
        "was ridden by another build of plunge, whose numbers may differ in the last digits: ride "
        "it again with the other one; that build: {}; the build of {}: {}",
        part.build, whole.path, whole.build);
  }
  if (part.lanes != whole.lanes) {
    return fmt::format(
        "was ridden with lanes {}, {} with {}, which differ in the last digits: ride it again with "
        "--lanes {}",
        to_string(part.lanes), whole.path, to_string(whole.lanes), to_string(whole.lanes));
  }
  return fmt::format("holds a sweep of another plan than {}", whole.path);
}

// True for bytes that end in the seal that fits them.
bool is_sealed(std::string_view bytes) {
  const std::size_t seal = hdf5_seal(std::string_view()).size();
  if (bytes.size() < seal) return false;
  const std::string_view part = bytes.substr(0, bytes.size() - seal);
  return bytes.substr(part.size()) == hdf5_seal(part);
}

class Gatherer {
 public:
  Gatherer(const std::string& path, const GatherOptions& options)
      : path_(path), options_(options) {}

  GatherReport gather(const std::vector<std::string>& from) {
    open(from);
    sweep_up(path_);
    const Tallies tallies(path_, whole_->shards, Tallies::For::writing);
    std::size_t begun = 0;
    for (const SweepFolder& part : parts_) {
      gather_part(part, tallies, begun++);
      if (report_.stopped) break;
    }
    report_.shards = whole_->shards;
    report_.rides = whole_->rides;
    const std::vector<bool> there = shards_there(*whole_);
    for (std::size_t shard = 0; shard < there.size(); ++shard) {
      report_.shards_done += there[shard] ? 1 : 0;
      report_.rides_done += there[shard] ? rides_in(*whole_, shard) : 0;
    }
    return std::move(report_);
  }

 private:
  // Opens all folders; the one to gather into is begun where it is not there.
  void open(const std::vector<std::string>& from) {
    std::error_code error;
    if (fs::exists(path_in(path_, kResolvedName), error)) take_whole(open_sweep(path_));
    for (const std::string& path : from) {
      try {
        if (fs::equivalent(path, path_, error)) refuse(path, "is the folder to gather into");
        SweepFolder part = open_sweep(path);
        if (!whole_) take_whole(begin_same(part, plan_of(part), path_));
        const std::string why = difference(part, *whole_);
        if (!why.empty()) refuse(path, why);
        parts_.push_back(std::move(part));
      } catch (const InputError& fault) {
        // A folder that can't be gathered into is no fault of a part.
        if (!whole_ && fs::exists(path_, error)) throw;
        report_.refused.emplace_back(fault.what());
      }
    }
    if (!whole_) {
      Faults faults{Fault{"", "", "is not begun: there is nothing to gather", {path_, 0, 0}}};
      for (const std::string& text : report_.refused) faults.push_back(Fault{"", "", text, {}});
      throw InputError(faults);
    }
  }

  void take_whole(SweepFolder folder) {
    whole_ = std::move(folder);
    plan_.emplace(plan_of(*whole_));
  }

  [[noreturn]] static void refuse(const std::string& path, const std::string& rule) {
    throw InputError(Fault{"", "", rule, Place{path, 0, 0}});
  }

  void gather_part(const SweepFolder& part, const Tallies& tallies, std::size_t number) {
    const std::vector<bool> there = shards_there(*whole_);
    const std::vector<bool> theirs = shards_there(part);
    for (std::size_t shard = 0; shard < whole_->shards; ++shard) {
      if (options_.on_progress) {
        options_.on_progress(number * whole_->shards + shard, parts_.size() * whole_->shards);
      }
      if (!theirs[shard] || there[shard]) continue;
      report_.stopped = options_.stop && options_.stop();
      if (report_.stopped) return;
      try {
        tallies.put(shard, copy(part, shard));
        ++report_.copied;
      } catch (const InputError& fault) {
        report_.refused.emplace_back(fault.what());
      }
    }
  }

  // Throws InputError for a shard that is damaged or of another plan.
  ShardTally copy(const SweepFolder& part, std::size_t shard) const {
    const std::string path = shard_path(part, shard);
    std::error_code error;
    if (!fs::is_regular_file(fs::symlink_status(path, error))) {
      refuse(path, "is not a regular file");
    }
    ShardTally tally = read_shard_tally(path, *plan_, whole_->fingerprint);
    // What is written is what was looked at, whatever becomes of the file meanwhile.
    const std::optional<std::string> bytes = bytes_in_file(path);
    if (!bytes || !is_sealed(*bytes)) refuse(path, "was changed while it was read");
    write_file_atomically(shard_path(*whole_, shard), *bytes, Links::refused);
    return tally;
  }

  const std::string path_;
  const GatherOptions& options_;
  std::optional<SweepFolder> whole_;
  std::optional<Plan> plan_;
  std::vector<SweepFolder> parts_;
  GatherReport report_;
};

}  // namespace

GatherReport gather_sweep(const std::string& folder, const std::vector<std::string>& from,
                          const GatherOptions& options) {
  return Gatherer(folder, options).gather(from);
}

}  // namespace plunge
