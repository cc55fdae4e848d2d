"""What was reported as done is there after a power cut, byte for byte.

An ext4 file system on a loop device is shut down without a flush of its journal, at a random moment
or right after a command has ended; what was not on the disk is then lost. That takes root and loop
devices: where they are missing the test says so and is skipped (77). The order of calls that this
follows from is tested without (durability_test.py).

Needs PLUNGE_PROGRAM, the built program. PLUNGE_CUTS is how often the power is cut (8)."""

import fcntl
import hashlib
import os
import pathlib
import random
import struct
import subprocess
import sys
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

CUTS = int(os.environ.get("PLUNGE_CUTS", "8"))
SHUT_DOWN = 0x8004587D  # EXT4_IOC_SHUTDOWN
WITHOUT_FLUSH = 2
VARIANTS = range(5)  # spacer counts, so that a file is replaced by another


def system(*words):
    try:
        done = subprocess.run(list(map(str, words)), capture_output=True, text=True, check=False)
    except FileNotFoundError:
        return 127, f"{words[0]} is not here"
    return done.returncode, done.stdout + done.stderr


class Disk:
    """A file system that loses what is not written to it when its power is cut."""

    def __init__(self, scratch):
        self.image, self.path = scratch / "image", scratch / "disk"
        self.path.mkdir()
        with open(self.image, "wb") as file:
            file.truncate(64 << 20)
        code, said = system("mkfs.ext4", "-q", "-F", "-E", "lazy_itable_init=0", self.image)
        if code == 0:
            code, said = system("mount", "-o", "loop", self.image, self.path)
        self.why_not = said.strip() if code != 0 else ""

    def cut(self):
        folder = os.open(self.path, os.O_RDONLY)
        fcntl.ioctl(folder, SHUT_DOWN, struct.pack("I", WITHOUT_FLUSH))
        os.close(folder)

    def begin_again(self):
        self.leave()
        code, said = system("e2fsck", "-fy", self.image)
        assert code in (0, 1), said  # 1: mended, as after any cut
        code, said = system("mount", "-o", "loop", self.image, self.path)
        assert code == 0, said

    def leave(self):
        for _ in range(100):
            if system("umount", self.path)[0] == 0 or not os.path.ismount(self.path):
                return
            time.sleep(0.05)


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else None


class PowerCuts(unittest.TestCase):
    disk = None  # set below, where there is one
    scratch = None

    def setUp(self):
        self.plan = sweep_plan.write_plan(self.scratch / "plan.toml", clicks="2,4", step="15 psi", most="90 psi")
        self.reference = self.scratch / "reference"
        self.reference.mkdir()
        sweep_plan.finish(self.plan, self.reference / "sweep")
        self.shards = sweep_plan.shards(self.reference / "sweep")
        self.dice = random.Random(20_262)
        self.promised = {}  # path: what may be there
        self.kinds = (self.ride, self.plot, self.merge, self.sweep)
        self.expected = {}
        for kind in (self.ride, self.plot, self.merge):
            for variant in VARIANTS:
                words, name = kind(self.reference, variant)
                self.expected[kind.__name__, variant] = self.finish(words, self.reference / name)

    def finish(self, words, path):
        subprocess.run([sweep_plan.PROGRAM, *map(str, words)], check=True, capture_output=True)
        return digest(path)

    # Each: a command that writes into a folder, and what it writes there.

    def ride(self, folder, variant):
        return (["ride", sweep_plan.SCENE, "--set", f"fork.spacers={variant}", "-o",
                 folder / "ride" / "r.h5"], "ride/r.h5")  # fmt: skip

    def plot(self, folder, variant):
        return (["curve", sweep_plan.SCENE, "--set", f"fork.spacers={variant}", "--plot",
                 folder / "p.svg"], "p.svg")  # fmt: skip

    def merge(self, folder, _):
        return ["sweep", "merge", self.reference / "sweep", "-o", folder / "m.h5"], "m.h5"

    def sweep(self, folder, _):
        return ["sweep", self.plan, "-o", folder / "sweep", "--threads", 2], ""

    def test_what_was_reported_is_there(self):
        took = {}
        done = forgotten = midway = 0
        for number in range(CUTS):
            kind = self.kinds[number % len(self.kinds)]
            variant = self.dice.choice(VARIANTS)
            # New folders and such as hold an older file.
            folder = self.disk.path / f"f{self.dice.randint(0, number // 4)}"
            words, name = kind(folder, variant)
            began = time.monotonic()
            process = subprocess.Popen([sweep_plan.PROGRAM, *map(str, words)],
                                       stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)  # fmt: skip
            if kind in took and self.dice.random() < 0.5:
                time.sleep(self.dice.uniform(0.0, took[kind]))
            else:
                process.wait()
                took[kind] = time.monotonic() - began
            ended = process.poll()
            # Never synced: shows that a cut does cost something.
            (self.disk.path / f"unsynced-{number}").write_text("x", encoding="ascii")
            self.disk.cut()
            process.kill()
            complaint = process.communicate()[1]
            self.assertIn(ended, (0, None), complaint)
            self.disk.begin_again()
            done += ended == 0
            midway += ended is None
            forgotten += not (self.disk.path / f"unsynced-{number}").exists()
            self.note(kind, variant, folder, name, ended)
            self.judge()
        if os.environ.get("PLUNGE_SHOW"):
            print(f"{CUTS} cuts, {done} right after a command had ended, {midway} in the middle; "
                  f"{len(self.promised)} files were promised and are there; "
                  f"{forgotten} of {CUTS} unsynced files were lost")  # fmt: skip
        self.assertGreater(done, 0)
        self.assertGreater(forgotten, 0, "no cut lost anything")

    def note(self, kind, variant, folder, name, ended):
        if kind == self.sweep:
            if ended != 0:  # it goes on, and to the same bytes
                again = sweep_plan.finish(self.plan, folder / "sweep")
                self.assertNotIn("set aside", again.stderr)
            for shard, bytes_of_it in self.shards.items():
                self.promised[folder / "sweep" / shard] = {bytes_of_it}
            return
        new = self.expected[kind.__name__, variant]
        before = self.promised.get(folder / name, {None})
        if ended == 0:
            self.promised[folder / name] = {new}
        else:
            self.promised[folder / name] = {digest(folder / name)}
            self.assertIn(digest(folder / name), before | {new}, "neither the old nor the new")

    def judge(self):
        for path, allowed in self.promised.items():
            self.assertIn(digest(path), allowed, path)
        self.assertEqual([], list(self.disk.path.rglob(".plunge-*")))


def begin():
    scratch = pathlib.Path(tempfile.mkdtemp(prefix="plunge-cuts-"))
    PowerCuts.scratch = scratch
    PowerCuts.disk = Disk(scratch)
    return scratch


if __name__ == "__main__":
    if os.geteuid() != 0:
        print("only root may mount a disk whose power can be cut: not tested")
        sys.exit(77)
    scratch_folder = begin()
    try:
        if PowerCuts.disk.why_not:
            print(f"no disk whose power can be cut: {PowerCuts.disk.why_not}: not tested")
            sys.exit(77)
        unittest.main(exit=False, argv=sys.argv[:1]).result.wasSuccessful() or sys.exit(1)
    finally:
        PowerCuts.disk.leave()
        system("rm", "-rf", "--one-file-system", scratch_folder)
