"""What is reported as done is on the disk: in which order the system is asked.

A file is written, synced and named, and then the folder that names it is synced, as is the folder
above one that was made. The calls are those that strace sees; where it may not look, the test says
so and is skipped (77). tests/sim/disk/power_cut_test.py cuts the power.

Needs PLUNGE_PROGRAM, the built program."""

import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

WRITING = ("pwrite64", "write", "ftruncate", "fallocate", "fchmod", "fchown")
NAMING = ("linkat", "renameat", "rename", "link", "renameat2")
SYNCING = ("fsync", "fdatasync")
CALLS = (*WRITING, *NAMING, *SYNCING, "mkdir", "unlink")
LINE = re.compile(r"^(?P<process>\d+) +(?P<rest>.*)$")
BEGUN = re.compile(r"^(?P<name>\w+)\((?P<arguments>.*)<unfinished \.\.\.>$")
RESUMED = re.compile(r"^<\.\.\. (?P<name>\w+) resumed>(?P<arguments>.*)\) += (?P<result>.*)$")
WHOLE = re.compile(r"^(?P<name>\w+)\((?P<arguments>.*)\) += (?P<result>.*)$")
DESCRIPTOR = re.compile(r"^(\d+)<([^>]*)>")
HIDDEN = ".plunge-"


class Call:
    def __init__(self, begin, end, process, name, arguments):
        self.begin, self.end, self.process, self.name = begin, end, process, name
        self.arguments = arguments
        self.texts = re.findall(r'"((?:[^"\\]|\\.)*)"', arguments)
        found = DESCRIPTOR.match(arguments)
        self.number, self.path = found.groups() if found else ("", "")

    def folders(self):
        """The folders that the arguments of a call name by descriptor, in order."""
        return re.findall(r"\d+<([^>]*)>|AT_FDCWD<([^>]*)>", self.arguments)


def trace(arguments, folder):
    """The calls of a command that succeeded, in the order in which they began."""
    with tempfile.NamedTemporaryFile("r", suffix=".strace") as file:
        done = subprocess.run(
            ["strace", "-f", "-y", "-s", "200", "-o", file.name, "-e", "trace=" + ",".join(CALLS),
             sweep_plan.PROGRAM, *map(str, arguments)],
            cwd=folder, capture_output=True, text=True, check=False,
            env={**os.environ, "ASAN_OPTIONS": "detect_leaks=0"},  # that looks by the same means
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return parse(file.read().splitlines())


def parse(lines):
    calls, begun = [], {}
    for at, line in enumerate(lines):
        process, rest = LINE.match(line).groups()
        if found := BEGUN.match(rest):
            begun[process] = (at, found["arguments"])
        elif found := RESUMED.match(rest):
            begin, first = begun.pop(process)
            add(calls, begin, at, process, found, first + found["arguments"])
        elif found := WHOLE.match(rest):
            add(calls, at, at, process, found, found["arguments"])
    return sorted(calls, key=lambda call: call.begin)


def add(calls, begin, end, process, found, arguments):
    if not found["result"].startswith("-1"):
        calls.append(Call(begin, end, process, found["name"], arguments))


def faults_in(calls, cwd):
    """The names that were given, and what is wrong with how."""
    named, faults = set(), []

    def synced(folder, after):
        return any(call.name == "fsync" and call.path == folder and call.begin > after.end
                   for call in calls)  # fmt: skip

    for call in calls:
        if call.name == "mkdir":
            above = str((cwd / call.texts[0]).parent)
            if not synced(above, call):
                faults.append(f"{call.texts[0]} was made, and {above} not synced")
        if call.name not in NAMING:
            continue
        source, name = call.texts[0], pathlib.PurePath(call.texts[-1]).name
        folder = ["".join(pair) for pair in call.folders()][-1]
        if source.startswith("/proc/self/fd/"):
            number = source.rpartition("/")[2]
            before = [other for other in calls if other.process == call.process
                      and other.end < call.begin]  # fmt: skip
            file = [other.path for other in before if other.number == number][-1]
            # The library writes through a descriptor of its own.
            last = [other for other in before if other.path == file and other.name in WRITING][-1]
            if not [other for other in before if other.name == "fsync" and other.number == number
                    and other.begin > last.end]:  # fmt: skip
                faults.append(f"{name} was named before it was synced")
        elif not source.startswith(HIDDEN):
            faults.append(f"{name} was {source}, which nobody knows")
        if name.startswith(HIDDEN):
            continue
        named.add(name)
        if not synced(folder, call):
            faults.append(f"{name} was named, and its folder {folder} not synced")
    return named, faults


class Durability(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-durability-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name).resolve()
        self.plan = sweep_plan.write_plan(self.folder / "plan.toml", clicks="2,4", step="15 psi", most="90 psi")

    def judge(self, names, *arguments, told=None):
        calls = trace(arguments, self.folder)
        named, faults = faults_in(calls, self.folder)
        self.assertEqual([], faults)
        kept = {path.name for path in self.folder.glob("new/sweep/files/*")}  # what the plan names
        names = set(names) | (kept if "plan.toml" in names else set())
        self.assertEqual(names, {name for name in named if not name.startswith("worker-")})
        syncs = [call for call in calls if call.name == "fsync"]
        if told:
            said = [call for call in calls if call.name == "write" and told in call.arguments]
            self.assertEqual(1, len(said), told)
            self.assertGreater(said[0].begin, syncs[-1].end, "told before it was synced")
        # The order that was found is one that could have been missed.
        for folder in {call.path for call in syncs if not call.path.startswith("#")}:
            without = [call for call in calls if call.name != "fsync" or call.path != folder]
            self.assertNotEqual([], faults_in(without, self.folder)[1], folder)

    def test_a_ride_and_its_plot(self):
        for _ in range(2):  # new, then in place of the old ones
            self.judge(["r.h5"], "ride", sweep_plan.SCENE, "-o", "a/b/r.h5", told="results: ")
            self.judge(["r.h5", "r.png"], "ride", sweep_plan.SCENE, "-o", "a/b/r.h5",
                       "--plot", "c/r.png", told="plot: ")  # fmt: skip

    def test_a_sweep_and_its_merge(self):
        shards = [f"shard-{number:08}.h5" for number in range(8)]  # 5 x 3 x 2 rides, 4 each
        self.judge(["plan.toml", "plan-path.txt", "resolved-plan.txt", *shards],
                   "sweep", self.plan, "-o", "new/sweep", "--threads", "3", told="sweep in ")  # fmt: skip
        for _ in range(2):
            self.judge(["all.h5"], "sweep", "merge", "new/sweep", "-o", "all.h5", told="all.h5: ")

    def test_an_entry_of_a_log(self):
        """The journal, then the log, then the journal's end, each on the disk before the next."""
        log = str(self.folder / "workshop.plunge-log")
        for told in ("note 1 is added", "note 2 is added"):
            calls = trace(["log", "add", "note", "a"], self.folder)
            ends = [call for call in calls if call.name == "unlink" and call.texts[0] == f"{log}-journal"]
            begin = ends[-2].end if len(ends) > 1 else -1
            turn = [call for call in calls if begin < call.begin < ends[-1].begin]
            written = [call for call in turn if call.path == log and call.name in WRITING]

            def synced(path, after, before):
                return [call for call in calls if call.name in SYNCING and call.path == path
                        and after.end < call.begin and call.end < before.begin]  # fmt: skip

            journalled = [call for call in turn if call.path == f"{log}-journal" and call.name in WRITING]
            said = [call for call in calls if call.name == "write" and told in call.arguments]
            self.assertTrue(written and journalled)
            self.assertEqual(1, len(said), told)
            self.assertTrue(synced(f"{log}-journal", journalled[-1], written[0]))
            self.assertTrue(synced(log, written[-1], ends[-1]))
            self.assertTrue(synced(str(self.folder), ends[-1], said[0]))


if __name__ == "__main__":
    try:
        looked = subprocess.run(["strace", "-o", os.devnull, "true"], capture_output=True, check=False)
    except FileNotFoundError:
        looked = None
    if looked is None or looked.returncode != 0:
        print("strace is not here, or may not look at other programs: the order of calls is not tested")
        sys.exit(77)
    unittest.main()
