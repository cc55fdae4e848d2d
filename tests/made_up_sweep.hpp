// A sweep whose rows are made up, so that what must come of them is known.
#pragma once

#include <fmt/format.h>

#include <cstddef>
#include <filesystem>
#include <fstream>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sim/sweep/merge.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep.hpp"
#include "tests/scratch.hpp"

namespace plunge {

// What the riders and the spacer counts of a made-up sweep are, such as "role = \"varies\"\n".
struct MadeUpRoles {
  std::string rider;
  std::string spacers;
};

inline MadeUpRoles spacers_are_chosen() { return {"role = \"varies\"\n", "role = \"chosen\"\n"}; }

// A sweep of a grid of 2 riders and 3 spacer counts under `sample`, in shards of 4 rides.
class MadeUpSweep {
 public:
  explicit MadeUpSweep(const std::string& sample = "", const std::string& traces = "",
                       const MadeUpRoles& roles = {}) {
    namespace fs = std::filesystem;
    const std::string text = fmt::format(
        "type = \"plan\"\nformat = [1, 0]\nname = \"made up\"\n"
        "scenes = [\"{0}/scenes/drop-to-flat.toml\"]\n"
        "[[axis]]\nname = \"rider\"\nvalues = [\"{0}/riders/alder.toml\", "
        "\"{0}/riders/wren.toml\"]\n{3}"
        "[[axis]]\nname = \"fork.spacers\"\nvalues = \"0..2\"\n{4}{1}"
        "[keep]\nmetrics = [\"travel_max\", \"metal_contacts\"]\n{2}[sweep]\nshard = 4\n",
        fs::absolute("scenarios").string(), sample, traces, roles.rider, roles.spacers);
    std::ofstream(directory_ / "plan.toml") << text;
    plan_.emplace(load_plan(directory_ / "plan.toml"));
    SweepOptions options;
    options.folder = directory_ / "out";
    options.threads = 1;
    options.stop = [] { return true; };  // a folder with no shard
    run_sweep(*plan_, options);
    folder_ = open_sweep(options.folder);
  }

  const Plan& plan() const { return *plan_; }
  const SweepFolder& folder() const { return folder_; }
  std::string file(const std::string& name) const { return directory_ / name; }
  std::string shard(std::size_t number) const { return shard_path(folder_, number); }

  // Ride n has travel n/1000; every fifth ride, from 3 on, failed for a reason of its own.
  RideRow row_of(std::size_t ride) const {
    RideRow row;
    row.origin = ride % 2 == 0 ? Origin::lanes : Origin::adaptive;
    row.metrics = {static_cast<double>(ride) / 1000.0, ride % 2 == 0 ? 1.0 : kUnset};
    if (!plan_->keep().traces.empty()) {
      row.traces = {std::vector<float>(ride + 1, static_cast<float>(ride))};
    }
    if (ride % 5 == 3) {
      row.origin = Origin::failed;
      row.failure = fmt::format("at {} s: the made-up fork broke", ride);
      row.metrics = {kUnset, kUnset};
      row.traces.assign(row.traces.size(), {});
    }
    return row;
  }

  using Row = std::function<RideRow(std::size_t ride)>;

  void write(std::size_t number) const {
    write(number, [this](std::size_t ride) { return row_of(ride); });
  }
  void write(std::size_t number, const Row& row) const {
    Shard shard;
    shard.number = number;
    shard.first = number * plan_->shard_size();
    for (std::size_t i = 0; i < rides_of_shard(*plan_, number); ++i) {
      shard.rows.push_back(row(shard.first + i));
    }
    write_shard(this->shard(number), shard, *plan_, folder_.fingerprint, folder_.lanes);
  }
  void write_all() const {
    for (std::size_t number = 0; number < plan_->shards(); ++number) write(number);
  }
  void write_all(const Row& row) const {
    for (std::size_t number = 0; number < plan_->shards(); ++number) write(number, row);
  }
  MergeReport merge(const std::string& name, bool partial = false) const {
    MergeOptions options;
    options.partial = partial;
    return merge_sweep(folder_, *plan_, file(name), options);
  }

 private:
  ScratchDirectory directory_;
  std::optional<Plan> plan_;
  SweepFolder folder_;
};

}  // namespace plunge
