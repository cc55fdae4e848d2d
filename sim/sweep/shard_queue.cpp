#include "sim/sweep/shard_queue.hpp"

#include <filesystem>
#include <system_error>

namespace plunge {

ShardQueue::ShardQueue(const SweepFolder& folder, Claims& claims, std::size_t part,
                       std::size_t parts)
    : folder_(folder), claims_(claims), part_(part), parts_(parts), done_(folder.shards) {}

void ShardQueue::mark(const std::vector<bool>& there) {
  for (std::size_t shard = 0; shard < done_.size(); ++shard) {
    if (there[shard]) done_[shard] = true;
  }
}

std::vector<std::size_t> ShardQueue::done_shards() const {
  std::vector<std::size_t> shards;
  for (std::size_t shard = 0; shard < done_.size(); ++shard) {
    if (mine(shard) && done_[shard]) shards.push_back(shard);
  }
  return shards;
}

std::size_t ShardQueue::missing() const {
  std::size_t count = 0;
  for (std::size_t shard = 0; shard < done_.size(); ++shard) {
    if (mine(shard) && !done_[shard]) ++count;
  }
  return count;
}

ShardQueue::Claimed ShardQueue::claim(std::size_t shard) {
  const std::string path = shard_path(folder_, shard);
  std::error_code error;
  if (!done_[shard] && !std::filesystem::exists(path, error)) {
    if (!claims_.take_shard(shard)) return Claimed::theirs;
    if (!std::filesystem::exists(path, error)) return Claimed::ours;
    claims_.give_shard(shard);  // done since the folder was read
  }
  done_[shard] = true;
  return Claimed::done;
}

std::optional<std::size_t> ShardQueue::next() {
  for (; next_ < folder_.shards; ++next_) {
    if (!mine(next_)) continue;
    const Claimed claimed = claim(next_);
    if (claimed == Claimed::theirs) theirs_.push_back(next_);
    if (claimed == Claimed::ours) return next_++;
  }
  for (std::size_t i = 0; i < theirs_.size();) {
    const std::size_t shard = theirs_[i];
    const Claimed claimed = claim(shard);
    if (claimed == Claimed::theirs) {
      ++i;
      continue;
    }
    theirs_.erase(theirs_.begin() + static_cast<std::ptrdiff_t>(i));
    if (claimed == Claimed::ours) return shard;
  }
  return std::nullopt;
}

void ShardQueue::finish(std::size_t shard) {
  done_[shard] = true;
  claims_.give_shard(shard);
}

}  // namespace plunge
