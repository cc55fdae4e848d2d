"""What is killed while it gathers or merges loses nothing, and the next time ends in the same bytes.

Needs PLUNGE_PROGRAM, the built program. PLUNGE_KILLS is how often each is killed (25)."""

import sys
import os
import pathlib
import random
import shutil
import signal
import subprocess
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

KILLS = int(os.environ.get("PLUNGE_KILLS", "25"))
PARTS = 3


class Kills(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-gather-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        self.dice = random.Random(20_262)
        plan = sweep_plan.write_plan(self.folder / "plan.toml")
        sweep_plan.finish(plan, self.folder / "alone")
        self.expected = sweep_plan.shards(self.folder / "alone")
        self.assertEqual(80, len(self.expected))
        self.parts = [self.folder / f"part{i}" for i in range(1, PARTS + 1)]
        for i, part in enumerate(self.parts, 1):
            sweep_plan.finish(plan, part, "--shard", f"{i}/{PARTS}")

    def start(self, *arguments):
        return subprocess.Popen(
            [sweep_plan.PROGRAM, "sweep", *map(str, arguments)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip

    def finish(self, *arguments):
        process = self.start(*arguments)
        begun = time.monotonic()
        _, complaint = process.communicate()
        self.assertEqual(0, process.returncode, complaint)
        return time.monotonic() - begun

    def kill(self, whole, *arguments):
        """Kills it at some moment; true if it was still at work."""
        process = self.start(*arguments)
        time.sleep(self.dice.uniform(0.0, 1.2 * whole))
        process.kill()
        _, complaint = process.communicate()
        self.assertIn(process.returncode, (0, -signal.SIGKILL), complaint)
        return process.returncode != 0

    def test_a_killed_gather_goes_on_to_the_same_bytes(self):
        whole = self.finish("gather", self.folder / "undisturbed", *self.parts)
        self.assertEqual(self.expected, sweep_plan.shards(self.folder / "undisturbed"))
        out = self.folder / "killed"
        kills = mid_run = 0
        while kills < KILLS:
            kills += self.kill(whole, "gather", out, *self.parts)
            there = sweep_plan.shards(out) if out.exists() else {}
            self.assertLessEqual(there.items(), self.expected.items())
            mid_run += 0 < len(there) < len(self.expected)
            if there == self.expected or self.dice.random() < 0.2:
                self.finish("gather", out, *self.parts)
                self.assertEqual(self.expected, sweep_plan.shards(out))
                self.assertEqual([], sweep_plan.leftovers(out))
                shutil.rmtree(out)
        self.assertGreater(mid_run, 0, "no kill hit a gather between its first and last shard")
        for part in self.parts:
            self.assertLessEqual(sweep_plan.shards(part).items(), self.expected.items())

    def test_a_killed_merge_leaves_the_old_file_or_the_new_one(self):
        target = self.folder / "all.h5"
        whole = self.finish("merge", self.folder / "alone", "-o", target, "--threads", 1)
        new = target.read_bytes()
        kills = old_left = 0
        old = b"the old one"
        while kills < KILLS:
            target.unlink()
            target.write_bytes(old)
            kills += self.kill(whole, "merge", self.folder / "alone", "-o", target,
                               "--threads", self.dice.randint(1, 4), "--replace")  # fmt: skip
            self.assertIn(target.read_bytes(), (old, new))
            old_left += target.read_bytes() == old
        self.assertGreater(old_left, 0)
        self.finish("merge", self.folder / "alone", "-o", target, "--threads", 3, "--replace")
        self.assertEqual(new, target.read_bytes())
        self.assertEqual(self.expected, sweep_plan.shards(self.folder / "alone"))


if __name__ == "__main__":
    unittest.main()
