#include "sim/sweep/workers.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <sstream>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/sweep/sweep_paths.hpp"

namespace plunge {
namespace {

namespace fs = std::filesystem;

std::string note_name(std::size_t place) { return fmt::format("worker-{}.txt", place); }

// How the note of this process begins.
std::string who() { return fmt::format("host {}\nprocess {}\n", host_name(), ::getpid()); }

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

}  // namespace

std::string host_name() {
  std::array<char, 256> name = {};
  return ::gethostname(name.data(), name.size() - 1) == 0 ? name.data() : "?";
}

WorkerNote::WorkerNote(const std::string& folder, std::size_t place)
    : folder_(folder), place_(place) {}

WorkerNote::~WorkerNote() { ::unlink(path_in_work(folder_, note_name(place_)).c_str()); }

void WorkerNote::begin() const {
  write_file_atomically(path_in_work(folder_, note_name(place_)), who(), Links::refused);
}

void WorkerNote::say(std::size_t rides, double rate) {
  const std::string text = who() + fmt::format("rides {}\nrate {:.6g}\n", rides, rate);
  if (text == written_) return;
  written_ = text;
  try {
    write_file_atomically(path_in_work(folder_, note_name(place_)), text, Links::refused);
  } catch (const RunError&) {  // as the header says
  }
}

std::string WorkerNote::mark() const { return note_name(place_) + "\n" + who(); }

bool sees_mark(const std::string& folder, const std::string& mark) {
  const std::size_t end = mark.find('\n');
  if (end == std::string::npos) return false;
  const std::optional<std::string> text = bytes_in_file(path_in_work(folder, mark.substr(0, end)));
  return text && text->starts_with(mark.substr(end + 1));
}

std::vector<SweepWorker> running_workers(const std::string& folder, const Claims& claims,
                                         std::optional<std::size_t> own) {
  std::vector<SweepWorker> workers;
  std::error_code error;
  for (fs::directory_iterator entry(fs::path(folder) / kWorkName, error), end;
       !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    unsigned long long place = 0;
    if (std::sscanf(name.c_str(), "worker-%llu.txt", &place) != 1 || name != note_name(place) ||
        own == place || !fs::is_regular_file(entry->symlink_status(error))) {
      continue;
    }
    const std::optional<std::string> text =
        claims.place_taken(place) ? bytes_in_file(entry->path().string()) : std::nullopt;
    if (text) workers.push_back(parse_worker(*text));
  }
  std::ranges::sort(workers, {}, [](const SweepWorker& w) { return std::pair(w.host, w.process); });
  return workers;
}

}  // namespace plunge
