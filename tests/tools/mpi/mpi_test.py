"""The same sweep under mpirun, with any number of ranks and with one of them killed.

Needs PLUNGE_PROGRAM, the built program. Without mpirun, or plunge_mpi beside the program, all is
skipped (exit code 77)."""

import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

PROGRAM = str(pathlib.Path(sweep_plan.PROGRAM).with_name("plunge_mpi"))
SKIPPED = 77  # as CMakeLists.txt has it
HUNG = 600  # seconds, after which it would never end

# More ranks than cores, and as root, where Open MPI wants to be asked twice. Open MPI leaks.
ENVIRONMENT = {
    **os.environ,
    "OMPI_ALLOW_RUN_AS_ROOT": "1",
    "OMPI_ALLOW_RUN_AS_ROOT_CONFIRM": "1",
    "ASAN_OPTIONS": "detect_leaks=0",
}


def start(ranks, *arguments):
    return subprocess.Popen(
        ["mpirun", "--oversubscribe", "-n", str(ranks), PROGRAM, *map(str, arguments)],
        env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def run(ranks, *arguments):
    process = start(ranks, *arguments)
    out, err = process.communicate(timeout=HUNG)
    return subprocess.CompletedProcess(process.args, process.returncode, out, err)


def children(process):
    """Process numbers of the ranks of an mpirun, in no order."""
    found = []
    for status in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            # "number (name) state parent ...", where a name may hold anything
            name, rest = status.read_text().rsplit(")", 1)
        except OSError:
            continue
        if name.endswith("(plunge_mpi") and int(rest.split()[1]) == process.pid:
            found.append(int(status.parent.name))
    return found


@unittest.skipIf(shutil.which("mpirun") is None, "mpirun is not installed")
@unittest.skipUnless(os.path.exists(PROGRAM), "plunge_mpi was not built: there was no MPI")
class Mpi(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory(prefix="plunge-mpi-plan-")
        cls.addClassCleanup(folder.cleanup)
        # 640 shards of one ride: a second or two.
        cls.plan = sweep_plan.write_plan(
            pathlib.Path(folder.name) / "plan.toml", clicks="1..16", duration="1 s", shard=1
        )
        undisturbed = pathlib.Path(folder.name) / "undisturbed"
        sweep_plan.finish(cls.plan, undisturbed)
        cls.expected = sweep_plan.shards(undisturbed)

    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="plunge-mpi-")
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.out = self.folder / "out"

    def when_some_are_done(self, process, before=0):
        sweep_plan.when_some_are_done(self, process, self.out, before + 20)

    def test_any_number_of_ranks_makes_the_bytes_of_a_plain_run(self):
        plan = sweep_plan.write_plan(self.folder / "small.toml", duration="1 s", shard=8)
        sweep_plan.finish(plan, self.folder / "undisturbed")
        expected = sweep_plan.shards(self.folder / "undisturbed")
        self.assertEqual(40, len(expected))
        for ranks in (1, 2, 4):
            done = run(ranks, plan, "-o", self.out)
            self.assertEqual((0, ""), (done.returncode, done.stderr))
            self.assertIn("320 of 320 rides done, 40 of 40 shards", done.stdout)
            self.assertIn("320 ridden now", done.stdout)
            self.assertEqual(1, done.stdout.count("none failed"))  # said by one rank
            self.assertEqual(expected, sweep_plan.shards(self.out))
            self.assertEqual([], sweep_plan.leftovers(self.out))
            shutil.rmtree(self.out)

    def test_a_standard_output_that_takes_nothing_is_told_and_loses_nothing(self):
        plan = sweep_plan.write_plan(self.folder / "small.toml", duration="1 s", shard=8)
        sweep_plan.finish(plan, self.folder / "undisturbed")
        # One rank that needs no mpirun, which would stand between.
        for redirected in (">/dev/full", ">&-", "<&- >&- 2>&-"):
            done = subprocess.run(
                ["sh", "-c", f'"$0" "$@" {redirected}', PROGRAM, str(plan), "-o", str(self.out)],
                env=ENVIRONMENT, capture_output=True, text=True, check=False, timeout=HUNG,
            )  # fmt: skip
            self.assertEqual(1, done.returncode, done.stderr)
            if "2>" not in redirected:
                self.assertIn("cannot write to the standard output", done.stderr)
            expected = sweep_plan.shards(self.folder / "undisturbed")
            self.assertEqual(expected, sweep_plan.shards(self.out))
            shutil.rmtree(self.out)

    def test_a_rank_that_is_killed_ends_the_job_and_the_same_command_goes_on(self):
        there = 0
        for killed in (0, 1):  # the leader, another
            process = start(3, self.plan, "-o", self.out)
            self.when_some_are_done(process, there)
            ranks = sorted(children(process))  # mpirun starts them in order
            self.assertEqual(3, len(ranks))
            os.kill(ranks[killed], signal.SIGKILL)
            _, complaint = process.communicate(timeout=HUNG)
            self.assertEqual(128 + signal.SIGKILL, process.returncode, complaint)
            self.assertIn("exited on signal 9", complaint)
            some = sweep_plan.shards(self.out)
            self.assertEqual(some, {name: self.expected[name] for name in some})
            self.assertTrue(there < len(some) < len(self.expected), len(some))
            there = len(some)
        done = run(4, self.plan, "-o", self.out)
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertIn(f"{len(self.expected) - there} ridden now", done.stdout)
        self.assertEqual(self.expected, sweep_plan.shards(self.out))
        self.assertEqual([], sweep_plan.leftovers(self.out))

    def test_a_sweep_goes_on_with_and_without_mpi(self):
        process = start(2, self.plan, "-o", self.out)
        self.when_some_are_done(process)
        process.send_signal(signal.SIGUSR1)  # mpirun passes it on
        out, complaint = process.communicate(timeout=HUNG)
        self.assertEqual(1, process.returncode, complaint)
        some = len(sweep_plan.shards(self.out))
        self.assertIn(f"{some} of {len(self.expected)} rides done", out)
        self.assertIn(f"interrupted after {some} of {len(self.expected)} rides; they are kept, go on "
                      f"with: mpirun -n 2 plunge_mpi {self.plan} -o {self.out}\n",
                      complaint)  # fmt: skip

        plain = sweep_plan.start(self.plan, self.out, "--threads", 1)
        self.when_some_are_done(plain, some)
        plain.send_signal(signal.SIGTERM)
        self.assertIn("interrupted after ", plain.communicate()[1])
        more = len(sweep_plan.shards(self.out))
        self.assertTrue(some < more < len(self.expected), more)

        # And both at once.
        plain = sweep_plan.start(self.plan, self.out, "--threads", 1)
        done = run(2, self.plan, "-o", self.out, "--json")
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertTrue(json.loads(done.stdout)["sweep"]["finished"])
        plain.communicate()
        self.assertEqual(0, plain.returncode)
        self.assertEqual(self.expected, sweep_plan.shards(self.out))

    def complaints(self, code, *arguments):
        """The lines that the ranks said, without mpirun's own."""
        done = run(4, *arguments)
        self.assertEqual(code, done.returncode, done.stderr)
        return [line for line in done.stderr.splitlines() if line.startswith("plunge: ")]

    def test_what_is_wrong_is_said_once(self):
        said = self.complaints(2, "none.toml", "-o", self.out)
        self.assertEqual(["plunge: none.toml: does not exist"], said)
        said = self.complaints(2, self.plan)
        self.assertEqual(["plunge: plunge_mpi needs -o DIR: plunge_mpi PLAN -o DIR [OPTION ...]; try: "
                          "plunge_mpi --help"], said)  # fmt: skip
        said = self.complaints(2, self.plan, "-o", self.out, "--lanes", "wide")
        self.assertEqual(1, len(said))
        self.assertFalse(self.out.exists())
        other = sweep_plan.write_plan(self.folder / "other.toml")
        sweep_plan.finish(other, self.out)
        said = self.complaints(2, self.plan, "-o", self.out)
        self.assertEqual(1, sum("holds a sweep of another plan" in line for line in said))
        self.assertEqual(len(set(said)), len(said))

    def test_a_full_disk_is_said_once_and_keeps_what_is_done(self):
        disk = self.folder / "disk"
        disk.mkdir()
        # 48 shards of about 12 kB and what is around them.
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "none", disk],
                                 capture_output=True, check=False)  # fmt: skip
        if mounted.returncode != 0:
            raise unittest.SkipTest("no right to mount")
        self.addCleanup(subprocess.run, ["umount", disk], check=False)
        said = self.complaints(1, self.plan, "-o", disk / "out")
        self.assertEqual(1, sum("No space left on device" in line for line in said), said)
        some = sweep_plan.shards(disk / "out")
        self.assertGreater(len(some), 0)
        self.assertEqual(some, {name: self.expected[name] for name in some})
        shutil.copytree(disk / "out", self.out)
        done = run(4, self.plan, "-o", self.out)
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertEqual(self.expected, sweep_plan.shards(self.out))


if __name__ == "__main__":
    program = unittest.main(exit=False)
    for _, reason in program.result.skipped:
        print(f"skipped: {reason}", file=sys.stderr)
    if not program.result.wasSuccessful():
        sys.exit(1)
    sys.exit(SKIPPED if len(program.result.skipped) == program.result.testsRun else 0)
