"""A `ride` or `sweep merge` that is killed at any moment leaves the old file or the new, and no part.

Needs PLUNGE_PROGRAM, the built program. PLUNGE_KILLS is how often each is killed (25)."""

import hashlib
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

KILLS = int(os.environ.get("PLUNGE_KILLS", "25"))


def parts_in(folder):
    return [path.name for path in folder.iterdir() if path.name.startswith(".")]


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else None


def knows_files_without_names(folder):
    try:
        os.close(os.open(folder, os.O_TMPFILE | os.O_RDWR, 0o600))
        return True
    except OSError:
        return False


class Kills(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-kills-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        self.out = self.folder / "out"
        self.file = self.out / "results.h5"
        self.ride = ["ride", sweep_plan.SCENE, "--vary", "fork.spacers=0..4", "-o", self.file]
        self.merge = ["sweep", "merge", self.folder / "sweep", "-o", self.file]

    def start(self, words):
        return subprocess.Popen([sweep_plan.PROGRAM, *map(str, words)],
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE)  # fmt: skip

    def finish(self, words):
        process = self.start(words)
        _, complaint = process.communicate()
        self.assertEqual(0, process.returncode, complaint)
        return digest(self.file)

    def judge(self, words):
        dice = random.Random(20_263)
        self.out.mkdir()
        began = time.monotonic()
        new = self.finish(words)
        whole = time.monotonic() - began
        old = self.finish(["ride", sweep_plan.SCENE, "--set", "ride.duration=0.1s", "-o", self.file])
        shutil.copy(self.file, self.folder / "old.h5")
        left = killed = replaced = 0
        for kill in range(KILLS):
            fresh = kill % 2 == 0
            self.file.unlink(missing_ok=True)
            if not fresh:
                shutil.copy(self.folder / "old.h5", self.file)
            process = self.start(words)
            time.sleep(dice.uniform(0.0, 1.2 * whole))
            process.send_signal(signal.SIGKILL)
            process.communicate()
            killed += process.returncode == -signal.SIGKILL
            replaced += digest(self.file) == new
            self.assertIn(digest(self.file), (None if fresh else old, new))
            left += len(parts_in(self.out))
        if os.environ.get("PLUNGE_SHOW"):
            print(f"{words[0]}: {killed} of {KILLS} killed, {replaced} had written by then; "
                  f"parts left: {left}")  # fmt: skip
        self.assertGreater(killed, 0)
        # A part has a name between two calls alone.
        self.assertLessEqual(left, 2 if knows_files_without_names(self.out) else KILLS)
        self.assertEqual(new, self.finish(words))
        self.assertEqual([], parts_in(self.out))

    def test_rides(self):
        self.judge(self.ride)

    def test_merges(self):
        plan = sweep_plan.write_plan(self.folder / "plan.toml")
        sweep_plan.finish(plan, self.folder / "sweep")
        self.judge(self.merge)

    def test_what_a_killed_process_left_is_removed_by_the_next_and_what_one_holds_stays(self):
        self.out.mkdir()
        (self.out / ".plunge-1-0.part").write_bytes(bytes(1000))
        (self.out / ".mine.part").write_bytes(b"mine")
        self.finish(self.ride)
        self.assertEqual([".mine.part"], parts_in(self.out))

    def test_the_worst_moment(self):
        """Killed as it asks for the rename, when the whole file has a hidden name."""
        look = ["strace", "-f", "-o", os.devnull, "-e", "trace=renameat"]
        try:
            if subprocess.run([*look, "true"], capture_output=True, check=False).returncode != 0:
                self.skipTest("strace may not look at other programs here")
        except FileNotFoundError:
            self.skipTest("strace is not here")
        self.out.mkdir()
        new = self.finish(self.ride)
        size = self.file.stat().st_size
        self.file.write_bytes(b"")
        words = [*look, "-e", "inject=renameat:signal=KILL", sweep_plan.PROGRAM, *map(str, self.ride)]
        done = subprocess.run(words, capture_output=True, check=False,
                              env={**os.environ, "ASAN_OPTIONS": "detect_leaks=0"})  # fmt: skip
        self.assertNotEqual(0, done.returncode)
        left = parts_in(self.out)
        # The signal may come before the call or after it.
        self.assertIn((len(left), digest(self.file) == new), ((1, False), (0, True)))
        for name in left:
            self.assertEqual(size, (self.out / name).stat().st_size)
        self.assertEqual(new, self.finish(self.ride))
        self.assertEqual([], parts_in(self.out))


if __name__ == "__main__":
    unittest.main()
