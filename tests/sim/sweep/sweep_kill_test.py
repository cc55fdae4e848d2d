"""A sweep that is killed at any moment goes on to the same bytes as one that was left alone.

Needs PLUNGE_PROGRAM, the built program. PLUNGE_KILLS is how often it is killed (25)."""

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


class Kills(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="plunge-kills-")
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.plan = sweep_plan.write_plan(self.folder / "plan.toml")

    def test_killed_sweeps_end_in_the_same_bytes(self):
        began = time.monotonic()
        sweep_plan.finish(self.plan, self.folder / "undisturbed", "--threads", 3)
        whole = time.monotonic() - began
        expected = sweep_plan.shards(self.folder / "undisturbed")
        self.assertEqual(80, len(expected))  # 320 rides in shards of 4
        self.assertEqual([], sweep_plan.leftovers(self.folder / "undisturbed"))

        dice = random.Random(20_261)
        out = self.folder / "killed"
        kills = finished = mid_run = resumed = 0
        while kills < KILLS:
            # Sometimes two at once, of which one or both are killed.
            team = [
                sweep_plan.start(self.plan, out, "--threads", dice.randint(1, 4))
                for _ in range(dice.choice((1, 1, 2)))
            ]
            time.sleep(dice.uniform(0.0, 0.4 * whole))
            for process in team[: dice.randint(1, len(team))]:
                if process.poll() is None:
                    process.send_signal(signal.SIGKILL)
                    kills += 1
            for process in team:
                _, complaint = process.communicate()
                self.assertIn(process.returncode, (0, -signal.SIGKILL), complaint)
                self.assertNotIn("set aside", complaint)
            there = sweep_plan.shards(out) if out.exists() else {}
            self.assertEqual([], [name for name in there if there[name] != expected[name]])
            mid_run += 0 < len(there) < len(expected)
            if there == expected:
                finished += 1
                self.judge(out, expected, dice)
                shutil.rmtree(out)
            else:
                resumed += 1
        self.judge(out, expected, dice)
        if os.environ.get("PLUNGE_SHOW"):
            print(f"{kills} kills, {mid_run} times part of the shards was there, "
                  f"{finished} sweeps ended between, undisturbed {whole:.2f} s")  # fmt: skip
        self.assertGreater(mid_run, 0, "no kill hit a sweep between its first and last shard")
        self.assertGreater(resumed, 0)

    def judge(self, out, expected, dice):
        sweep_plan.finish(self.plan, out, "--threads", dice.randint(1, 4))
        self.assertEqual(expected, sweep_plan.shards(out))
        self.assertEqual([], sweep_plan.leftovers(out))

    def test_a_status_after_a_kill_knows_that_nobody_works(self):
        plan = sweep_plan.write_long_plan(self.folder / "long.toml")
        out = self.folder / "out"
        process = sweep_plan.start(plan, out, "--threads", 1)
        worker = out / "work" / "worker-0.txt"
        while not worker.exists() and process.poll() is None:
            time.sleep(0.02)
        status = [sweep_plan.PROGRAM, "sweep", "status", str(out)]
        running = subprocess.run(status, capture_output=True, text=True, check=True).stdout
        process.kill()
        process.communicate()
        self.assertIn(f"running: process {process.pid} on ", running)
        after = subprocess.run(status, capture_output=True, text=True, check=True).stdout
        self.assertTrue(worker.exists())
        self.assertNotIn("running", after)
        self.assertIn(f"nobody works on it now; go on with: plunge sweep {out}", after)


if __name__ == "__main__":
    unittest.main()
