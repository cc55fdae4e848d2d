#include "sim/sweep/sweep_folder.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <sstream>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/check_sum.hpp"
#include "sim/disk/folder.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/sweep/axis.hpp"
#include "sim/sweep/build_identity.hpp"
#include "sim/sweep/claims.hpp"
#include "sim/sweep/kept_files.hpp"
#include "sim/sweep/plan_difference.hpp"
#include "sim/sweep/plan_facts.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_paths.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

constexpr int kFolderVersion = 2;
constexpr int kHeadLines = 6;  // of resolved-plan.txt, before the plan's own

[[noreturn]] void refuse_folder(const std::string& folder, const std::string& rule) {
  throw InputError(Fault{"", "", rule, Place{folder, 0, 0}});
}

// Refuses a folder in which something else has the name of what plunge reads and writes there, such
// as a link, which would lead outside.
void demand_own_names(const std::string& path) {
  for (const std::string& name : own_names()) {
    const std::string at = path_in(path, name);
    std::error_code error;
    const fs::file_status status = fs::symlink_status(at, error);
    const bool folder = name == kWorkName || name == kKeptName;
    const bool fits = folder ? fs::is_directory(status) : fs::is_regular_file(status);
    if (!fs::exists(status) || fits) continue;
    refuse_folder(at, fs::is_symlink(status)
                          ? kNoLink
                          : "is not what plunge has by this name in the folder of a sweep");
  }
}

std::string text_for(const Plan& plan, InstructionSet lanes, const std::string& build) {
  return fmt::format(
      "plunge sweep folder {}\nresults {}\nbuild {}\nlanes {}\nrides {}\nshard_size {}\n{}",
      kFolderVersion, kResultsVersion, build, to_string(lanes), plan.size(), plan.shard_size(),
      plan.resolved());
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

// Reads the head of resolved-plan.txt line by line.
class HeadReader {
 public:
  HeadReader(const std::string& path, const std::string& text) : path_(path), lines_(text) {}

  std::string value(const std::string& key) {
    std::string line;
    std::getline(lines_, line);
    if (!line.starts_with(key + " ")) refuse(key, "", "must be here: the file is damaged");
    return line.substr(key.size() + 1);
  }

  std::size_t count(const std::string& key, std::size_t most) {
    const std::string digits = value(key);
    std::size_t number = 0;
    const char* const end = digits.data() + digits.size();
    const auto [last, error] = std::from_chars(digits.data(), end, number);
    if (error != std::errc() || last != end || number < 1 || number > most) {
      refuse(key, digits, fmt::format("must be a number from 1 to {}: the file is damaged", most));
    }
    return number;
  }

  void demand_version(const std::string& key, int version) {
    const std::string found = value(key);
    if (found == std::to_string(version)) return;
    refuse(key, found,
           fmt::format("this program has {} {}: go on with the version of plunge "
                       "that began the sweep, or begin a new folder",
                       key, version));
  }

  [[noreturn]] void refuse(const std::string& key, const std::string& found,
                           const std::string& rule) const {
    throw InputError(Fault{key, found, rule, Place{path_, 0, 0}});
  }

 private:
  std::string path_;
  std::istringstream lines_;
};

// The folder that a resolved plan's text speaks of.
SweepFolder parse_folder(const std::string& path, const std::string& text) {
  SweepFolder folder;
  folder.path = path;
  folder.resolved = text;
  folder.fingerprint = digest(text);
  HeadReader head(path_in(path, kResolvedName), text);
  head.demand_version("plunge sweep folder", kFolderVersion);
  head.demand_version("results", kResultsVersion);
  folder.build = head.value("build");
  folder.lanes = parse_instruction_set(head.value("lanes"));
  folder.rides = head.count("rides", kMostRides);
  folder.shard_size = head.count("shard_size", kMostRides);
  // The plan's own lines say it too.
  const std::string counts =
      fmt::format("rides: {}\nrides of a shard: {}\n", folder.rides, folder.shard_size);
  if (text.find(counts) == std::string::npos) {
    head.refuse("rides", fmt::format("{}", folder.rides),
                "is not what the plan below says: the file is damaged");
  }
  folder.shards = (folder.rides - 1) / folder.shard_size + 1;
  std::istringstream first(bytes_in_file(path_in(path, kPlanPathName)).value_or(""));
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

void demand_runs_here(InstructionSet lanes, const std::string& rule) {
  if (runs_here(lanes)) return;
  throw InputError(Fault{
      "--lanes", std::string(to_string(lanes)), "this processor does not have them; " + rule, {}});
}

std::string noted_path(const Plan& plan) {
  return fs::absolute(plan.path()).lexically_normal().string();
}

// What is written before resolved-plan.txt, as names in the folder with their bytes.
std::map<std::string, std::string> files_of_beginning(const Plan& plan) {
  std::map<std::string, std::string> files{{path_in_work("", "locks"), ""},
                                           {kPlanCopyName, plan.texts().front().second},
                                           {kPlanPathName, noted_path(plan) + "\n"}};
  for (auto& [name, bytes] : kept_files_for(plan.texts())) {
    files.emplace(path_in_files("", name), std::move(bytes));
  }
  return files;
}

// A file of the folder that no process that began this sweep and was killed has left; empty: none.
std::string strange_file(const Plan& plan, const std::string& folder) {
  const std::map<std::string, std::string> expected = files_of_beginning(plan);
  const auto is_own = [&](const std::string& name, const fs::file_status& status) {
    if (!fs::exists(status)) return true;  // it was removed meanwhile
    if (fs::is_directory(status)) return name == kWorkName || name == kKeptName;
    if (!fs::is_regular_file(status)) return false;
    if (is_left_part(fs::path(name).filename().string())) return true;
    const auto file = expected.find(name);
    if (file == expected.end()) return false;
    const std::optional<std::string> bytes = bytes_in_file(path_in(folder, name));
    return bytes && (bytes->empty() || *bytes == file->second);
  };
  std::error_code error;
  fs::recursive_directory_iterator entry(folder, error);
  for (; !error && entry != fs::recursive_directory_iterator(); entry.increment(error)) {
    const std::string name = entry->path().lexically_relative(folder).string();
    std::error_code unknown;
    if (!is_own(name, entry->symlink_status(unknown))) return name;
  }
  if (error) refuse_folder(folder, "cannot be read: " + error.message());
  return {};
}

// The same once no other process is about to set the folder up; not to be asked by one that is.
std::string strange_file_at_rest(const Plan& plan, const std::string& folder) {
  std::string strange = strange_file(plan, folder);
  std::error_code error;
  const bool another = !strange.empty() && !fs::exists(path_in(folder, kResolvedName), error) &&
                       fs::is_regular_file(path_in_work(folder, "locks"), error);
  if (!another) return strange;
  Claims(folder, ByteLocks::For::taking).wait_for_setup();
  return strange_file(plan, folder);
}

using StrangeFile = std::string (*)(const Plan&, const std::string&);

[[noreturn]] void refuse_strange(const std::string& folder, const std::string& file) {
  refuse_folder(folder, fmt::format("holds other files and no sweep, such as {}: name a new or an "
                                    "empty folder",
                                    file));
}

// The sweep that is in the folder already; refuses what is in the way of this plan.
std::optional<SweepFolder> present_sweep(const Plan& plan, const std::string& path,
                                         std::optional<InstructionSet> lanes,
                                         StrangeFile find_strange) {
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  if (!fs::exists(status)) return std::nullopt;
  if (!fs::is_directory(status)) refuse_folder(path, "is not a folder");
  demand_own_names(path);
  // Looked at before the plan's text is read: that is written before the first shard, so a sweep
  // that another process begins meanwhile is never taken for strange files.
  const std::string strange = find_strange(plan, path);
  const std::optional<std::string> text = bytes_in_file(path_in(path, kResolvedName));
  if (!text) {
    if (!strange.empty()) refuse_strange(path, strange);
    return std::nullopt;
  }
  SweepFolder folder = parse_folder(path, *text);
  demand_same(folder, text_for(plan, folder.lanes, folder.build),
              "name another folder, or go on with its own plan: plunge sweep " + path);
  demand_this_build(folder);
  if (lanes && *lanes != folder.lanes) {
    throw InputError(
        Fault{"--lanes",
              std::string(to_string(*lanes)),
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

// The plan may be one that the folder keeps, with no other file of its name.
void note_path(const Plan& plan, const std::string& noted, const std::string& folder) {
  const std::string path = noted_path(plan);
  std::error_code error;
  if (path == noted || !fs::is_regular_file(path, error)) return;
  write_file_atomically(path_in(folder, kPlanPathName), path + "\n", Links::refused);
}

void keep_texts(const Plan& plan, const std::string& folder) {
  write_file_atomically(path_in(folder, kPlanCopyName), plan.texts().front().second,
                        Links::refused);
  write_kept_files(folder, plan.texts());
}

// Makes a folder for a plan unless another process does so first: then what is there, if it may be.
SweepFolder set_up(const Plan& plan, const std::string& folder, InstructionSet lanes,
                   const std::string& build,
                   const std::function<std::optional<SweepFolder>()>& there) {
  make_folders(path_in(folder, kWorkName));
  Claims claims(folder, ByteLocks::For::taking);
  claims.wait_for_setup();
  if (std::optional<SweepFolder> other = there()) return *other;
  keep_texts(plan, folder);
  note_path(plan, "", folder);
  write_file_atomically(path_in(folder, kResolvedName), text_for(plan, lanes, build),
                        Links::refused);
  return open_sweep(folder);
}

}  // namespace

SweepFolder open_sweep(const std::string& folder) {
  std::error_code error;
  const fs::file_status status = fs::status(folder, error);
  if (!fs::exists(status)) refuse_folder(folder, "does not exist");
  if (!fs::is_directory(status)) refuse_folder(folder, "is not a folder");
  demand_own_names(folder);
  const std::optional<std::string> text = bytes_in_file(path_in(folder, kResolvedName));
  if (!text) refuse_folder(folder, fmt::format("holds no sweep: there is no {}", kResolvedName));
  return parse_folder(folder, *text);
}

SweepFolder begin_sweep(const Plan& plan, const std::string& folder,
                        std::optional<InstructionSet> lanes, InstructionSet best) {
  if (std::optional<SweepFolder> there = present_sweep(plan, folder, lanes, strange_file_at_rest)) {
    make_folders(path_in(folder, kWorkName));
    // What a plan says beside its rides, such as roles, may have changed.
    if (KeptFiles(folder).texts() != plan.texts()) keep_texts(plan, folder);
    try {
      note_path(plan, there->plan_path, folder);
    } catch (const RunError&) {
      // For people only; where it can't be written the sweep may be finished all the same.
    }
    return *there;
  }
  const InstructionSet chosen = lanes.value_or(best);
  demand_runs_here(chosen, "take another or leave --lanes out");
  std::error_code error;
  if (fs::equivalent(plan.path(), path_in(folder, kPlanCopyName), error)) {
    refuse_folder(
        folder, "is where the plan itself is, and its copy would go over it: name another folder");
  }
  return set_up(plan, folder, chosen, build_identity(),
                [&] { return present_sweep(plan, folder, lanes, strange_file); });
}

SweepFolder begin_same(const SweepFolder& other, const Plan& plan, const std::string& folder) {
  const auto there = [&](StrangeFile find_strange) -> std::optional<SweepFolder> {
    std::error_code error;
    const fs::file_status status = fs::status(folder, error);
    if (!fs::exists(status)) return std::nullopt;
    if (!fs::is_directory(status)) refuse_folder(folder, "is not a folder");
    demand_own_names(folder);
    const std::string strange = find_strange(plan, folder);
    if (fs::exists(path_in(folder, kResolvedName), error)) return open_sweep(folder);
    if (!strange.empty()) refuse_strange(folder, strange);
    return std::nullopt;
  };
  if (std::optional<SweepFolder> present = there(strange_file_at_rest)) return *present;
  return set_up(plan, folder, other.lanes, other.build, [&] { return there(strange_file); });
}

void demand_this_build(const SweepFolder& folder) {
  if (folder.build == build_identity()) return;
  throw InputError(Faults{
      Fault{"", "",
            "was begun by another build of plunge, whose numbers may differ in the last digits: go "
            "on with that one, or name another folder",
            Place{folder.path, 0, 0}},
      Fault{"", "", "that build: " + folder.build, {}},
      Fault{"", "", "this build: " + build_identity(), {}}});
}

Plan plan_of(const SweepFolder& folder) {
  const KeptFiles kept(folder.path);
  Plan plan = load_plan(kept, kept.plan());
  demand_same(folder, text_for(plan, folder.lanes, folder.build),
              "the files in its folder files/ have changed since it began: put them back");
  return plan;
}

std::string fingerprint_of(const Plan& plan, InstructionSet lanes) {
  return digest(text_for(plan, lanes, build_identity()));
}

void sweep_up(const std::string& folder) {
  for (const char* name : {"", kWorkName, kKeptName}) remove_left_parts(path_in(folder, name));
}

std::string shard_path(const SweepFolder& folder, std::size_t number) {
  return path_in(folder.path, shard_name(number));
}

std::size_t rides_in(const SweepFolder& folder, std::size_t shard) {
  const std::size_t first = shard * folder.shard_size;
  return std::min(folder.shard_size, folder.rides - first);
}

std::string sweep_that_owns(const std::string& path) {
  std::error_code error;
  const fs::path real = fs::weakly_canonical(path, error);
  const auto holds_sweep = [&](const fs::path& folder) {
    return fs::exists(folder / kResolvedName, error);
  };
  const fs::path folder = real.parent_path();
  const bool below = folder.filename() == kWorkName || folder.filename() == kKeptName;
  if (below && holds_sweep(folder.parent_path())) {
    return folder.parent_path().string();
  }
  std::size_t number = 0;
  const std::string name = real.filename().string();
  const std::vector<std::string> own = own_names();
  const bool known = std::ranges::find(own, name) != own.end() || is_shard_name(name, number);
  return known && holds_sweep(folder) ? folder.string() : "";
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

std::string set_shard_aside(const SweepFolder& folder, std::size_t shard,
                            const std::string& fault) {
  const std::string path = shard_path(folder, shard);
  std::error_code error;
  std::string aside = path + ".damaged";
  for (int k = 2; fs::exists(fs::symlink_status(aside, error)); ++k) {
    aside = fmt::format("{}.damaged-{}", path, k);
  }
  fs::rename(path, aside, error);
  if (error) {
    throw RunError(
        fmt::format("{}; it cannot be renamed to {}: {}", fault, aside, error.message()));
  }
  return fmt::format("{}; set aside as {}, its rides are ridden again", fault,
                     fs::path(aside).filename().string());
}

}  // namespace plunge
