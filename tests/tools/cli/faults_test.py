"""Bad input is refused with place, value and rule; nothing is lost, nothing is left behind.

Needs PLUNGE_PROGRAM, the built program. tests/faults/good/ holds a scene that rides, and each table
[[case]] of tests/faults/*.toml breaks it in one way:

  name      what is wrong
  file      the file that is edited: `old`, found once, becomes `new`; or `text` is the whole file,
            or `bytes` in hexadecimal. @ in `new` or `text` stands for `repeat` = [text, times]. The
            sign § marks the place that the message must name and is taken out.
  run       commands; left out: those that read the file. Verbs that write get outputs that exist.
  exit      2, the input is wrong, unless it says 1, the run failed, or 0, nothing is wrong
  says      what the message must hold

Messages go to the standard error stream, those of `check` to the standard output. Every command
runs in a fresh copy of good/ and, unless it succeeds, must leave every byte there as it was."""

import ctypes
import json
import os
import pathlib
import random
import re
import resource
import shlex
import shutil
import signal
import subprocess
import tempfile
import tomllib
import unittest

HERE = pathlib.Path(__file__).resolve().parents[2] / "faults"
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
MARK = "§"

# Who reads a file.
READERS = {
    "scene.toml": ["check scene.toml", "ride scene.toml", "curve scene.toml", "modes scene.toml"],
    "fork.toml": ["check fork.toml", "curve fork.toml", "ride scene.toml"],
    "hydraulic.toml": ["check hydraulic.toml", "curve hydraulic.toml"],
    "rider.toml": ["check rider.toml", "curve fork.toml --rider rider.toml", "ride scene.toml"],
    "bike.toml": ["check bike.toml", "modes scene.toml"],
    "terrain.toml": ["check terrain.toml", "ride scene.toml"],
    "ground.csv": ["check terrain.toml", "ride scene.toml"],
    "plan.toml": ["check plan.toml"],
    "family.toml": ["check family.toml", "curve family.toml"],
    "service.toml": ["check service.toml", "sheet service.toml --rider rider.toml --json"],
    "readings.toml": ["check readings.toml", "fit fork.toml readings.toml"],
    "brief.toml": ["check brief.toml", "suggest brief.toml"],
}

# What no message holds: the insides of the program.
INSIDES = re.compile(
    r"terminate called|std::|what\(\)|basic_string|vector::|bad_alloc|Assertion|Sanitizer"
    r"|runtime error|Traceback|\.[ch]pp\b|errno|HDF5-DIAG|\b-?nan\b|(?<!\d)\binf\b"
)


def run(arguments, folder, **more):
    environment = {**os.environ, "LC_ALL": "C.UTF-8"}
    return subprocess.run(
        [PROGRAM, *arguments], cwd=folder, env=environment, capture_output=True, timeout=120,
        check=False, **more,
    )  # fmt: skip


def contents(folder):
    """Every entry below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def place_of(name, text):
    """The text without its mark, and the place "file:line:column:" that the mark stood at."""
    if MARK not in text:
        return text, None
    before = text.split(MARK)[0].split("\n")
    return text.replace(MARK, "", 1), f"{name}:{len(before)}:{len(before[-1]) + 1}:"


def with_outputs(arguments):
    """Outputs that are there already, for the verbs that write some."""
    verb = arguments[0] if arguments else ""
    if verb == "ride" and "-o" not in arguments:
        arguments = [verb, "-o", "old.h5", *arguments[1:]]
    if verb in ("ride", "curve", "compare") and "--plot" not in arguments:
        arguments = [verb, "--plot", "old.svg", *arguments[1:]]
    if verb in ("ride", "curve", "compare"):
        arguments = [verb, "--replace", *arguments[1:]]
    return arguments


class Corpus(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.scratch = tempfile.TemporaryDirectory(prefix="plunge-faults-")
        cls.addClassCleanup(cls.scratch.cleanup)
        cls.good = pathlib.Path(cls.scratch.name) / "good"
        shutil.copytree(HERE / "good", cls.good)
        made = run(["ride", "scene.toml", "-o", "ride.h5"], cls.good)
        assert made.returncode == 0, made.stderr.decode()
        (cls.good / "old.h5").write_bytes(b"results of long ago")
        (cls.good / "old.svg").write_bytes(b"a plot of long ago")
        (cls.good / "note.txt").write_text("no results at all\n")
        (cls.good / "folder").mkdir()
        whole = (cls.good / "ride.h5").read_bytes()
        (cls.good / "cut.h5").write_bytes(whole[: len(whole) // 2])
        (cls.good / "unsealed.h5").write_bytes(whole[:-1])
        # Rides by spacers whose scenes say that their fork has a coil; the file is not sealed.
        made = run(["ride", "scene.toml", "--vary", "fork.spacers=0..1", "-o", "two.h5"], cls.good)
        assert made.returncode == 0, made.stderr.decode()
        two = (cls.good / "two.h5").read_bytes()
        assert two.count(b'spring = "air"') == 2
        two = two.replace(b'spring = "air"', b'spring= "coil"')
        (cls.good / "unread.h5").write_bytes(two[: two.rindex(b"plunge check sum ")])
        (cls.good / "two.h5").unlink()
        middle = len(whole) // 2
        flipped = bytes([whole[middle] ^ 1])
        (cls.good / "flipped.h5").write_bytes(whole[:middle] + flipped + whole[middle + 1 :])
        for command in (["sweep", "plan.toml", "-o", "sweep"],
                        ["sweep", "merge", "sweep", "-o", "other.h5"]):  # fmt: skip
            made = run(command, cls.good)
            assert made.returncode == 0, made.stderr.decode()
        shutil.rmtree(cls.good / "sweep")

    def fresh(self):
        folder = pathlib.Path(tempfile.mkdtemp(dir=self.scratch.name))
        shutil.copytree(self.good, folder, dirs_exist_ok=True)
        self.addCleanup(shutil.rmtree, folder)
        return folder

    def broken(self, folder, case):
        """Breaks the file as the case says; the place that the message must name, or None."""
        if "file" not in case:
            return None
        name = case["file"]
        path = folder / name
        if "bytes" in case:
            path.write_bytes(bytes.fromhex(case["bytes"]))
            return None
        if "text" in case:
            text = case["text"]
        else:
            good = path.read_text(encoding="utf-8")
            self.assertEqual(1, good.count(case["old"]), f"{case['old']!r} in {name}")
            text = good.replace(case["old"], case["new"])
        if "repeat" in case:
            text = text.replace("@", case["repeat"][0] * case["repeat"][1])
        text, place = place_of(name, text)
        path.write_text(text, encoding="utf-8", newline="")
        return place

    def judge_message(self, case, arguments, done):
        out, error = done.stdout.decode("utf-8"), done.stderr.decode("utf-8")
        told = out if arguments[:1] == ["check"] and done.returncode != 1 and not error else error
        self.assertEqual(case.get("exit", 2), done.returncode, out[-2000:] + error)
        said_back = str(case.get("new", "")) + str(case.get("text", "")) + " ".join(arguments)
        for found in INSIDES.finditer(told):
            if found[0] not in said_back:
                self.fail(f"{found[0]!r} in the message:\n{told}")
        if done.returncode == 0:
            return told
        self.assertTrue(told.strip(), "no message")
        if told is error:
            for line in told.splitlines():
                self.assertTrue(line.startswith("plunge: "), line)
        if done.returncode == 2 and told is error:
            self.assertEqual("", out, "results of a command whose input is wrong")
        for words in case.get("says", []):
            self.assertIn(words, told)
        return told

    def judge_case(self, case):
        commands = case.get("run") or READERS[case["file"]]
        folder = self.fresh()
        place = self.broken(folder, case)
        before = contents(folder)
        for command in commands:
            with self.subTest(case=case["name"], command=command):
                arguments = with_outputs(shlex.split(command))
                told = self.judge_message(case, arguments, run(arguments, folder))
                if place:
                    self.assertIn(place, told)
                if os.environ.get("PLUNGE_SHOW"):
                    print(f"{command:24} {told.strip()}")
                if case.get("exit", 2) != 0:
                    after = contents(folder)
                    self.assertEqual(sorted(before), sorted(after), "files came or went")
                    changed = [name for name in before if before[name] != after[name]]
                    self.assertEqual([], changed, "files changed")

    def judge_table(self, name, at_least):
        with open(HERE / f"{name}.toml", "rb") as file:
            cases = tomllib.load(file)["case"]
        self.assertGreaterEqual(len(cases), at_least)
        names = [case["name"] for case in cases]
        self.assertEqual(len(names), len(set(names)), "two cases of one name")
        for case in cases:
            if case.get("exit", 2) != 0:
                self.assertTrue(case.get("says"), case["name"])
            self.judge_case(case)

    def test_broken_forks(self):
        self.judge_table("fork", 45)

    def test_broken_dampers(self):
        self.judge_table("damper", 20)

    def test_broken_riders_and_bikes(self):
        self.judge_table("rider_and_bike", 10)

    def test_broken_ground(self):
        self.judge_table("ground", 40)

    def test_broken_scenes(self):
        self.judge_table("scene", 30)

    def test_broken_families(self):
        self.judge_table("family", 15)

    def test_broken_services(self):
        self.judge_table("service", 14)

    def test_broken_readings(self):
        self.judge_table("readings", 20)

    def test_broken_plans(self):
        self.judge_table("plan", 60)

    def test_broken_text(self):
        self.judge_table("text", 25)

    def test_broken_command_lines(self):
        self.judge_table("command", 40)

    def test_the_good_files_are_good(self):
        folder = self.fresh()
        for name in READERS:
            if name.endswith(".toml"):
                done = run(["check", name], folder)
                first = done.stdout.decode().splitlines(keepends=True)[0]  # of a plan it says more
                self.assertEqual((0, f"{name}: good\n"), (done.returncode, first))

    # Outputs that cannot be written: the run failed, and what was there stays.

    def refused(self, folder, command, *words, **more):
        arguments = with_outputs(shlex.split(command))
        before = contents(folder)
        with self.subTest(command=command):
            done = run(arguments, folder, **more)
            told = self.judge_message({"exit": 1, "says": words}, arguments, done)
            if os.environ.get("PLUNGE_SHOW"):
                print(f"{command:24} {told.strip()}")
            self.assertEqual(before, contents(folder))

    def test_outputs_that_are_no_files(self):
        folder = self.fresh()
        (folder / "folder.svg").mkdir()
        no_folder, irregular = "note.txt: Not a directory", "not a regular file"
        self.refused(folder, "ride scene.toml -o note.txt/no/ride.h5", "note.txt/no: Not a directory")
        self.refused(folder, "ride scene.toml --plot note.txt/ride.svg", no_folder)
        self.refused(folder, "curve fork.toml --plot note.txt/curve.png", no_folder)
        self.refused(folder, "compare ride.h5 --plot note.txt/two.pdf", no_folder)
        self.refused(folder, "ride scene.toml -o folder/", "folder/", "the name of a folder")
        self.refused(folder, "ride scene.toml -o no/", "no/", "the name of a folder")
        self.refused(folder, "ride scene.toml -o no/ride.h5 --plot note.txt/a.png", no_folder)
        self.refused(folder, "ride scene.toml -o folder", "folder", irregular)
        self.refused(folder, "ride scene.toml --plot folder.svg", "folder.svg", irregular)
        self.refused(folder, "ride scene.toml -o /dev/full", "/dev/full", irregular)
        self.refused(folder, "ride scene.toml -o /dev/null", "/dev/null", irregular)
        self.refused(folder, "ride scene.toml -o note.txt/ride.h5", no_folder)
        self.refused(folder, f"ride scene.toml -o {'a' * 300}.h5", "File name too long")

    def test_what_cannot_be_written_is_not_ridden_first(self):
        folder = self.fresh()
        # Many minutes of riding; refused within the limit of run().
        long = "ride scene.toml --set terrain[5].length=9km --vary terrain[3].seed=1..200"
        self.refused(folder, f"{long} -o note.txt/ride.h5", "note.txt")
        self.refused(folder, f"{long} --plot note.txt/ride.svg", "note.txt")

    def test_output_past_a_limit_of_size(self):
        folder = self.fresh()

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # as a full disk, which sends none

        self.refused(folder, "ride scene.toml", "old.h5", "a file may have 100.0 kB here (ulimit -f)",
                     preexec_fn=limit, restore_signals=False)  # fmt: skip

    def mounted(self, where, flags=0):
        """A file system of 64 KiB at `where`, taken away after the test."""
        libc = ctypes.CDLL(None, use_errno=True)
        if libc.mount(b"tmpfs", os.fsencode(where), b"tmpfs", flags, b"size=64k") != 0:
            self.skipTest("no right to mount: " + os.strerror(ctypes.get_errno()))
        self.addCleanup(libc.umount2, os.fsencode(where), 2)

    def test_full_disk(self):
        folder = self.fresh()
        disk = folder / "folder"
        self.mounted(disk)
        (disk / "old.h5").write_bytes(b"results of long ago")
        (disk / "old.svg").write_bytes(b"a plot of long ago" * 3000)
        full = "No space left on device"
        room = "are free on its disk"
        self.refused(folder, "ride scene.toml -o folder/old.h5", "folder/old.h5", room)
        self.refused(folder, "ride scene.toml -o folder/new.h5", "folder/new.h5", room)
        self.refused(folder, "curve fork.toml --plot folder/old.svg", "folder/old.svg", full)

    def test_disk_that_is_read_only(self):
        folder = self.fresh()
        read_only = 1
        self.mounted(folder / "folder", read_only)
        self.refused(folder, "ride scene.toml -o folder/ride.h5", "Read-only file system")
        self.refused(folder, "ride scene.toml --plot folder/ride.svg", "Read-only file system")
        self.refused(folder, "curve fork.toml --plot folder/new.svg", "Read-only file system")

    def test_results_that_nobody_can_print(self):
        folder = self.fresh()
        for command in ("curve fork.toml", "modes scene.toml", "help", "check fork.toml", "--help"):
            with self.subTest(command=command), open("/dev/full", "wb") as full:
                done = subprocess.run(
                    [PROGRAM, *shlex.split(command)], cwd=folder, stdout=full,
                    stderr=subprocess.PIPE, check=False,
                )  # fmt: skip
                self.assertEqual(1, done.returncode)
                self.assertTrue(done.stderr.startswith(b"plunge: "), done.stderr)

    def test_faults_as_json(self):
        folder = self.fresh()
        (folder / "fork.toml").write_text('type = "fork"\nformat = [1, 0]\ntravel = 150\n')
        done = run(["check", "--json", "fork.toml", "rider.toml"], folder)
        self.assertEqual((2, b""), (done.returncode, done.stderr))
        self.assertIn("fork.travel", [fault["key"] for fault in json.loads(done.stdout)["faults"]])

    # What nobody thought of: good files cut short, or with bytes changed.

    def judge_many(self, folder, names):
        done = run(["check", *names], folder)
        self.assertIn(done.returncode, (0, 2), done.stderr.decode())
        self.assertEqual(b"", done.stderr)
        told = done.stdout.decode("utf-8")
        self.assertEqual([], [hit for hit in INSIDES.findall(told) if hit not in ("nan", "inf")])
        for name in names:
            self.assertIn(f"{name.removesuffix('.terrain.toml')}", told)

    def test_files_cut_short_anywhere(self):
        folder = self.fresh()
        for good in READERS:
            whole = (HERE / "good" / good).read_bytes()
            names = [f"cut-{size}-{good}" for size in range(0, len(whole), 7)]
            for number, name in enumerate(names):
                (folder / name).write_bytes(whole[: 7 * number])
            if good.endswith(".toml"):
                self.judge_many(folder, names)

    def test_files_with_random_changes(self):
        folder = self.fresh()
        dice = random.Random(20_260)
        pieces = ["", '"', "[", "]", "{", "}", "=", "\n", ",", "-", "1e9", "nan", "\0", "0x", "'''",
                  "#", ".", " psi", "[[a]]\n", "1_0", "inf", "é", "999999999", "e-400"]  # fmt: skip
        terrain = (HERE / "good" / "terrain.toml").read_text()
        for good in READERS:
            whole = (HERE / "good" / good).read_bytes()
            names = []
            for number in range(100):
                changed = bytearray(whole)
                for _ in range(dice.randint(1, 3)):
                    at = dice.randrange(len(changed))
                    changed[at : at + dice.randint(0, 6)] = dice.choice(pieces).encode()
                name = f"changed-{number}-{good}"
                (folder / name).write_bytes(changed)
                if good == "ground.csv":
                    (folder / f"{name}.terrain.toml").write_text(terrain.replace(good, name))
                    name += ".terrain.toml"
                names.append(name)
            self.judge_many(folder, names)

    def test_results_with_random_changes(self):
        folder = self.fresh()
        whole = (self.good / "ride.h5").read_bytes()
        dice = random.Random(815)
        for _ in range(100):
            changed = bytearray(whole)
            for _ in range(dice.randint(1, 4)):
                # The beginning holds most of what a reader of HDF5 follows.
                at = dice.choice([dice.randrange(4096), dice.randrange(len(changed))])
                changed[at] ^= dice.randint(1, 255)
            size = dice.choice([len(changed), len(changed), dice.randrange(len(changed))])
            (folder / "changed.h5").write_bytes(changed[:size])
            done = run(["compare", "changed.h5"], folder)
            self.assertEqual(2, done.returncode, done.stderr.decode())
            self.assertTrue(done.stderr.startswith(b"plunge: changed.h5: is "), done.stderr)


if __name__ == "__main__":
    unittest.main()
