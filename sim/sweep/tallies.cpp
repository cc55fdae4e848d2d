#include "sim/sweep/tallies.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <span>

#include "sim/sweep/sweep_paths.hpp"

namespace plunge {

Tallies::Tallies(const std::string& folder, std::size_t shards, For purpose)
    : shards_(shards),
      file_(open_plain(path_in_work(folder, "tallies"),
                       purpose == For::writing ? O_RDWR | O_CREAT : O_RDONLY)) {}

void Tallies::put(std::size_t shard, const ShardTally& tally) const {
  put(shard, Entry{static_cast<std::uint32_t>(tally.failed.size() + 1),
                   static_cast<std::uint32_t>(tally.redone)});
}

void Tallies::forget(std::size_t shard) const { put(shard, Entry{}); }

std::vector<Tallies::Entry> Tallies::all() const {
  static_assert(sizeof(Entry) == 8);
  std::vector<Entry> entries(shards_);
  const auto bytes = std::as_writable_bytes(std::span(entries));
  std::size_t at = 0;
  while (file_.is_open() && at < bytes.size()) {
    const ssize_t got =
        ::pread(file_.get(), bytes.data() + at, bytes.size() - at, static_cast<off_t>(at));
    if (got <= 0) break;
    at += static_cast<std::size_t>(got);
  }
  return entries;
}

void Tallies::put(std::size_t shard, const Entry& entry) const {
  if (!file_.is_open()) return;
  const auto at = static_cast<off_t>(shard * sizeof entry);
  [[maybe_unused]] const ssize_t written = ::pwrite(file_.get(), &entry, sizeof entry, at);
}

}  // namespace plunge
