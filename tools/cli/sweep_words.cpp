#include "tools/cli/sweep_words.hpp"

#include <fmt/core.h>

#include <cmath>
#include <cstddef>
#include <filesystem>
#include <iterator>
#include <string_view>
#include <system_error>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

constexpr std::size_t kReasonsShown = 5;
constexpr int kMostThreads = 1024;

// A name for the merged file of a folder that nothing has yet, so that no command that is proposed
// would be refused or replace anything.
std::string merged_name(const std::string& folder) {
  namespace fs = std::filesystem;
  fs::path path = fs::path(folder).lexically_normal();
  if (!path.has_filename()) path = path.parent_path();
  const fs::path last = path.filename();
  const bool named = !last.empty() && last != "." && last != "..";
  const std::string stem = named ? path.string() : "all";
  std::error_code error;
  std::string name = stem + ".h5";
  for (int k = 2; fs::exists(fs::symlink_status(name, error)); ++k) {
    name = fmt::format("{}-{}.h5", stem, k);
  }
  return name;
}

}  // namespace

std::vector<std::string> reasons_lines(const std::vector<SweepReason>& reasons) {
  std::vector<std::string> lines;
  std::size_t rest = 0;
  for (std::size_t i = 0; i < reasons.size(); ++i) {
    const SweepReason& reason = reasons[i];
    if (i >= kReasonsShown) {
      rest += reason.rides;
      continue;
    }
    lines.push_back(
        fmt::format("  {:>8}  such as ride {}: {}", reason.rides, reason.ride, shown(reason.text)));
  }
  if (rest > 0) lines.push_back(fmt::format("  {:>8}  for other reasons", rest));
  return lines;
}

std::string reasons_text(const std::vector<SweepReason>& reasons) {
  std::string text;
  for (const std::string& line : reasons_lines(reasons)) text += line + "\n";
  return text;
}

std::size_t threads_asked(int threads) {
  if (threads < 0 || threads > kMostThreads) {
    throw InputError(Fault{"--threads",
                           fmt::format("{}", threads),
                           fmt::format("must be 0 (one for each core) to {}", kMostThreads),
                           {}});
  }
  return static_cast<std::size_t>(threads);
}

std::string share(std::size_t part, std::size_t whole) {
  const double percent = 100.0 * static_cast<double>(part) / static_cast<double>(whole);
  // Neither "0 %" of something nor "100 %" of less than all.
  if (part > 0 && percent < 0.1) return "< 0.1 %";
  if (part < whole && percent > 99.9) return "> 99.9 %";
  return fmt::format("{:.{}f} %", percent, percent < 10.0 && part > 0 ? 1 : 0);
}

std::string duration(double seconds) {
  const auto whole = static_cast<long long>(std::llround(seconds));
  if (seconds < 0.0995) return fmt::format("{:.0f} ms", 1e3 * seconds);
  if (seconds < 9.95) return fmt::format("{:.1f} s", seconds);
  if (whole < 90) return fmt::format("{} s", whole);
  const long long minutes = (whole + 30) / 60;
  if (minutes < 120) return fmt::format("{} min", minutes);
  const long long hours = (minutes + 30) / 60;
  if (hours < 48) return fmt::format("{} h {} min", minutes / 60, minutes % 60);
  return fmt::format("{} days {} h", hours / 24, hours % 24);
}

std::string bytes_text(double bytes) {
  constexpr const char* kUnits[] = {"bytes", "kB", "MB", "GB", "TB"};
  std::size_t unit = 0;
  for (; bytes >= 999.5 && unit + 1 < std::size(kUnits); ++unit) bytes /= 1000.0;
  return fmt::format("{:.{}f} {}", bytes, unit > 0 && bytes < 9.95 ? 1 : 0, kUnits[unit]);
}

std::string shell_word(const std::string& word) {
  constexpr std::string_view kPlain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./=+,:@%";
  if (word.starts_with("-")) return shell_word("./" + word);  // which is no option
  if (!word.empty() && word.find_first_not_of(kPlain) == std::string::npos) return word;
  const bool controls = shown(word) != word;  // a shell reads these written out in $'...' alone
  std::string text = controls ? "$'" : "'";
  for (const char c : word) {
    if (c == '\'') {
      text += controls ? "\\'" : "'\\''";
    } else if (c == '\\' && controls) {
      text += "\\\\";
    } else {
      text += controls ? shown(std::string(1, c)) : std::string(1, c);
    }
  }
  return text + "'";
}

nlohmann::ordered_json reasons_json(const std::vector<SweepReason>& reasons) {
  auto list = nlohmann::ordered_json::array();
  for (const SweepReason& reason : reasons) {
    list.push_back({{"rides", reason.rides}, {"ride", reason.ride}, {"reason", reason.text}});
  }
  return list;
}

std::string to_merge(const std::string& folder) {
  return fmt::format("plunge sweep merge {} -o {}", shell_word(folder),
                     shell_word(merged_name(folder)));
}

}  // namespace plunge
