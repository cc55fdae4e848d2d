"""tools/sweep.sbatch as a job array of a real Slurm, started here for the test alone.

Needs PLUNGE_PROGRAM, the built program. Without Slurm's daemons, or where they don't start, what
needs them is skipped (exit code 77)."""

import getpass
import os
import pathlib
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

SCRIPT = sweep_plan.ROOT / "tools" / "sweep.sbatch"
DAEMONS = ("munged", "slurmctld", "slurmd", "sbatch")
SKIPPED = 77  # as CMakeLists.txt has it
PATH = os.environ["PATH"] + ":/usr/sbin:/sbin"


def free_ports(count):
    listeners = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [listener.getsockname()[1] for listener in listeners]
    for listener in listeners:
        listener.close()
    return ports


class Cluster:
    """munged, slurmctld and slurmd of one node in a folder; nothing of the machine's own."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.daemons = []
        self.config = self.folder / "slurm.conf"
        self.environment = {
            **{name: value for name, value in os.environ.items()
               if not name.startswith(("SLURM_", "SBATCH_", "PLUNGE"))},
            "PATH": PATH, "SLURM_CONF": str(self.config), "PLUNGE": sweep_plan.PROGRAM,
        }  # fmt: skip

    def start(self):
        """None, or why it does not run."""
        missing = [name for name in DAEMONS if shutil.which(name, path=PATH) is None]
        if missing:
            return f"not installed: {', '.join(missing)}"
        self.configure()
        munge = self.folder / "munge"
        for command in (
            ["munged", "--foreground", "--force", f"--socket={munge}/socket",
             f"--key-file={munge}/key", f"--log-file={munge}/log", f"--pid-file={munge}/pid",
             f"--seed-file={munge}/seed"],
            ["slurmctld", "-D", "-f", self.config],
            ["slurmd", "-D", "-f", self.config, "-N", "node"],
        ):  # fmt: skip
            with open(self.folder / f"{command[0]}.txt", "wb") as said:
                self.daemons.append(
                    subprocess.Popen(
                        command, cwd=self.folder, env=self.environment, stdout=said, stderr=said
                    )
                )
            if command[0] == "munged":
                for _ in range(100):
                    if (munge / "socket").exists():
                        break
                    time.sleep(0.05)
        for _ in range(200):
            ended = [daemon for daemon in self.daemons if daemon.poll() is not None]
            if ended:
                name = ended[0].args[0]
                said = (self.folder / f"{name}.txt").read_text(errors="replace").strip()
                return f"{name} ended: {said[-500:]}"
            if "idle" in self.ask("sinfo", "--noheader", "--format=%T").stdout:
                return None
            time.sleep(0.1)
        said = (self.folder / "slurmctld.txt").read_text(errors="replace").strip()
        return f"the node does not come up: {said[-500:]}"

    def configure(self):
        for name in ("munge", "state", "spool"):
            (self.folder / name).mkdir(mode=0o700)
        key = self.folder / "munge" / "key"
        key.write_bytes(os.urandom(128))
        key.chmod(0o400)
        (self.folder / "cgroup.conf").write_text("CgroupAutomount=no\n", encoding="utf-8")
        controller, node = free_ports(2)
        host, user = socket.gethostname().split(".")[0], getpass.getuser()
        # cred_expire: a job that was queued again starts after this many seconds.
        self.config.write_text(
            f"""ClusterName=plunge
SlurmctldHost={host}(127.0.0.1)
SlurmctldPort={controller}
SlurmdPort={node}
SlurmUser={user}
SlurmdUser={user}
AuthType=auth/munge
AuthInfo=socket={self.folder}/munge/socket,cred_expire=5
CredType=cred/munge
MpiDefault=none
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerParameters=sched_interval=1,bf_interval=1
SlurmdParameters=config_overrides
MailProg=/bin/true
KillWait=5
StateSaveLocation={self.folder}/state
SlurmdSpoolDir={self.folder}/spool
SlurmctldPidFile={self.folder}/slurmctld.pid
SlurmdPidFile={self.folder}/slurmd.pid
NodeName=node NodeHostname={host} NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
""",
            encoding="utf-8",
        )

    def ask(self, *command, **more):
        return subprocess.run(
            [*map(str, command)], env=self.environment, capture_output=True, text=True,
            check=False, timeout=60, **more,
        )  # fmt: skip

    def stop(self):
        """Ends the daemons and whatever they started, which all bear SLURM_CONF."""
        if len(self.daemons) == 3 and all(daemon.poll() is None for daemon in self.daemons):
            self.ask("scancel", "--full", f"--user={getpass.getuser()}")
        for daemon in reversed(self.daemons):
            daemon.terminate()
            try:
                daemon.wait(10)
            except subprocess.TimeoutExpired:
                daemon.kill()
                daemon.wait()
        mark = f"SLURM_CONF={self.config}".encode()
        for process in pathlib.Path("/proc").iterdir():
            try:
                if process.name.isdigit() and int(process.name) != os.getpid():
                    if mark in (process / "environ").read_bytes().split(b"\0"):
                        os.kill(int(process.name), signal.SIGKILL)
            except OSError:
                pass


class Array(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        # A short path: that of a socket may have 107 characters.
        folder = tempfile.TemporaryDirectory(prefix="plunge-slurm-", ignore_cleanup_errors=True)
        cls.addClassCleanup(folder.cleanup)
        cls.cluster = Cluster(folder.name)
        cls.addClassCleanup(cls.cluster.stop)
        trouble = cls.cluster.start()
        if trouble:
            raise unittest.SkipTest("no Slurm here: " + trouble)

    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="plunge-array-")
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.out = self.folder / "out"

    def expected(self, plan):
        sweep_plan.finish(plan, self.folder / "plain")
        return sweep_plan.shards(self.folder / "plain")

    def submit(self, *arguments):
        done = self.cluster.ask("sbatch", "--parsable", *arguments, cwd=self.folder)
        self.assertEqual(0, done.returncode, done.stderr)
        return done.stdout.strip()

    def state(self, job):
        """States of all its tasks, in one line; empty when Slurm knows of none."""
        return self.cluster.ask("squeue", "--noheader", "--states=all", "--array",
                                f"--jobs={job}", "--format=%T").stdout.split()  # fmt: skip

    def wait(self, job, *final):
        for _ in range(6000):
            states = self.state(job)
            if states and all(state in final for state in states):
                return states
            time.sleep(0.1)
        self.fail(f"job {job} is still {self.state(job)}\n{self.said()}")

    def said(self):
        return "\n".join(path.read_text() for path in sorted(self.folder.glob("*.txt")))

    def test_an_array_and_its_merge_give_the_bytes_of_a_plain_run(self):
        plan = sweep_plan.write_plan(self.folder / "plan.toml")
        expected = self.expected(plan)
        job = self.submit("--array=1-3", SCRIPT, plan, self.out)
        merge = self.submit(f"--dependency=afterok:{job}", "--wrap",
                            f"{sweep_plan.PROGRAM} sweep merge out -o all.h5")  # fmt: skip
        self.assertEqual(["COMPLETED"] * 3, self.wait(job, "COMPLETED", "FAILED"), self.said())
        self.assertEqual(expected, sweep_plan.shards(self.out))
        self.assertEqual([], sweep_plan.leftovers(self.out))
        for part in (1, 2, 3):
            self.assertIn(f"part {part}/3 of a sweep in {self.out}", self.said())
        self.assertEqual(["COMPLETED"], self.wait(merge, "COMPLETED", "FAILED"), self.said())
        plain = self.folder / "plain.h5"
        subprocess.run([sweep_plan.PROGRAM, "sweep", "merge", self.folder / "plain", "-o", plain],
                       check=True, capture_output=True)  # fmt: skip
        self.assertEqual(plain.read_bytes(), (self.folder / "all.h5").read_bytes())

    def test_a_task_whose_time_is_up_is_queued_again_and_goes_on(self):
        # 640 shards of one ride: some seconds for one thread.
        plan = sweep_plan.write_plan(
            self.folder / "plan.toml", clicks="1..16", duration="1 s", shard=1
        )
        expected = self.expected(plan)
        job = self.submit("--array=1-1", SCRIPT, plan, self.out)
        while not self.out.exists() or len(sweep_plan.shards(self.out)) < 3:
            self.assertNotIn("FAILED", self.state(job), self.said())
            time.sleep(0.05)
        # What Slurm sends ahead of the limit, which itself can't be less than a minute.
        self.cluster.ask("scancel", "--batch", "--signal=USR1", f"{job}_1")
        log = self.folder / f"plunge-sweep-{job}_1.txt"
        for _ in range(200):
            if "the time is up" in log.read_text():
                break
            time.sleep(0.05)
        some = sweep_plan.shards(self.out)
        self.assertGreater(len(expected), len(some), "it was done before its time was up")
        self.assertIn(f"interrupted after {len(some)} of {len(expected)} rides", log.read_text())
        self.assertEqual(some, {name: expected[name] for name in some})
        self.assertEqual(["COMPLETED"], self.wait(job, "COMPLETED", "FAILED"), self.said())
        self.assertIn(f"{len(expected) - len(some)} ridden now", log.read_text())
        self.assertEqual(expected, sweep_plan.shards(self.out))

    def test_a_cancelled_task_keeps_its_shards_and_is_not_queued_again(self):
        plan = sweep_plan.write_long_plan(self.folder / "plan.toml")
        job = self.submit("--array=1-2", SCRIPT, plan, self.out)
        while not self.out.exists() or len(sweep_plan.shards(self.out)) < 3:
            self.assertNotIn("FAILED", self.state(job), self.said())
            time.sleep(0.05)
        self.cluster.ask("scancel", job)
        self.wait(job, "CANCELLED")
        self.assertNotIn("the time is up", self.said())
        status = subprocess.run([sweep_plan.PROGRAM, "sweep", "status", self.out],
                                capture_output=True, text=True, check=True)  # fmt: skip
        self.assertIn("nobody works on it now", status.stdout)

    def test_a_plan_that_is_wrong_fails_the_task(self):
        job = self.submit("--array=1-1", SCRIPT, "none.toml", "out")
        self.assertEqual(["FAILED"], self.wait(job, "COMPLETED", "FAILED"))
        self.assertIn("none.toml: does not exist", self.said())


class Refusals(unittest.TestCase):
    """What the script says by itself, with the variables that Slurm would set."""

    def refusal(self, *arguments, **variables):
        environment = {name: value for name, value in os.environ.items()
                       if not name.startswith("SLURM_")}  # fmt: skip
        done = subprocess.run(
            ["bash", SCRIPT, *arguments], env={**environment, **variables},
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        self.assertEqual((2, ""), (done.returncode, done.stdout), done.stderr)
        return done.stderr

    def array(self, least, most, count):
        return {"SLURM_ARRAY_TASK_ID": str(most), "SLURM_ARRAY_TASK_MIN": str(least),
                "SLURM_ARRAY_TASK_MAX": str(most), "SLURM_ARRAY_TASK_COUNT": str(count)}  # fmt: skip

    def test_a_job_that_is_no_array_is_refused(self):
        self.assertIn("usage: sbatch --array=1-N", self.refusal("plan.toml"))
        self.assertIn("is a job array", self.refusal("plan.toml", "out"))

    def test_an_array_whose_numbers_are_no_parts_is_refused(self):
        for least, most, count in ((0, 3, 4), (2, 5, 4), (1, 7, 4)):
            said = self.refusal("plan.toml", "out", **self.array(least, most, count))
            self.assertIn("the array must be 1-N without gaps", said)

    def test_a_program_that_is_not_there_is_named(self):
        said = self.refusal("plan.toml", "out", PLUNGE="none/plunge", **self.array(1, 4, 4))
        self.assertIn("there is no program none/plunge on ", said)


if __name__ == "__main__":
    program = unittest.main(exit=False)
    for _, reason in program.result.skipped:
        print(f"skipped: {reason}", file=sys.stderr)
    if not program.result.wasSuccessful():
        sys.exit(1)
    sys.exit(SKIPPED if program.result.skipped else 0)
