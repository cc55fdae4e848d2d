#include "sim/sweep/hand_out.hpp"

#include <fmt/core.h>

#include <chrono>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <thread>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/sweep/workers.hpp"

namespace plunge {
namespace {

using nlohmann::json;

constexpr auto kPause = std::chrono::milliseconds(1);  // between polls for a letter

constexpr std::string_view kFolder = "folder ";
constexpr std::string_view kMark = "mark ";
constexpr std::string_view kRide = "ride ";
constexpr std::string_view kStop = "stop";
constexpr std::string_view kDone = "done ";
constexpr std::string_view kDropped = "dropped ";
constexpr std::string_view kTrouble = "trouble\n";
constexpr std::string_view kEnd = "end";

std::size_t number_after(std::string_view word, const std::string& text) {
  return std::strtoull(text.c_str() + word.size(), nullptr, 10);
}

std::string after_first_line(const std::string& text) {
  const std::size_t end = text.find('\n');
  return end == std::string::npos ? "" : text.substr(end + 1);
}

std::string done_letter(std::size_t shard, const ShardTally& tally) {
  const json counts = {{"redone", tally.redone},
                       {"failed", tally.failed},
                       {"failed_with", tally.failed_with},
                       {"samples", tally.samples}};
  // A reason that quotes a broken file name is no reason to lose the shard.
  return fmt::format("{}{}\n{}", kDone, shard,
                     counts.dump(-1, ' ', false, json::error_handler_t::replace));
}

ShardTally tally_of(const std::string& letter) {
  const json counts = json::parse(after_first_line(letter));
  ShardTally tally;
  counts.at("redone").get_to(tally.redone);
  counts.at("failed").get_to(tally.failed);
  counts.at("failed_with").get_to(tally.failed_with);
  counts.at("samples").get_to(tally.samples);
  return tally;
}

// What the leader knows of its riders.
class Riders {
 public:
  explicit Riders(Post& post) : post_(post), riders_(static_cast<std::size_t>(post.processes())) {}

  // True while some are at work.
  bool look_after(HandOut& shards) {
    while (const std::optional<Post::Letter> letter = post_.receive()) hear(*letter, shards);
    bool busy = false;
    for (std::size_t i = 1; i < riders_.size(); ++i) {
      if (riders_[i].state == State::idle) give(i, shards);
      if (riders_[i].state == State::riding && !riders_[i].stopped && shards.stopping()) {
        post_.send(static_cast<int>(i), std::string(kStop));
        riders_[i].stopped = true;
      }
      busy = busy || riders_[i].state == State::riding;
    }
    return busy;
  }

 private:
  enum class State { idle, riding, out };
  struct Rider {
    State state = State::idle;
    bool knows_folder = false;
    bool stopped = false;
  };

  void hear(const Post::Letter& letter, HandOut& shards) {
    Rider& rider = riders_.at(static_cast<std::size_t>(letter.from));
    if (letter.text.starts_with(kDone)) {
      rider.state = State::idle;
      shards.done(number_after(kDone, letter.text), tally_of(letter.text));
      return;
    }
    rider.state = State::out;
    if (letter.text.starts_with(kDropped)) {
      shards.dropped(number_after(kDropped, letter.text));
      return;
    }
    throw RunError(after_first_line(letter.text));
  }

  void give(std::size_t number, HandOut& shards) {
    const std::optional<std::size_t> shard = shards.next();
    if (!shard) return;
    Rider& rider = riders_[number];
    const int to = static_cast<int>(number);
    if (!rider.knows_folder) {
      const std::string path = std::filesystem::absolute(shards.folder().path).string();
      post_.send(to, fmt::format("{}{}", kFolder, path));
      post_.send(to, fmt::format("{}{}", kMark, shards.mark()));
    }
    rider.knows_folder = true;
    rider.state = State::riding;
    post_.send(to, fmt::format("{}{}", kRide, *shard));
  }

  Post& post_;
  std::vector<Rider> riders_;  // by their number; the first is the leader
};

// What a rider needs, once it knows of the folder.
struct Ready {
  Ready(const std::string& path, const std::string& mark)
      : folder(open_same(path, mark)), plan(plan_of(folder)), rider(plan.keep(), folder.lanes) {}

  const SweepFolder folder;
  const Plan plan;
  ManyRides rider;

 private:
  static SweepFolder open_same(const std::string& path, const std::string& mark) {
    if (!sees_mark(path, mark)) {
      throw RunError(
          fmt::format("{} is not the folder of process 0 here: it must be on a file "
                      "system that all hosts share",
                      path));
    }
    SweepFolder folder = open_sweep(path);
    demand_this_build(folder);
    if (!runs_here(folder.lanes)) {
      throw RunError(
          fmt::format("this processor does not have {}, with which the sweep in {} "
                      "began: leave this host out, or begin a new folder with --lanes "
                      "portable",
                      to_string(folder.lanes), path));
    }
    return folder;
  }
};

}  // namespace

SweepState lead_sweep(const Plan& plan, SweepOptions options, Post& post) {
  Riders riders(post);
  options.elsewhere = [&](HandOut& shards) { return riders.look_after(shards); };
  return run_sweep(plan, options);
}

void end_riders(Post& post) {
  for (int i = 1; i < post.processes(); ++i) post.send(i, std::string(kEnd));
}

void ride_for_leader(Post& post) {
  std::string path;
  std::string mark;
  std::optional<Ready> ready;
  bool ended = false;
  bool stopped = false;
  // While a shard is ridden no other letters come.
  const auto stop = [&] {
    while (!stopped) {
      const std::optional<Post::Letter> letter = post.receive();
      if (!letter) break;
      ended = letter->text == kEnd;
      stopped = ended || letter->text == kStop;
    }
    return stopped;
  };
  while (!ended) {
    const std::optional<Post::Letter> letter = post.receive();
    if (!letter) {
      std::this_thread::sleep_for(kPause);
      continue;
    }
    const std::string& text = letter->text;
    if (text == kEnd) return;
    if (text.starts_with(kFolder)) path = text.substr(kFolder.size());
    if (text.starts_with(kMark)) mark = text.substr(kMark.size());
    if (!text.starts_with(kRide)) continue;
    const std::size_t shard = number_after(kRide, text);
    std::string answer = fmt::format("{}{}", kDropped, shard);
    try {
      if (!ready) ready.emplace(path, mark);
      const auto tally = ride_shard(ready->plan, ready->folder, shard, ready->rider, stop);
      if (tally) answer = done_letter(shard, *tally);
    } catch (const std::exception& error) {
      answer = fmt::format("{}{}: {}", kTrouble, host_name(), error.what());
    }
    post.send(0, answer);
  }
}

}  // namespace plunge
