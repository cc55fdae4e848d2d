"""What is not known of fork and rider leaves open of what is printed: bands, --exact, plans.

Needs PLUNGE_PROGRAM, the built program."""

import csv
import json
import os
import pathlib
import re
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
SCENE = "scenarios/scenes/drop-to-flat.toml"
ROWAN = str(ROOT / "scenarios/riders/rowan.toml")
HAZEL = str(ROOT / "scenarios/riders/hazel.toml")
PSI = 6894.757293168361  # [Pa]: lbf/in2, exact inch, pound and g

PLAN = """type = "plan"
format = [1, 5]
scenes = ["scene.toml"]
[sample]
file = "rented.toml"
points = 256
[keep]
metrics = ["pressure", "travel_max"]
"""


class Bands(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-bands-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        cls.plunge("fork", "--travel", "140mm", "--stanchion", "34mm", "--spacer", "8cm3",
                   "--name", "rented", "-o", "rented.toml")  # fmt: skip
        marked = (cls.folder / "rented.toml").read_text(encoding="utf-8")
        # The same numbers, of which nothing is said.
        (cls.folder / "known.toml").write_text(marked[: marked.index("\n[known]")], encoding="utf-8")
        scene = (ROOT / SCENE).read_text(encoding="utf-8")
        for name, fork in (("scene.toml", "rented.toml"), ("plain.toml", "known.toml")):
            text = scene.replace("../forks/teasel-150.toml", fork)
            text = text.replace('"../', f'"{ROOT}/scenarios/')
            (cls.folder / name).write_text(text, encoding="utf-8")

    @classmethod
    def plunge(cls, *arguments):
        done = subprocess.run(
            [PROGRAM, *arguments], cwd=cls.folder, capture_output=True, text=True, check=False,
            env={**os.environ, "LC_ALL": "C.UTF-8", "COLUMNS": "80"},
        )  # fmt: skip
        if done.returncode != 0:
            raise AssertionError((arguments, done.stderr))
        return done.stdout

    def test_exact_is_what_a_fork_that_is_known_prints(self):
        for scene, fork in (("scene.toml", "plain.toml"), ("rented.toml", "known.toml")):
            verb = ["ride", "-o", "a.h5"] if scene == "scene.toml" else ["curve", "--rider", HAZEL]
            for more in ([], ["--json"]):
                exact = self.plunge(verb[0], scene, *verb[1:], *more, "--exact")
                self.assertEqual(self.plunge(verb[0], fork, *verb[1:], *more),
                                 exact.replace(scene, fork))  # fmt: skip
                self.assertNotIn("bands", exact)

    def test_what_is_printed_is_rounded_to_what_is_known(self):
        text = self.plunge("curve", "rented.toml", "--rider", ROWAN, "--hold", "sag=22%")
        self.assertRegex(text, r" \d+ (± \d+|\(\d+ to \d+\)) +30\.8")  # no pressure to a tenth
        words = " ".join(text.split())
        self.assertIn("mostly from air volumes: pressure", words)
        self.assertIn("weigh the front wheel with the rider on the bike", words)
        ride = self.plunge("ride", "scene.toml", "-o", "b.h5")
        self.assertRegex(ride, r"pressure +\d+ (± \d+|\(\d+ to \d+\)) +psi +air volumes")
        for line in (text + ride).splitlines():
            self.assertLessEqual(len(line), 80, line)
        variants = self.plunge("ride", "scene.toml", "--vary", "fork.spacers=0..1", "-o", "c.h5")
        self.assertRegex(" ".join(variants.split()), r"mostly from air volumes: [^;]*pressure")
        # What a spacer changes of the travel used is its own number, with a sign and a band.
        self.assertRegex(variants, r"\n1 spacer .*-\d+(\.\d)? (± \d|\(-)")
        changed = json.loads(self.plunge("ride", "scene.toml", "--vary", "fork.spacers=0..1", "-o",
                                         "f.h5", "--json"))["rides"]  # fmt: skip
        numbers = [ride["bands"]["numbers"]["travel_max"] for ride in changed]
        self.assertNotIn("change", numbers[0])
        self.assertLess(numbers[1]["change"]["high"], 0.0)

    def test_a_fork_that_is_known_has_no_bands(self):
        for text in (self.plunge("curve", "known.toml", "--rider", HAZEL),
                     self.plunge("ride", "plain.toml", "-o", "d.h5")):  # fmt: skip
            self.assertNotIn("±", text)
            self.assertNotIn("mostly from", text)

    # What is not known of the rider belongs to the prediction of the pressure, and to no fork's file.
    def test_a_fit_takes_the_rider_as_known_as_it_is(self):
        readings = str(ROOT / "scenarios/readings/rented-140.toml")
        spread = {}
        for rider in (HAZEL, ROWAN):
            fit = json.loads(self.plunge("fit", "rented.toml", readings, "--rider", rider, "--json",
                                         "-o", "fitted.toml", "--replace"))  # fmt: skip
            spread[rider] = {p["name"]: p["spread"] for p in fit["predictions"]}
            fitted = (self.folder / "fitted.toml").read_text(encoding="utf-8")
            self.assertNotIn("front_share", fitted)
            self.plunge("curve", "fitted.toml", "--rider", rider)
        self.assertGreater(spread[ROWAN]["pressure"], 1.2 * spread[HAZEL]["pressure"])
        self.assertAlmostEqual(1.0, spread[ROWAN]["force_full_0"] / spread[HAZEL]["force_full_0"], 2)
        # A fork of which nothing is said has the spreads of its family also under such a rider.
        fit = json.loads(self.plunge("fit", "known.toml", readings, "--rider", ROWAN, "--json"))
        self.assertIn("fork.air.main_volume", {number["name"] for number in fit["numbers"]})

    # Both ride 256 draws of seed 1; percentiles by numpy's rule, by hand.
    def test_a_plan_rides_the_draws_of_the_bands(self):
        rides = json.loads(self.plunge("ride", "scene.toml", "-o", "e.h5", "--json"))["rides"]
        bands = rides[0]["bands"]
        self.assertEqual(256, bands["draws"])
        (self.folder / "plan.toml").write_text(PLAN, encoding="utf-8")
        self.assertRegex(self.plunge("check", "plan.toml"), r"sample \(256\)")
        self.plunge("sweep", "plan.toml", "-o", "swept")
        self.plunge("sweep", "merge", "swept", "-o", "swept.h5")
        rows = list(csv.DictReader(self.plunge("table", "swept.h5").splitlines()))
        self.assertEqual(256, len(rows))
        self.assertEqual(bands["failed"], sum(row["outcome"] == "failed" for row in rows))
        for name, column, unit in (("pressure", "pressure [psi]", PSI),
                                   ("travel_max", "travel used [mm]", 1e-3)):  # fmt: skip
            values = sorted(float(row[column]) * unit for row in rows
                            if re.match(r"[\d.]+$", row[column]))  # fmt: skip
            for end, percent in (("low", 2.5), ("high", 97.5)):
                place = (len(values) - 1) * percent / 100
                below = values[int(place)]
                value = below + (place - int(place)) * (values[int(place) + 1] - below)
                self.assertAlmostEqual(1.0, value / bands["numbers"][name][end], 5)


if __name__ == "__main__":
    unittest.main()
