"""A fork from what a workshop can read: begun, fitted, ridden; alarms, and what is not written then.

Needs PLUNGE_PROGRAM, the built program."""

import json
import os
import pathlib
import subprocess
import tempfile
import tomllib
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
READINGS = "scenarios/readings/rented-140.toml"
SCENE = "scenarios/scenes/drop-to-flat.toml"

MINIMAL = """type = "fork"
format = [1, 4]
travel = "140 mm"
family.stanchion = "34 mm"
family.wheel = "29 in"
"""


class Workshop(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-fit-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        (self.folder / "scenarios").symlink_to(ROOT / "scenarios")

    def plunge(self, *arguments, expect=0):
        done = subprocess.run(
            [PROGRAM, *arguments], cwd=self.folder, capture_output=True, text=True, check=False,
            env={**os.environ, "LC_ALL": "C.UTF-8"},
        )  # fmt: skip
        self.assertEqual(expect, done.returncode, (arguments, done.stderr))
        return done

    def put(self, name, text):
        (self.folder / name).write_text(text, encoding="utf-8")
        return name

    def begun(self):
        self.plunge("fork", "--travel", "140mm", "--stanchion", "34mm", "--spacer", "8cm3",
                    "--name", "rented", "-o", "rented.toml")  # fmt: skip
        return "rented.toml"

    def scene_with(self, fork):
        text = (ROOT / SCENE).read_text(encoding="utf-8")
        text = text.replace("../forks/teasel-150.toml", str(self.folder / fork))
        return self.put("scene.toml", text.replace('"../', f'"{ROOT}/scenarios/'))

    def test_three_lines_are_ridden_and_drawn_and_say_what_is_guessed(self):
        fork = self.put("fork.toml", MINIMAL)
        for command in (["ride", self.scene_with(fork), "-o", "a.h5"], ["curve", fork],
                        ["modes", "scene.toml"]):  # fmt: skip
            done = self.plunge(*command)
            self.assertRegex(done.stderr, r"numbers of the fork that are not measured: \d+ guessed")
        self.assertIn("fork.toml: good", self.plunge("check", fork).stdout)
        plan = self.put("plan.toml", 'type = "plan"\nformat = [1, 4]\nname = "one"\n'
                                     'scenes = ["scene.toml"]\n')  # fmt: skip
        self.assertRegex(self.plunge("sweep", plan, "-o", "sweep").stderr, r"\d+ guessed")

    def test_a_fork_that_was_written_is_the_one_that_the_reader_fills_in(self):
        fork = self.put("fork.toml", MINIMAL)
        self.plunge("fork", "--travel", "140mm", "--stanchion", "34mm", "-o", "written.toml")
        filled = json.loads(self.plunge("curve", fork, "--json").stdout)
        written = json.loads(self.plunge("curve", "written.toml", "--json").stdout)
        self.assertGreater(len(filled["curves"][0]["slow_force"]), 100)
        for a, b in zip(filled["curves"][0]["slow_force"], written["curves"][0]["slow_force"]):
            self.assertAlmostEqual(a, b, delta=1e-6 * abs(a) + 1e-6)

    def test_every_number_says_how_it_is_known(self):
        known = json.loads(self.plunge("fork", "--travel", "140mm", "--bore", "31.5mm",
                                       "--json").stdout)["numbers"]  # fmt: skip
        by_name = {number["name"]: number for number in known}
        self.assertEqual("measured", by_name["fork.air.main_area"]["from"])
        self.assertEqual("guessed", by_name["fork.air.main_volume"]["from"])
        for number in known:
            self.assertGreater(len(number["source"]), 4)
            self.assertGreaterEqual(number["spread"], 0)
        self.assertAlmostEqual(0.22, by_name["fork.air.main_volume"]["spread"], delta=0.01)

    def test_a_fit_says_predictions_first_and_withholds_what_it_does_not_know(self):
        done = self.plunge("fit", self.begun(), READINGS)
        text = done.stdout
        order = [text.index(words) for words in
                 ("force at full travel", "next best reading", "fork.air.main_volume",
                  "undetermined by these readings", "chi-square")]  # fmt: skip
        self.assertEqual(sorted(order), order)
        undetermined = text.split("undetermined")[1].split("\n\n")[0]
        self.assertIn("fork.rebound.low_speed", undetermined)
        found = json.loads(self.plunge("fit", "rented.toml", READINGS, "--json").stdout)
        self.assertIsNone(found["alarm"])
        for number in found["numbers"]:
            self.assertEqual("value" in number, number["determined"], number)
        for prediction in found["predictions"]:
            self.assertLess(prediction["low"], prediction["value"])
            self.assertLess(prediction["value"], prediction["high"])
            self.assertLess(prediction["spread"], prediction["spread_before"])

    def test_a_table_of_readings_is_fitted_to_the_same_numbers(self):
        fork = self.begun()
        toml = self.plunge("fit", fork, READINGS, "--json").stdout
        table = self.plunge("fit", fork, READINGS.replace(".toml", ".csv"), "--json").stdout
        self.assertEqual(toml, table)

    def test_the_fitted_fork_is_ridden_and_fitted_further(self):
        self.plunge("fit", self.begun(), READINGS, "-o", "fitted.toml")
        fitted = tomllib.loads((self.folder / "fitted.toml").read_text(encoding="utf-8"))
        self.assertEqual("fitted", fitted["known"]["air"]["main_volume"]["from"])
        self.assertEqual("guessed", fitted["known"]["rebound"]["low_speed"]["from"])
        self.assertIn("air.main_volume", fitted["joint"]["names"])
        self.plunge("check", "fitted.toml")
        done = self.plunge("ride", self.scene_with("fitted.toml"), "-o", "a.h5")
        self.assertRegex(done.stderr, r"guessed, \d+ fitted")
        more = self.put("more.toml", """type = "readings"
format = [1, 4]
[[reading]]
kind = "spacers"
count = 4
reads = "32.2 cm3"
spread = "0.5 cm3"
""")
        before = json.loads(self.plunge("fit", "rented.toml", READINGS, "--json").stdout)
        after = json.loads(self.plunge("fit", "fitted.toml", more, "--json").stdout)
        self.assertAlmostEqual(before["predictions"][1]["spread"],
                               after["predictions"][1]["spread_before"], delta=0.002)  # fmt: skip
        self.assertLess(after["predictions"][1]["spread"],
                        after["predictions"][1]["spread_before"])  # fmt: skip

    def test_a_doctored_reading_raises_an_alarm_and_nothing_is_written(self):
        fork = self.begun()
        text = (ROOT / READINGS).read_text(encoding="utf-8")
        text += """
[[reading]]
kind = "spacers"
instrument = "kitchen scale"
count = 2
reads = "27 cm3"
spread = "0.5 cm3"
"""
        doctored = self.put("doctored.toml", text)
        found = json.loads(self.plunge("fit", fork, doctored, "--json").stdout)
        self.assertIn("kitchen scale", found["alarm"]["culprit"])
        done = self.plunge("fit", fork, doctored, "-o", "fitted.toml", expect=1)
        self.assertIn("contradict each other", done.stderr)
        self.assertIn("kitchen scale", done.stderr)
        self.assertFalse((self.folder / "fitted.toml").exists())
        self.plunge("fit", fork, doctored, "-o", "fitted.toml", "--anyway")
        self.assertTrue((self.folder / "fitted.toml").exists())

    def test_rings_and_returns_say_something_of_the_damper(self):
        fork = self.begun()
        readings = self.put("damper.toml", f"""type = "readings"
format = [1, 4]
[[reading]]
kind = "return"
pressure = "70 psi"
travel = "100 mm"
reads = "110 ms"
spread = "4 ms"
[[reading]]
kind = "ring"
scene = "{ROOT}/{SCENE}"
pressure = "70 psi"
reads = "108 mm"
spread = "3 mm"
""")
        found = json.loads(self.plunge("fit", fork, readings, "--json").stdout)
        spreads = {n["name"]: n["spread"] / n["spread_before"] for n in found["numbers"]}
        self.assertLess(min(spreads["fork.rebound.low_speed"], spreads["fork.rebound.high_speed"]),
                        0.95)  # fmt: skip
        self.assertLess(spreads["fork.compression.low_speed"], 0.999)

    def test_a_fork_file_without_marks_is_fitted_with_the_spreads_of_the_family(self):
        done = self.plunge("fit", "scenarios/forks/teasel-150.toml", READINGS)
        self.assertIn("says nothing of how well its numbers are known", done.stderr)


if __name__ == "__main__":
    unittest.main()
