#include "sim/sweep/sweep.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <cstdlib>
#include <deque>
#include <exception>
#include <filesystem>
#include <fstream>
#include <map>
#include <mutex>
#include <span>
#include <sstream>
#include <system_error>
#include <thread>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/byte_locks.hpp"
#include "sim/disk/check_sum.hpp"
#include "sim/sweep/plan_facts.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

constexpr const char* kResolvedName = "resolved-plan.txt";
constexpr const char* kPathName = "plan-path.txt";
constexpr const char* kCopyName = "plan.toml";
constexpr const char* kWorkName = "work";
constexpr int kFolderVersion = 1;
constexpr int kHeadLines = 5;  // of resolved-plan.txt, before the plan's own

// Bytes of the file of locks: a shard's number, a worker's place, and who sets up the folder.
constexpr std::uint64_t kWorkerByte = std::uint64_t{1} << 40;
constexpr std::uint64_t kSetupByte = std::uint64_t{1} << 41;
constexpr std::size_t kMostWorkers = 100'000;

constexpr auto kTick = std::chrono::milliseconds(500);
constexpr auto kLook = std::chrono::seconds(1);     // between looks at the folder
constexpr auto kWindow = std::chrono::seconds(60);  // over which the rate is taken
constexpr auto kWait = std::chrono::milliseconds(200);
constexpr int kPauses = 50;                          // between looks, in times of what a look takes
constexpr auto kAsk = std::chrono::milliseconds(1);  // between looks at riders elsewhere

constexpr std::size_t kMostReasons = 100;  // kinds that are told apart
constexpr const char* kOtherReasons = "other reasons";

std::string in(const std::string& folder, const std::string& name) {
  return (fs::path(folder) / name).string();
}

std::string in_work(const std::string& folder, const std::string& name) {
  return (fs::path(folder) / kWorkName / name).string();
}

std::optional<std::string> text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file.is_open()) return std::nullopt;
  std::string text{std::istreambuf_iterator<char>(file), {}};
  if (file.bad()) return std::nullopt;
  return text;
}

[[noreturn]] void refuse_folder(const std::string& folder, const std::string& rule) {
  throw InputError(Fault{"", "", rule, Place{folder, 0, 0}});
}

std::string head(InstructionSet lanes, std::size_t rides, std::size_t shard_size) {
  return fmt::format("plunge sweep folder {}\nresults {}\nlanes {}\nrides {}\nshard_size {}\n",
                     kFolderVersion, kResultsVersion, to_string(lanes), rides, shard_size);
}

std::string text_for(const Plan& plan, InstructionSet lanes) {
  return head(lanes, plan.size(), plan.shard_size()) + plan.resolved();
}

// Plan::resolved() of a folder's text.
std::string without_head(const std::string& text) {
  std::size_t start = 0;
  for (int line = 0; line < kHeadLines; ++line) {
    const std::size_t end = text.find('\n', start);
    if (end == std::string::npos) return "";
    start = end + 1;
  }
  return text.substr(start);
}

std::string digest(const std::string& text) { return fmt::format("{:016x}", check_sum(text)); }

// The folder that a resolved plan's text speaks of.
SweepFolder parse_folder(const std::string& path, const std::string& text) {
  SweepFolder folder;
  folder.path = path;
  folder.resolved = text;
  folder.fingerprint = digest(text);
  const std::string file = in(path, kResolvedName);
  std::istringstream lines(text);
  const auto value = [&](const std::string& key) {
    std::string line;
    std::getline(lines, line);
    if (!line.starts_with(key + " ")) {
      throw InputError(Fault{key, "", "must be here: the file is damaged", Place{file, 0, 0}});
    }
    return line.substr(key.size() + 1);
  };
  const auto demand_version = [&](const std::string& key, int version) {
    const std::string found = value(key);
    if (found == std::to_string(version)) return;
    throw InputError(Fault{key, found,
                           fmt::format("this program has {} {}: go on with the version of plunge "
                                       "that began the sweep, or begin a new folder",
                                       key, version),
                           Place{file, 0, 0}});
  };
  demand_version("plunge sweep folder", kFolderVersion);
  demand_version("results", kResultsVersion);
  folder.lanes = parse_instruction_set(value("lanes"));
  folder.rides = std::strtoull(value("rides").c_str(), nullptr, 10);
  folder.shard_size = std::strtoull(value("shard_size").c_str(), nullptr, 10);
  if (folder.rides == 0 || folder.shard_size == 0) {
    throw InputError(Fault{"rides", "", "must not be 0: the file is damaged", Place{file, 0, 0}});
  }
  folder.shards = (folder.rides - 1) / folder.shard_size + 1;
  std::istringstream first(text_of(in(path, kPathName)).value_or(""));
  std::getline(first, folder.plan_path);
  return folder;
}

void demand_same(const SweepFolder& folder, const std::string& now, const std::string& remedy) {
  if (folder.resolved == now) return;
  Faults faults{
      Fault{"", "", "holds a sweep of another plan; " + remedy, Place{folder.path, 0, 0}}};
  std::istringstream lines(plan_difference(without_head(folder.resolved), without_head(now)));
  for (std::string line; std::getline(lines, line);) {
    if (!line.empty()) faults.push_back(Fault{"", "", line, {}});
  }
  throw InputError(faults);
}

// What killed processes may leave in a folder that has no plan yet.
bool is_beginning(const std::string& name) {
  return name == kWorkName || name == kCopyName || name == kPathName ||
         name.starts_with(".plunge-");
}

void demand_runs_here(InstructionSet lanes, const std::string& rule) {
  if (runs_here(lanes)) return;
  throw InputError(Fault{
      "--lanes", std::string(to_string(lanes)), "this processor does not have them; " + rule, {}});
}

// The sweep that is in the folder already; refuses what is in the way of this plan.
std::optional<SweepFolder> present_sweep(const Plan& plan, const SweepOptions& options) {
  const std::string& path = options.folder;
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  if (!fs::exists(status)) return std::nullopt;
  if (!fs::is_directory(status)) refuse_folder(path, "is not a folder");
  // Looked at before the plan's text is read: that is written before the first shard, so a sweep
  // that another process begins meanwhile is never taken for strange files.
  bool strange = false;
  for (fs::directory_iterator entry(path, error), end; !error && !strange && entry != end;
       entry.increment(error)) {
    strange = !is_beginning(entry->path().filename().string());
  }
  if (error) refuse_folder(path, "cannot be read: " + error.message());
  const std::optional<std::string> text = text_of(in(path, kResolvedName));
  if (!text) {
    if (strange) {
      refuse_folder(path, "holds other files and no sweep: name a new or an empty folder");
    }
    return std::nullopt;
  }
  SweepFolder folder = parse_folder(path, *text);
  demand_same(folder, text_for(plan, folder.lanes),
              "name another folder, or run the plan as it was (plan.toml there is a copy)");
  if (options.lanes && *options.lanes != folder.lanes) {
    throw InputError(
        Fault{"--lanes",
              std::string(to_string(*options.lanes)),
              fmt::format("the sweep in {} began with {}, and others differ in the last "
                          "digits: leave --lanes out, or name another folder",
                          path, to_string(folder.lanes)),
              {}});
  }
  demand_runs_here(
      folder.lanes,
      fmt::format("the sweep in {} began with them: go on where it was begun, or begin "
                  "a new folder with --lanes portable",
                  path));
  return folder;
}

void make_folder(const std::string& path) {
  std::error_code error;
  fs::create_directories(fs::path(path) / kWorkName, error);
  if (error) throw RunError("cannot make the folder " + path + ": " + error.message());
}

// 8 bytes for each shard: rides that failed, plus 1; rides redone. 0: not known. For people only,
// so that trouble with it is passed over.
class Tallies {
 public:
  Tallies(const std::string& folder, std::size_t shards, bool write)
      : shards_(shards),
        descriptor_(::open(in_work(folder, "tallies").c_str(),
                           (write ? O_RDWR | O_CREAT : O_RDONLY) | O_CLOEXEC, 0666)) {}
  ~Tallies() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  Tallies(const Tallies&) = delete;
  Tallies& operator=(const Tallies&) = delete;

  using Entry = std::array<std::uint32_t, 2>;

  void put(std::size_t shard, const ShardTally& tally) const {
    put(shard, Entry{static_cast<std::uint32_t>(tally.failed.size() + 1),
                     static_cast<std::uint32_t>(tally.redone)});
  }
  void forget(std::size_t shard) const { put(shard, Entry{}); }

  std::vector<Entry> all() const {
    std::vector<Entry> entries(shards_);
    const auto bytes = std::as_writable_bytes(std::span(entries));
    std::size_t at = 0;
    while (descriptor_ >= 0 && at < bytes.size()) {
      const ssize_t got =
          ::pread(descriptor_, bytes.data() + at, bytes.size() - at, static_cast<off_t>(at));
      if (got <= 0) break;
      at += static_cast<std::size_t>(got);
    }
    return entries;
  }

 private:
  void put(std::size_t shard, const Entry& entry) const {
    if (descriptor_ < 0) return;
    const auto at = static_cast<off_t>(shard * sizeof entry);
    [[maybe_unused]] const ssize_t written = ::pwrite(descriptor_, &entry, sizeof entry, at);
  }

  std::size_t shards_;
  int descriptor_;
};

std::string worker_name(std::size_t place) { return fmt::format("worker-{}.txt", place); }

std::string host_name() {
  std::array<char, 256> name = {};
  return ::gethostname(name.data(), name.size() - 1) == 0 ? name.data() : "?";
}

SweepWorker parse_worker(const std::string& text) {
  SweepWorker worker;
  std::istringstream lines(text);
  for (std::string key, value; lines >> key >> value;) {
    if (key == "host") worker.host = value;
    if (key == "process") worker.process = value;
    if (key == "rides") worker.rides = std::strtoull(value.c_str(), nullptr, 10);
    if (key == "rate") worker.rate = std::strtod(value.c_str(), nullptr);
  }
  return worker;
}

// Workers that run now, but for the one at `own`.
std::vector<SweepWorker> running(const std::string& folder, const ByteLocks& locks,
                                 std::optional<std::size_t> own) {
  std::vector<SweepWorker> workers;
  std::error_code error;
  for (fs::directory_iterator entry(fs::path(folder) / kWorkName, error), end;
       !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    unsigned long long place = 0;
    if (std::sscanf(name.c_str(), "worker-%llu.txt", &place) != 1 || name != worker_name(place) ||
        own == place) {
      continue;
    }
    const bool runs = locks.taken(kWorkerByte + place) || !locks.works();
    const std::optional<std::string> text = runs ? text_of(entry->path()) : std::nullopt;
    if (text) workers.push_back(parse_worker(*text));
  }
  std::ranges::sort(workers, {}, [](const SweepWorker& w) { return std::pair(w.host, w.process); });
  return workers;
}

void count(SweepState& state, std::size_t rides, const Tallies::Entry& entry) {
  ++state.shards_done;
  state.rides_done += rides;
  if (entry[0] > 0) state.failed += entry[0] - 1;
  if (entry[0] > 0) state.redone += entry[1];
}

std::size_t rides_in(const SweepFolder& folder, std::size_t shard) {
  const std::size_t first = shard * folder.shard_size;
  return std::min(folder.shard_size, folder.rides - first);
}

// One process at work in a folder.
class Runner : private HandOut {
 public:
  Runner(const Plan& plan, const SweepOptions& options)
      : plan_(plan),
        options_(options),
        folder_(begin(plan, options)),
        locks_(in_work(folder_.path, "locks"), ByteLocks::For::taking),
        tallies_(folder_.path, folder_.shards, true),
        done_(folder_.shards),
        told_(folder_.shards) {
    for (place_ = 0; place_ < kMostWorkers && !locks_.take(kWorkerByte + place_);) ++place_;
    if (!locks_.works()) place_ = kMostWorkers + static_cast<std::size_t>(::getpid());
  }
  ~Runner() override {
    ::unlink(in_work(folder_.path, worker_name(place_)).c_str());
    remove_left_parts(folder_.path);
  }
  Runner(const Runner&) = delete;
  Runner& operator=(const Runner&) = delete;

  SweepState run() {
    remove_left_parts(folder_.path);
    remove_left_parts((fs::path(folder_.path) / kWorkName).string());
    look();
    to_check_.clear();
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (mine(shard) && done_[shard]) to_check_.push_back(shard);
    }
    team(to_check_.size(), [this] { check_some(); });
    const bool all_checked = checked_ == to_check_.size();
    std::size_t missing = 0;
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (mine(shard) && !done_[shard]) ++missing;
    }
    riding_since_ = Clock::now();
    now();  // from where the rate is taken
    const bool helped = options_.elsewhere && missing > 0;
    if (helped) write_file_atomically(in_work(folder_.path, worker_name(place_)), who());
    team(
        missing, [this] { ride_some(); }, helped);
    look();
    SweepState state = now();
    state.interrupted = !all_checked || state.shards_done < state.shards;
    if (!state.interrupted) tell_the_rest();
    state = now();
    state.interrupted = !all_checked || state.shards_done < state.shards;
    return state;
  }

 private:
  // Makes or takes up the folder.
  static SweepFolder begin(const Plan& plan, const SweepOptions& options) {
    const std::string& path = options.folder;
    if (std::optional<SweepFolder> there = present_sweep(plan, options)) {
      make_folder(path);
      note_path(plan, there->plan_path, path);
      return *there;
    }
    const InstructionSet lanes =
        options.lanes.value_or(options.best.value_or(best_instruction_set()));
    demand_runs_here(lanes, "take another or leave --lanes out");
    make_folder(path);
    ByteLocks locks(in_work(path, "locks"), ByteLocks::For::taking);
    locks.wait_and_take(kSetupByte);
    // Another process may have come first.
    if (std::optional<SweepFolder> there = present_sweep(plan, options)) return *there;
    const std::optional<std::string> copy = text_of(plan.path());
    write_file_atomically(in(path, kCopyName), copy.value_or(""));
    note_path(plan, "", path);
    write_file_atomically(in(path, kResolvedName), text_for(plan, lanes));
    return open_sweep(path);
  }

  static void note_path(const Plan& plan, const std::string& noted, const std::string& folder) {
    const std::string path = fs::absolute(plan.path()).lexically_normal().string();
    if (path != noted) write_file_atomically(in(folder, kPathName), path + "\n");
  }

  bool mine(std::size_t shard) const { return shard % options_.parts == options_.part; }

  bool stopping() {
    if (!stopping_ && options_.stop && options_.stop()) stopping_ = true;
    return stopping_;
  }

  // Marks the shards that are there.
  void look() {
    const std::vector<bool> there = shards_there(folder_);
    const std::lock_guard lock(mutex_);
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (there[shard]) done_[shard] = true;
    }
    looked_ = Clock::now();
  }

  // Runs `work` in as many threads as are wanted and of use; this one watches, and where it is
  // helped looks after the riders elsewhere.
  template <class Work>
  void team(std::size_t tasks, Work work, bool helped = false) {
    const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
    const std::size_t threads = std::min(tasks, options_.threads > 0 ? options_.threads : cores);
    std::vector<std::thread> members;
    working_ = threads;
    const auto member = [&] {
      try {
        work();
      } catch (...) {
        const std::lock_guard lock(mutex_);
        if (!trouble_) trouble_ = std::current_exception();
        stopping_ = true;
      }
      const std::lock_guard lock(mutex_);
      --working_;
      changed_.notify_all();
    };
    for (std::size_t i = 0; i < threads; ++i) {
      try {
        members.emplace_back(member);
      } catch (const std::system_error&) {  // the system lets us have no more
        const std::lock_guard lock(mutex_);
        working_ -= threads - i;
        if (i == 0) {
          trouble_ = std::current_exception();
          stopping_ = true;
        }
        break;
      }
    }
    // A look at the folder reads what all its workers say: many at once on a slow file system would
    // do little else.
    Clock::time_point ticked = Clock::now();
    Clock::duration pause = kTick;
    std::unique_lock lock(mutex_);
    while (true) {
      lock.unlock();
      const bool others = helped && look_after_others();
      if (const Clock::time_point begun = Clock::now(); begun - ticked >= pause) {
        tick();
        ticked = Clock::now();
        pause = std::max<Clock::duration>(kTick, kPauses * (ticked - begun));
      }
      lock.lock();
      if (working_ == 0 && !others) break;
      changed_.wait_for(lock, helped ? kAsk : kTick);
    }
    lock.unlock();
    for (std::thread& thread : members) thread.join();
    if (trouble_) std::rethrow_exception(trouble_);
  }

  // Whether some are still at work.
  bool look_after_others() {
    try {
      return options_.elsewhere(*this);
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!trouble_) trouble_ = std::current_exception();
      stopping_ = true;
      return true;
    }
  }

  const SweepFolder& folder() const override { return folder_; }

  std::string mark() const override { return worker_name(place_) + "\n" + who(); }

  std::optional<std::size_t> next() override {
    if (stopping()) return std::nullopt;
    const std::lock_guard lock(mutex_);
    const bool waiting = next_ == folder_.shards && Clock::now() - asked_ < kWait;
    if (waiting) return std::nullopt;
    asked_ = Clock::now();
    return free_shard();
  }

  void done(std::size_t shard, const ShardTally& tally) override {
    finish(shard, tally);
    changed_.notify_all();
  }

  void tick() {
    stopping();
    if (Clock::now() - looked_ >= kLook) {
      look();
      write_progress();
    }
    if (options_.on_progress) options_.on_progress(now());
  }

  // How the file of this worker begins.
  static std::string who() { return fmt::format("host {}\nprocess {}\n", host_name(), ::getpid()); }

  void write_progress() {
    const std::string text =
        who() + fmt::format("rides {}\nrate {:.6g}\n", ridden_.load(), own_rate());
    if (text == progress_) return;
    progress_ = text;
    try {
      write_file_atomically(in_work(folder_.path, worker_name(place_)), text);
    } catch (const RunError&) {  // for people only; a shard that can't be written will say so
    }
  }

  double own_rate() const {
    const double seconds = std::chrono::duration<double>(Clock::now() - riding_since_).count();
    return seconds > 0.0 ? static_cast<double>(ridden_) / seconds : 0.0;
  }

  SweepState now() {
    SweepState state;
    const std::vector<Tallies::Entry> tallies = tallies_.all();
    state.workers = running(folder_.path, locks_, place_);
    const std::lock_guard lock(mutex_);
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (!mine(shard)) continue;
      ++state.shards;
      state.rides += rides_in(folder_, shard);
      if (done_[shard]) count(state, rides_in(folder_, shard), tallies[shard]);
    }
    state.locks = locks_.works();
    state.to_check = to_check_.size();
    state.checked = checked_;
    state.ridden = ridden_;
    state.damaged = damaged_;
    state.reasons = by_frequency(reasons_);

    const Clock::time_point time = Clock::now();
    state.seconds = std::chrono::duration<double>(time - started_).count();
    if (checked_ == to_check_.size()) {
      history_.emplace_back(time, state.rides_done);
      while (time - history_.front().first > kWindow && history_.size() > 2) history_.pop_front();
      const double span = std::chrono::duration<double>(time - history_.front().first).count();
      const std::size_t before = history_.front().second;
      if (state.rides_done > before && span > 0.0) {
        state.rate = static_cast<double>(state.rides_done - before) / span;
        state.seconds_left = static_cast<double>(state.rides - state.rides_done) / state.rate;
      }
    }
    return state;
  }

  // Counts the failures of a shard; the mutex is held.
  void tell(std::size_t shard, const ShardTally& tally) {
    told_[shard] = true;
    for (std::size_t i = 0; i < tally.failed.size(); ++i) {
      std::string kind = without_numbers(tally.failed_with[i]);
      const bool known = reasons_.contains(kind);
      if (!known && reasons_.size() >= kMostReasons) kind = kOtherReasons;
      const auto [place, fresh] = reasons_.try_emplace(kind);
      SweepReason& reason = place->second;
      if (fresh || tally.failed[i] < reason.ride) {
        reason.text = kind == kOtherReasons ? kOtherReasons : tally.failed_with[i];
        reason.ride = tally.failed[i];
      }
      ++reason.rides;
    }
  }

  void check_some() {
    while (!stopping()) {
      const std::size_t index = next_to_check_++;
      if (index >= to_check_.size()) return;
      check(to_check_[index]);
      ++checked_;
    }
  }

  // True: the shard is good and counted.
  bool is_good(std::size_t shard, std::string& fault) {
    try {
      const ShardTally tally =
          read_shard_tally(shard_path(folder_, shard), plan_, folder_.fingerprint);
      tallies_.put(shard, tally);
      const std::lock_guard lock(mutex_);
      tell(shard, tally);
      return true;
    } catch (const InputError& error) {
      fault = error.what();
      return false;
    }
  }

  // A bad shard is set aside under its lock, and only if it is still bad then: another process may
  // have done it again meanwhile.
  void check(std::size_t shard) {
    std::string fault;
    if (is_good(shard, fault)) return;
    const bool ours = locks_.take(shard);
    std::error_code error;
    const std::string path = shard_path(folder_, shard);
    if (ours && fs::exists(fs::symlink_status(path, error))) {
      if (is_good(shard, fault)) {
        locks_.give(shard);
        return;
      }
      std::string aside = path + ".damaged";
      for (int k = 2; fs::exists(fs::symlink_status(aside, error)); ++k) {
        aside = fmt::format("{}.damaged-{}", path, k);
      }
      fs::rename(path, aside, error);
      if (error) {
        throw RunError(
            fmt::format("{}; it cannot be renamed to {}: {}", fault, aside, error.message()));
      }
      tallies_.forget(shard);
      const std::lock_guard lock(mutex_);
      damaged_.push_back(fmt::format("{}; set aside as {}, its rides are ridden again", fault,
                                     fs::path(aside).filename().string()));
    }
    if (ours) locks_.give(shard);
    const std::lock_guard lock(mutex_);
    done_[shard] = false;
  }

  // Claims a shard that is still to be done; the mutex is held.
  enum class Claim { ours, theirs, done };
  Claim claim(std::size_t shard) {
    const std::string path = shard_path(folder_, shard);
    std::error_code error;
    if (!done_[shard] && !fs::exists(path, error)) {
      if (!locks_.take(shard)) return Claim::theirs;
      if (!fs::exists(path, error)) return Claim::ours;
      locks_.give(shard);
    }
    done_[shard] = true;
    return Claim::done;
  }

  // Claims a shard that nobody rides; the mutex is held.
  std::optional<std::size_t> free_shard() {
    for (; next_ < folder_.shards; ++next_) {
      if (!mine(next_)) continue;
      const Claim claimed = claim(next_);
      if (claimed == Claim::theirs) theirs_.push_back(next_);
      if (claimed == Claim::ours) return next_++;
    }
    for (std::size_t i = 0; i < theirs_.size();) {
      const std::size_t shard = theirs_[i];
      const Claim claimed = claim(shard);
      if (claimed == Claim::theirs) {
        ++i;
        continue;
      }
      theirs_.erase(theirs_.begin() + static_cast<std::ptrdiff_t>(i));
      if (claimed == Claim::ours) return shard;
    }
    return std::nullopt;
  }

  // The next shard for a thread; none when nothing is left or all shall stop. While other processes
  // ride the last ones it waits: if they end before their time, there is more to do.
  std::optional<std::size_t> next_shard() {
    std::unique_lock lock(mutex_);
    while (!stopping()) {
      if (const std::optional<std::size_t> shard = free_shard()) return shard;
      if (theirs_.empty()) return std::nullopt;
      changed_.wait_for(lock, kWait);
    }
    return std::nullopt;
  }

  void ride_some() {
    ManyRides rider(plan_.keep(), folder_.lanes);
    while (const std::optional<std::size_t> shard = next_shard()) {
      finish(*shard, ride_shard(plan_, folder_, *shard, rider));
    }
  }

  // A shard is written, here or by a rider elsewhere.
  void finish(std::size_t shard, const ShardTally& tally) {
    tallies_.put(shard, tally);
    ridden_ += rides_in(folder_, shard);
    const std::lock_guard lock(mutex_);
    tell(shard, tally);
    done_[shard] = true;
    locks_.give(shard);
  }

  // Counts the failures in shards that other processes did.
  void tell_the_rest() {
    const std::vector<Tallies::Entry> tallies = tallies_.all();
    for (std::size_t shard = 0; shard < folder_.shards; ++shard) {
      if (!mine(shard) || told_[shard] || tallies[shard][0] == 1) continue;
      std::string fault;
      if (!is_good(shard, fault)) throw RunError(fault + "; run the sweep again");
    }
  }

  const Plan& plan_;
  const SweepOptions& options_;
  const SweepFolder folder_;
  ByteLocks locks_;
  const Tallies tallies_;
  std::size_t place_ = 0;  // of this worker among those that run
  const Clock::time_point started_ = Clock::now();
  Clock::time_point riding_since_ = started_;
  Clock::time_point looked_;
  std::deque<std::pair<Clock::time_point, std::size_t>> history_;  // of rides done
  std::string progress_;

  std::atomic<bool> stopping_{false};
  std::atomic<std::size_t> ridden_{0};
  std::vector<std::size_t> to_check_;
  std::atomic<std::size_t> next_to_check_{0};
  std::atomic<std::size_t> checked_{0};

  std::mutex mutex_;  // of what follows
  std::condition_variable changed_;
  std::size_t working_ = 0;
  std::exception_ptr trouble_;
  std::vector<bool> done_;
  std::vector<bool> told_;  // in reasons_
  std::size_t next_ = 0;
  std::vector<std::size_t> theirs_;  // claimed by other processes when last asked
  Clock::time_point asked_;          // when riders elsewhere last had none
  std::vector<std::string> damaged_;
  std::map<std::string, SweepReason> reasons_;  // by their text without numbers
};

}  // namespace

std::string without_numbers(const std::string& reason) {
  std::string kind;
  for (const char c : reason) {
    const bool number = (c >= '0' && c <= '9') || c == '.' || c == '-' || c == '+';
    if (!number) {
      kind += c;
    } else if (kind.empty() || kind.back() != '#') {
      kind += '#';
    }
  }
  return kind;
}

std::vector<SweepReason> by_frequency(const std::map<std::string, SweepReason>& kinds) {
  std::vector<SweepReason> reasons;
  for (const auto& [kind, reason] : kinds) reasons.push_back(reason);
  std::ranges::sort(reasons, [](const SweepReason& a, const SweepReason& b) {
    return std::pair(b.rides, a.ride) < std::pair(a.rides, b.ride);
  });
  return reasons;
}

SweepFolder open_sweep(const std::string& folder) {
  std::error_code error;
  const fs::file_status status = fs::status(folder, error);
  if (!fs::exists(status)) refuse_folder(folder, "does not exist");
  if (!fs::is_directory(status)) refuse_folder(folder, "is not a folder");
  const std::optional<std::string> text = text_of(in(folder, kResolvedName));
  if (!text) refuse_folder(folder, fmt::format("holds no sweep: there is no {}", kResolvedName));
  return parse_folder(folder, *text);
}

Plan plan_of(const SweepFolder& folder) {
  std::error_code error;
  if (!fs::exists(folder.plan_path, error)) {
    refuse_folder(
        folder.path,
        fmt::format("its plan was {}, which is not there: put it back, or run plunge "
                    "sweep PLAN -o {} once with the plan where it is now",
                    folder.plan_path.empty() ? "nowhere" : folder.plan_path, folder.path));
  }
  Plan plan = load_plan(folder.plan_path);
  demand_same(folder, text_for(plan, folder.lanes),
              folder.plan_path + " has changed since: put it back as it was");
  return plan;
}

std::string shard_path(const SweepFolder& folder, std::size_t number) {
  return in(folder.path, shard_name(number));
}

std::vector<bool> shards_there(const SweepFolder& folder) {
  std::vector<bool> there(folder.shards);
  std::error_code error;
  for (fs::directory_iterator entry(folder.path, error), end; !error && entry != end;
       entry.increment(error)) {
    std::size_t number = 0;
    if (is_shard_name(entry->path().filename().string(), number) && number < there.size()) {
      there[number] = true;
    }
  }
  if (error) throw RunError("cannot read the folder " + folder.path + ": " + error.message());
  return there;
}

ShardTally ride_shard(const Plan& plan, const SweepFolder& folder, std::size_t number,
                      ManyRides& rider) {
  Shard shard{number, number * folder.shard_size, {}};
  const std::size_t rides = rides_in(folder, number);
  std::vector<PlannedRide> planned;
  planned.reserve(rides);
  for (std::size_t k = 0; k < rides; ++k) planned.push_back(plan.ride(shard.first + k));
  shard.rows = rider.ride(planned);
  write_shard(shard_path(folder, number), shard, plan, folder.fingerprint, folder.lanes);
  return tally(shard);
}

bool sees_mark(const std::string& folder, const std::string& mark) {
  const std::size_t end = mark.find('\n');
  if (end == std::string::npos) return false;
  const std::optional<std::string> text = text_of(in_work(folder, mark.substr(0, end)));
  return text && text->starts_with(mark.substr(end + 1));
}

SweepState run_sweep(const Plan& plan, const SweepOptions& options) {
  return Runner(plan, options).run();
}

SweepState sweep_state(const SweepFolder& folder) {
  SweepState state;
  state.shards = folder.shards;
  state.rides = folder.rides;
  const std::vector<bool> there = shards_there(folder);
  const std::vector<Tallies::Entry> tallies = Tallies(folder.path, folder.shards, false).all();
  for (std::size_t shard = 0; shard < folder.shards; ++shard) {
    if (there[shard]) count(state, rides_in(folder, shard), tallies[shard]);
  }
  const ByteLocks locks(in_work(folder.path, "locks"), ByteLocks::For::looking);
  state.workers = running(folder.path, locks, std::nullopt);
  state.locks = locks.works();
  for (const SweepWorker& worker : state.workers) state.rate += worker.rate;
  if (state.rate > 0.0) {
    state.seconds_left = static_cast<double>(state.rides - state.rides_done) / state.rate;
  }
  return state;
}

std::string fingerprint_of(const Plan& plan, InstructionSet lanes) {
  return digest(text_for(plan, lanes));
}

}  // namespace plunge
