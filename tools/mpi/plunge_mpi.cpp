// `plunge sweep` over many hosts: the same plan, folder and bytes, under mpirun or srun.
//
// Rank 0 leads and rides, the others ride what it gives them (sim/sweep/hand_out.hpp): one core a
// rank. Only rank 0 speaks and returns an exit code. A rank that is killed takes the job with it,
// which is MPI's way; the shards that are finished stay, and the same command, or plunge sweep,
// goes on. SIGUSR1, which mpirun passes on, and SIGTERM let the shards under way be finished. Of
// SIGTERM mpirun itself makes a quick end.
#include <fmt/core.h>
#include <mpi.h>

#include <csignal>
#include <exception>
#include <string>

#include "sim/sweep/hand_out.hpp"
#include "tools/cli/command_line.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// MPI as long as it lives; all calls come from the thread that made it.
class MpiPost : public Post {
 public:
  MpiPost(int& argc, char**& argv) {
    int given = 0;
    MPI_Init_thread(&argc, &argv, MPI_THREAD_FUNNELED, &given);
    MPI_Comm_size(MPI_COMM_WORLD, &processes_);
    MPI_Comm_rank(MPI_COMM_WORLD, &rank_);
  }
  ~MpiPost() override { MPI_Finalize(); }
  MpiPost(const MpiPost&) = delete;
  MpiPost& operator=(const MpiPost&) = delete;

  int rank() const { return rank_; }
  int processes() const override { return processes_; }

  void send(int to, const std::string& text) override {
    MPI_Send(text.data(), static_cast<int>(text.size()), MPI_CHAR, to, 0, MPI_COMM_WORLD);
  }

  // Asked now and then: a blocking receive would keep a core busy.
  std::optional<Letter> receive() override {
    int there = 0;
    MPI_Status status;
    MPI_Iprobe(MPI_ANY_SOURCE, 0, MPI_COMM_WORLD, &there, &status);
    if (there == 0) return std::nullopt;
    int size = 0;
    MPI_Get_count(&status, MPI_CHAR, &size);
    Letter letter{status.MPI_SOURCE, std::string(static_cast<std::size_t>(size), ' ')};
    MPI_Recv(letter.text.data(), size, MPI_CHAR, letter.from, 0, MPI_COMM_WORLD, &status);
    return letter;
  }

  // The smallest of what all ranks say.
  int least(int value) const {
    int result = value;
    MPI_Allreduce(&value, &result, 1, MPI_INT, MPI_MIN, MPI_COMM_WORLD);
    return result;
  }

 private:
  int processes_ = 0;
  int rank_ = 0;
};

int lead(int argc, char** argv, MpiPost& post, InstructionSet best) {
  SweepVerbOptions sweep;
  CLI::App app;
  add_sweep_over_hosts(app, sweep);
  if (const auto code = read_command_line(app, argc, argv)) return *code;
  sweep.command = fmt::format("mpirun -n {} plunge_mpi", post.processes());
  sweep.run = [&](const Plan& plan, const SweepOptions& asked) {
    SweepOptions options = asked;
    options.best = best;
    options.threads = 1;
    return lead_sweep(plan, options, post);
  };
  try {
    return sweep_verb(sweep);
  } catch (const std::exception&) {
    return tell_exception();
  }
}

int run(int argc, char** argv) {
  MpiPost post(argc, argv);
  std::signal(SIGUSR1, [](int) { InterruptGuard::ask(); });
  const auto best =
      static_cast<InstructionSet>(post.least(static_cast<int>(best_instruction_set())));
  if (post.rank() > 0) {
    const InterruptGuard guard;  // the leader says when it ends
    ride_for_leader(post);
    return 0;
  }
  const int code = lead(argc, argv, post, best);
  end_riders(post);
  return code;
}

}  // namespace
}  // namespace plunge

int main(int argc, char** argv) {
  plunge::open_voice();
  return plunge::close_voice(plunge::run(argc, argv));
}
