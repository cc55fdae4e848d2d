// Names of what lies in the folder of a sweep.
//
//   plan.toml          copy of the plan file, for people
//   plan-path.txt      where that file was when it last ran, for people
//   files/             the plan and every file that it names (kept_files.hpp)
//   resolved-plan.txt  what the sweep is, written once (sweep_folder.hpp)
//   shard-*.h5         finished shards (shard_file.hpp names them)
//   work/              what informs the processes of one another: locks (claims.hpp), worker-*.txt
//                      (workers.hpp), tallies (tallies.hpp)
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace plunge {

inline constexpr char kPlanCopyName[] = "plan.toml";
inline constexpr char kPlanPathName[] = "plan-path.txt";
inline constexpr char kResolvedName[] = "resolved-plan.txt";
inline constexpr char kWorkName[] = "work";
inline constexpr char kKeptName[] = "files";
inline constexpr char kKeptIndexName[] = "index.txt";  // in files/

// What is said of a link that has the name of one of them.
inline constexpr char kNoLink[] = "is a link, and links are not followed in the folder of a sweep";

// Those that are in every such folder and no shards.
inline std::vector<std::string> own_names() {
  const std::string work = std::string(kWorkName) + "/";
  return {kPlanCopyName, kPlanPathName,  kResolvedName,   kWorkName,
          kKeptName,     work + "locks", work + "tallies"};
}

inline std::string path_in(const std::string& folder, const std::string& name) {
  return (std::filesystem::path(folder) / name).string();
}

inline std::string path_in_files(const std::string& folder, const std::string& name) {
  return (std::filesystem::path(folder) / kKeptName / name).string();
}

inline std::string path_in_work(const std::string& folder, const std::string& name) {
  return (std::filesystem::path(folder) / kWorkName / name).string();
}

}  // namespace plunge
