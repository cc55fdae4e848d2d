// One sweep ridden by several processes that write letters to one another: a leader that hands out
// shards one by one, and riders that ride them and write them to the folder they all share.
//
// The leader is run_sweep() itself: it sets the folder up, checks what is there, claims each shard
// before it gives it away, counts, and rides as well. Whoever is done first gets the next shard, so
// slow hosts and hard rides hold nobody up. The letters:
//   leader to rider   "folder PATH", "mark MARK" (sees_mark()); "ride NUMBER"; "end"
//                     "stop": drop the shard under way
//   rider to leader   "done NUMBER", what the shard came to; "dropped NUMBER"; "trouble", why
// A rider that is in trouble or dropped a shard gets no more; in trouble, the leader stops all and
// throws what the rider wrote, once. While it rides a rider looks for letters as often as it may be
// stopped. How letters travel is the caller's: Post. What a lost process means is too: MPI ends the
// job.
#pragma once

#include <optional>
#include <string>

#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/sweep.hpp"

namespace plunge {

class Post {
 public:
  struct Letter {
    int from = 0;
    std::string text;
  };

  virtual ~Post() = default;
  // The leader is number 0.
  virtual int processes() const = 0;
  virtual void send(int to, const std::string& text) = 0;
  // None: none has come.
  virtual std::optional<Letter> receive() = 0;
};

// The leader's part; as run_sweep(), of which it sets `elsewhere`.
SweepState lead_sweep(const Plan& plan, SweepOptions options, Post& post);

// Lets the riders go, whether or not there was a sweep; the leader's last word.
void end_riders(Post& post);

// A rider's part: returns when the leader ends it. What goes wrong is written to the leader alone.
void ride_for_leader(Post& post);

}  // namespace plunge
