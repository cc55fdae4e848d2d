"""What riding takes of memory and disk: little of either for each variant and each second more, what is
refused beforehand, and what is said where the memory ends."""

import os
import pathlib
import resource
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
DROP = ROOT / "scenarios" / "scenes" / "drop-to-flat.toml"
CACHE = pathlib.Path(os.environ["PLUNGE_BUILD"]) / "CMakeCache.txt"
SANITIZED = "PLUNGE_SANITIZE:BOOL=ON" in CACHE.read_text(encoding="utf-8")
TRACES = 40  # at least; of 8 bytes a sample

LONG = f"""type = "scene"
format = [1, 0]
name = "a long ride"
fork = "{ROOT}/scenarios/forks/teasel-150.toml"
rider = "{ROOT}/scenarios/riders/hazel.toml"
bike = "{ROOT}/scenarios/bikes/trail.toml"
[ride]
speed = "18 km/h"
[hold]
sag = "22 %"
[[terrain]]
kind = "bumps"
count = 20
height = "30 mm"
length = "1.5 m"
spacing = "9 m"
"""


class RideMemory(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-memory-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)

    def plunge(self, *arguments, limit=None):
        """Exit code, what it said, and its peak of memory [byte]."""

        def bounded():
            if limit is not None:
                resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

        said = self.folder / "said.txt"
        with open(said, "w", encoding="utf-8") as file:
            process = subprocess.Popen(
                [PROGRAM, *map(str, arguments)], cwd=self.folder, preexec_fn=bounded,
                stdout=subprocess.DEVNULL, stderr=file,
            )  # fmt: skip
            _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        return process.returncode, said.read_text(encoding="utf-8"), usage.ru_maxrss * 1024

    def peak(self, *arguments):
        code, said, peak = self.plunge(*arguments, "-o", "a.h5")
        self.assertEqual(0, code, said)
        return peak

    def long_ride(self, seconds):
        path = self.folder / "long.toml"
        path.write_text(LONG, encoding="utf-8")
        return path, "--set", f"ride.duration={seconds}s"

    def variants(self, count, samples):
        step = 0.03
        return (
            "ride", DROP, "--set", "ride.duration=0.1 s", "--set",
            f"ride.sample_rate={10 * samples}Hz", "--vary",
            f"fork.pressure=60psi..{60 + step * (count - 1):.2f}psi:{step}psi",
        )  # fmt: skip

    # Traces in memory would be 800 times 600 samples of 40 doubles, 153 MB at the least.
    @unittest.skipIf(SANITIZED, "the sanitizers keep what is freed")
    def test_memory_does_not_grow_with_the_traces_of_variants(self):
        few, many = (self.peak(*self.variants(count, 600)) for count in (30, 830))
        held = 800 * 600 * TRACES * 8
        self.assertLess(many - few, 0.5 * held)
        self.assertGreater((self.folder / "a.h5").stat().st_size, 0.2 * held)

    # 200 s at 1 kHz have 58 MB of traces; five of them stay, for the metrics, and what those take.
    @unittest.skipIf(SANITIZED, "the sanitizers keep what is freed")
    def test_memory_grows_with_the_length_by_the_traces_of_metrics_alone(self):
        short, long = (self.peak("ride", *self.long_ride(seconds)) for seconds in (20, 220))
        self.assertLess(long - short, 200e3 * 200)
        self.assertGreater(200e3 * 200, 200e3 * 5 * 8)
        self.assertLess(200e3 * 200, 200e3 * TRACES * 8)

    # By hand: 2000 hours at 10 kHz are 7.2e10 samples, of 36 doubles 21 TB.
    def test_what_cannot_fit_on_the_disk_is_refused_before_riding(self):
        code, said, peak = self.plunge(
            "ride", *self.long_ride(3600), "--set", "ride.sample_rate=10000Hz", "--vary",
            "fork.pressure=60psi..79.99psi:0.01psi", "-o", "a.h5",
        )  # fmt: skip
        self.assertEqual(1, code, said)
        self.assertRegex(said, r"cannot write a.h5: it would take up to \d+\.\d TB, and "
                               r"[\d.]+ \w+ are free on its disk")  # fmt: skip
        self.assertEqual(["long.toml", "said.txt"], sorted(os.listdir(self.folder)))

    # From where the program can be loaded at all to where it has all that it needs.
    @unittest.skipIf(SANITIZED, "the sanitizers need their own room")
    def test_where_memory_ends_is_told_and_leaves_nothing(self):
        ended, done = 0, 0
        for megabytes in range(40, 300, 20):
            code, said, _ = self.plunge("ride", *self.long_ride(60), "--vary", "fork.spacers=0..1",
                                        "-o", "a.h5", limit=megabytes << 20)  # fmt: skip
            if code == 127:  # the loader has no room for the libraries
                continue
            if code == 0:
                done += 1
                (self.folder / "a.h5").unlink()
                continue
            self.assertEqual(1, code, f"{megabytes} MB: {said}")
            self.assertRegex(said, r"not enough memory|no thread could be started|memory allocation",
                             megabytes)  # fmt: skip
            self.assertEqual(["long.toml", "said.txt"], sorted(os.listdir(self.folder)))
            ended += 1
        self.assertGreater(ended, 0)
        self.assertGreater(done, 0)


if __name__ == "__main__":
    unittest.main()
