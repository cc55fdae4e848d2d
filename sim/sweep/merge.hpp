// A finished sweep as one labelled file, and reading it back.
//
// The rides of a plan are numbered over its dimensions in order, the last one fastest, so the
// file's variables are arrays on these dimensions and ride n is their value number n:
//   scene, each grid axis, point   dimensions; point: rows of the sample. An axis of files, or of
//                                  numbers that neither rise nor fall throughout, counts 0, 1, 2,
//                                  and AXIS_label or AXIS_value stands on it
//   sampled numbers                [point]; of pick_freeze also base_row and matrix
//   METRIC                         [all dimensions] double, NaN: does not apply, failed, not ridden
//   origin, reason                 [all dimensions] int; /reasons [reason_number] text
//   TRACE                          [all dimensions, sample_time] float
// scenarios/results.md is the format's page. Memory: the plan and one shard a thread. The same
// shards give the same bytes, whatever the threads: each writes shards straight to their places.
// Throws InputError where shards are missing or damaged, naming them; RunError where the disk
// refuses. The file is either whole or not there.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/sampling.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_folder.hpp"

namespace plunge {

inline constexpr char kSweepFileType[] = "plunge sweep";
inline constexpr int kSweepFormatMajor = 4;
inline constexpr int kSweepFormatMinor = 0;

// Distinct reasons that are kept word for word; past them numbers are left out of the words.
inline constexpr std::size_t kMostReasonTexts = 10'000;

struct MergeOptions {
  bool partial = false;     // take what is there: the rest is "not ridden"
  std::size_t threads = 0;  // 0: one for each core
  std::function<void(std::size_t done, std::size_t all)> on_progress;  // from the calling thread
  std::function<bool()> stop;  // asked between shards, by one thread at a time; nothing is written
};

struct MergeReport {
  std::size_t rides = 0;
  std::size_t failed = 0;
  std::size_t redone = 0;
  std::size_t not_ridden = 0;
  std::size_t shards = 0;
  std::size_t shards_merged = 0;
  std::vector<std::string> damaged;  // what is wrong with each that was left out
  bool stopped = false;
};

MergeReport merge_sweep(const SweepFolder& folder, const Plan& plan, const std::string& path,
                        const MergeOptions& options = {});

// Value of `origin` where no shard held the ride; the other values are those of Origin.
inline constexpr int kNotRidden = 3;

// A merged file, open. Columns are read when asked for, whole: 8 MB a metric for a million rides.
class MergedSweep {
 public:
  // Refuses other files, damaged ones and unknown major versions: InputError.
  explicit MergedSweep(const std::string& path, Seal seal = Seal::demanded)
      : MergedSweep(std::make_shared<const Hdf5Reader>(path, seal)) {}
  // One that is open already.
  explicit MergedSweep(std::shared_ptr<const Hdf5Reader> file);

  const std::string& path() const { return reader_.path(); }
  const std::string& title() const { return title_; }
  // What the file says of itself under this name, as scenarios/results.md lists it; empty: nothing.
  std::string said(const std::string& attribute) const;
  const std::vector<GridAxis>& grid() const { return grid_; }
  const std::vector<SampledNumber>& sampled() const { return sampled_; }  // no distributions
  Design design() const { return design_; }
  std::size_t points() const { return points_; }
  std::size_t base_points() const { return base_points_; }
  std::size_t size() const { return size_; }
  const std::vector<Label>& metrics() const { return metrics_; }
  std::vector<Label> traces() const;

  std::vector<double> metric(const std::string& name) const;
  std::vector<double> sample(std::size_t number) const;  // of the sampled number, on point
  std::vector<int> origins() const;
  std::vector<int> reasons() const;
  // Of the rides from `first` on alone.
  std::vector<double> metric(const std::string& name, std::size_t first, std::size_t count) const;
  std::vector<int> origins(std::size_t first, std::size_t count) const;
  std::vector<int> reasons(std::size_t first, std::size_t count) const;
  // Of the rows of the sample from `first` on alone.
  std::vector<double> sample(std::size_t number, std::size_t first, std::size_t count) const;
  std::vector<std::string> reason_texts() const;

  // Index of a ride along each grid axis, then its row of the sample.
  std::vector<std::size_t> index(std::size_t number) const;

 private:
  std::vector<std::string> words(const std::string& attribute) const;
  // Gives a number of the file the SI unit of what its unit measures.
  void settle_units(KnobLabel& number, const std::string& path) const;
  void demand_numbers(const std::string& path, const std::vector<double>& values) const;

  std::shared_ptr<const Hdf5Reader> file_;
  const Hdf5Reader& reader_;
  std::string title_;
  std::vector<GridAxis> grid_;
  std::vector<SampledNumber> sampled_;
  Design design_ = Design::none;
  std::size_t points_ = 1;
  std::size_t base_points_ = 1;
  std::size_t size_ = 1;
  std::vector<Label> metrics_;
};

}  // namespace plunge
