"""plunge table as people and programs call it."""

import csv
import io
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

import h5py
import numpy

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
CACHE = pathlib.Path(os.environ["PLUNGE_BUILD"]) / "CMakeCache.txt"
SANITIZED = "PLUNGE_SANITIZE:BOOL=ON" in CACHE.read_text(encoding="utf-8")
SCENE = ROOT / "scenarios" / "scenes" / "drop-to-flat.toml"


class Tables(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-table-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        cls.run_plunge("ride", SCENE, "--vary", "fork.spacers=0..2", "--hold", "sag=25%",
                       "-o", "ride.h5")  # fmt: skip

    @classmethod
    def run_plunge(cls, *arguments, expect=0):
        done = subprocess.run(
            [PROGRAM, *map(str, arguments)], cwd=cls.folder, capture_output=True, check=False
        )
        assert done.returncode == expect, done.stderr
        return done

    def table(self, *arguments):
        text = self.run_plunge("table", *arguments).stdout.decode()
        return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))

    def test_numbers_are_those_of_the_file(self):
        rows = self.table("ride.h5", "--si")
        with h5py.File(self.folder / "ride.h5") as file:
            metrics = [name for name, item in file.items()
                       if isinstance(item, h5py.Dataset) and item.shape == (3,) and "units" in item.attrs]
            self.assertGreater(len(metrics), 30)
            for name in metrics:
                if name == "samples":
                    continue
                unit = file[name].attrs["units"]
                unit = unit.decode() if isinstance(unit, bytes) else unit
                heading = name if unit == "1" else f"{name} [{unit}]"
                for row, value in zip(rows, file[name][...]):
                    said = row[heading]
                    self.assertTrue(float(said) == value if said else numpy.isnan(value), name)

    def test_people_read_workshop_units(self):
        si = self.table("ride.h5", "--si")
        said = self.table("ride.h5")
        bar = self.table("ride.h5", "--bar")
        self.assertEqual(["0 spacers", "1 spacer", "2 spacers"], [row["label"] for row in said])
        for a, b, c in zip(si, said, bar):
            self.assertAlmostEqual(1e3 * float(a["travel_max [m]"]), float(b["travel used [mm]"]), 5)
            self.assertAlmostEqual(float(a["fork_pressure [Pa]"]) / 6894.757293168361,
                                   float(b["fork.pressure [psi]"]), 5)  # fmt: skip
            self.assertAlmostEqual(float(a["fork_pressure [Pa]"]) / 1e5,
                                   float(c["fork.pressure [bar]"]), 6)  # fmt: skip

    def test_json_holds_the_same_numbers(self):
        table = json.loads(self.run_plunge("table", "ride.h5", "--json").stdout)["table"]
        rows = self.table("ride.h5", "--si")
        self.assertEqual(len(rows), len(table["rows"]))
        for row, cells in zip(table["rows"], (list(row.values()) for row in rows)):
            for value, cell in zip(row, cells):
                if isinstance(value, str):
                    self.assertEqual(value, cell)
                else:
                    self.assertEqual(value, float(cell) if cell else None)

    def test_traces_are_those_of_one_ride(self):
        rows = self.table("ride.h5", "--traces", "travel,fork_force", "--ride", "2", "--si")
        with h5py.File(self.folder / "ride.h5") as file:
            count = file["samples"][2]
            self.assertEqual(count, len(rows))
            for name in ("travel [m]", "fork_force [N]"):
                expected = file[name.split()[0]][2, :count]
                self.assertEqual(expected.tolist(), [float(row[name]) for row in rows])

    def test_lines_are_those_of_rfc_4180_and_hold_no_formula(self):
        labels = ['a, "b"', "=1+2", "@x\x1b[31m"]
        path = self.folder / "labels.h5"
        path.write_bytes((self.folder / "ride.h5").read_bytes())
        with h5py.File(path, "r+") as file:
            file["label"][...] = labels
        text = self.run_plunge("table", "labels.h5", "--unsealed").stdout
        self.assertTrue(text.endswith(b"\r\n"))
        self.assertEqual(4, text.count(b"\n"))
        self.assertEqual(4, text.count(b"\r\n"))
        self.assertNotIn(b"\x1b", text)
        rows = self.table("labels.h5", "--unsealed")
        self.assertEqual(['a, "b"', " =1+2", " @x\\x1b[31m"], [row["label"] for row in rows])

    def test_a_file_is_written_whole_and_never_onto_its_source(self):
        self.run_plunge("table", "ride.h5", "-o", "ride.csv")
        self.assertEqual(self.run_plunge("table", "ride.h5").stdout,
                         (self.folder / "ride.csv").read_bytes())  # fmt: skip
        before = (self.folder / "ride.h5").read_bytes()
        (self.folder / "link.csv").symlink_to("ride.h5")
        for output in ("ride.h5", "./ride.h5", "link.csv"):
            done = self.run_plunge("table", "ride.h5", "-o", output, expect=2)
            self.assertIn(b"a file that is read here", done.stderr)
        self.assertEqual(before, (self.folder / "ride.h5").read_bytes())

    @unittest.skipIf(SANITIZED, "the sanitizers keep what is freed")
    def test_memory_does_not_grow_with_the_number_of_rides(self):
        # A merged sweep as any program may write it, of many rides and of few.
        used = {}
        for count in (1_000, 2_000_000):
            path = self.folder / f"sweep-{count}.h5"
            with h5py.File(path, "w") as file:
                file.attrs.update({"file_type": "plunge sweep", "title": "many", "design": "none",
                                   "grid": "fork_spacers", "sampled": "", "traces": "",
                                   "metrics": "travel_max hand_force_max"})  # fmt: skip
                file.attrs["format_version"] = numpy.array(self.sweep_version(), "<i4")
                for name, unit in (("fork_spacers", "1"), ("travel_max", "m"), ("hand_force_max", "N")):
                    file[name] = numpy.arange(count) / 1e3
                    file[name].attrs.update({"units": unit, "long_name": name, "workshop_units": "1"})
                file["fork_spacers"].attrs["parameter"] = "fork.spacers"
                for name in ("origin", "reason"):
                    file[name] = numpy.zeros(count, "<i4")
                file["reasons"] = numpy.array(["", "none"], dtype=h5py.string_dtype())
            script = ("import resource, subprocess, sys; "
                      "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True); "
                      "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")  # fmt: skip
            done = subprocess.run(
                [sys.executable, "-c", script, PROGRAM, "table", "--unsealed", path],
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            used[count] = int(done.stdout)  # [KiB]
        # The axis itself is held, 8 bytes a value, with a copy or two; the 32 MB of metrics are not.
        self.assertLess(used[2_000_000] - used[1_000], 60_000)

    def sweep_version(self):
        text = (ROOT / "sim" / "sweep" / "merge.hpp").read_text(encoding="utf-8")
        return [int(text.split(f"kSweepFormat{part} = ")[1].split(";")[0]) for part in ("Major", "Minor")]


if __name__ == "__main__":
    unittest.main()
