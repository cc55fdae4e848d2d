"""The whole road of a workshop: a fork begun, its readings, the fit, the log, what to set, the ride, and
how well it was foretold.

Needs PLUNGE_PROGRAM, the built program."""

import json
import os
import pathlib
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
LOG = "workshop.plunge-log"
READINGS = "scenarios/readings/rented-140.toml"
SCENE = "scenarios/scenes/drop-to-flat.toml"


class Road(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-workshop-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        (cls.folder / "scenarios").symlink_to(ROOT / "scenarios")
        cls.plunge("fork", "--travel", "140mm", "--stanchion", "34mm", "--spacer", "8cm3",
                   "--name", "rented", "-o", "rented.toml")  # fmt: skip
        for words in (
            ["fork", "rented", "file=rented.toml"],
            ["rider", "guest", "mass=82kg", "front_share=40%"],
            ["bike", "trail", "file=scenarios/bikes/trail.toml"],
            ["reading", "sag", "fork=rented", "fork.pressure=70psi", "load=26kg", "moving=down",
             "value=25mm", "spread=2mm", "instrument=zip tie and ruler"],
            ["reading", "pump_on", "fork=rented", "fork.pressure=70psi", "value=186psi", "spread=2psi",
             "instrument=dial gauge"],
            ["reading", "push", "fork=rented", "fork.pressure=30psi", "moving=down", "value=57kg",
             "spread=1kg", "instrument=bathroom scale"],
            ["reading", "smell", "fork=rented", "value=1"],
        ):  # fmt: skip
            cls.plunge("log", "add", *words)
        cls.fit = cls.plunge("fit", "rented", "--log", LOG, "--add", "rented, fitted", "-o",
                             "fitted.toml", "--json")  # fmt: skip
        cls.plunge("log", "add", "setting", "as it came", "fork=rented, fitted", "rider=guest",
                   "bike=trail", "fork.pressure=70psi", "fork.spacers=0")  # fmt: skip
        cls.asked = ["suggest", "--log", LOG, "--setting", "as it came", "--scene", SCENE,
                     "--complaint", "uses all the travel"]  # fmt: skip
        cls.said = cls.plunge(*cls.asked, "--keep", "--json")
        cls.found = json.loads(cls.said.stdout)["suggestion"]
        kept = cls.found["kept"]
        look = cls.found["next"]["look"]
        cls.ring = look["travel_max"] + 0.001
        cls.plunge("log", "add", "ride", str(kept["setting"]), f"scene={look['scene']}",
                   f"ring={1e3 * cls.ring:.3f}mm")  # fmt: skip

    @classmethod
    def plunge(cls, *words, expect=0):
        environment = {**os.environ, "LC_ALL": "C.UTF-8"}
        environment.pop("PLUNGE_LOG", None)
        done = subprocess.run([PROGRAM, *words], cwd=cls.folder, env=environment, capture_output=True,
                              text=True, check=False)  # fmt: skip
        assert done.returncode == expect, (words, done.returncode, done.stdout, done.stderr)
        return done

    def entry(self, number):
        return json.loads(self.plunge("log", "show", str(number), "--json").stdout)["log"]["entry"]

    def test_readings_of_the_log_are_fitted_as_those_of_a_file(self):
        of_log = json.loads(self.fit.stdout)
        of_file = json.loads(self.plunge("fit", "rented.toml", READINGS, "--json").stdout)
        for a, b in zip(of_log["predictions"], of_file["predictions"]):
            self.assertAlmostEqual(a["value"], b["value"], delta=1e-5 * b["value"])
            self.assertAlmostEqual(a["spread"], b["spread"], delta=1e-5)
        self.assertIn('left out: reading 7: "smell" is no kind that plunge fit takes', self.fit.stderr)
        added = self.entry(8)
        self.assertEqual("rented, fitted", added["name"])
        self.assertEqual("fitted from rented, readings 4, 5, 6", added["remarks"])
        self.assertIn("in it are", added["file"])

    def test_no_reading_is_counted_twice(self):
        for fork in ("fitted.toml", "rented, fitted"):
            more = [] if fork == "fitted.toml" else ["--log", LOG]
            said = self.plunge("fit", fork, READINGS, *more, expect=2).stderr
            self.assertIn("reading 1 (sag), zip tie and ruler: is in this fork's numbers already", said)
        said = self.plunge("fit", "rented, fitted", "--log", LOG, expect=2).stderr
        self.assertIn("the log has none of this fork that plunge fit takes", said)

    def test_the_next_step_and_its_prediction_are_kept(self):
        kept = self.found["kept"]
        setting, prediction = self.entry(kept["setting"]), self.entry(kept["prediction"])
        step = self.found["next"]
        for name in ("fork.pressure", "fork.spacers"):
            self.assertAlmostEqual(step["set"][name], setting["numbers"][name], delta=1e-6)
        self.assertEqual(self.entry(9)["key"], setting["parent"])
        self.assertEqual(setting["key"], prediction["setting"])
        self.assertEqual("rented, fitted", self.entry(8)["name"])
        look = step["look"]
        self.assertAlmostEqual(look["travel_max"], prediction["numbers"]["travel_max"], delta=1e-6)
        self.assertAlmostEqual(look["travel_max_p5"], prediction["ring_low"], delta=1e-6)
        self.assertEqual(look["scene"], prediction["scene"])
        self.assertLess(prediction["ring_low"], prediction["ring_high"])

    def test_what_was_foretold_is_held_against_the_ring(self):
        account = json.loads(self.plunge("log", "--json").stdout)["log"]["account"]
        self.assertEqual(1, account["foretold"]["rides"])
        self.assertAlmostEqual(1e-3, account["foretold"]["mean_error"], delta=2e-6)
        self.assertEqual((1, 1), (account["foretold"]["banded"], account["foretold"]["inside"]))
        self.assertIn("1 ride foretold: the ring read 1.0 mm more on average; 1 of 1 within its band",
                      self.plunge("log").stdout)  # fmt: skip

    def test_what_is_not_known_of_the_fork_is_counted_in(self):
        fork = self.found["fork"]
        self.assertGreater(fork["uncertain"], 10)
        self.assertEqual(128, fork["draws"])
        self.assertGreater(len(fork["reading"]), 5)
        self.assertLess(fork["spread_with"], fork["spread"])
        for each in (self.found["today"], self.found["next"]):
            self.assertGreaterEqual(fork["chance_as_it_stands"], 0)
            low, high = each["pressure_band"]
            self.assertLess(low, each["set"]["fork.pressure"])
            self.assertLess(each["set"]["fork.pressure"], high)
            self.assertLess(*each["sag_band"])

    def test_what_the_log_says_is_not_said_again(self):
        for more, says in (
            (["--pressure", "70psi"], "--pressure = 70psi: must be left out: setting 9 says it"),
            (["--fork", "rented.toml"], "--fork = rented.toml: must be left out: setting 9 says it"),
            (["--rider", "scenarios/riders/hazel.toml"], "must be left out: setting 9 says it"),
        ):  # fmt: skip
            self.assertIn(says, self.plunge(*self.asked, *more, expect=2).stderr)
        for words, says in (
            (["--keep"], "--keep: needs a log: give --log too"),
            (["--setting", "9"], "--setting = 9: is of a log: give --log too"),
            (["--log", LOG], "--setting: must be given with --log"),
            (["--log", LOG, "--setting", "no"], 'setting = "no": is no name and no number'),
        ):  # fmt: skip
            self.assertIn(says, self.plunge("suggest", *words, expect=2).stderr)
        self.assertIn("readings: must be given: a file, or a log with --log",
                      self.plunge("fit", "rented.toml", expect=2).stderr)  # fmt: skip
        self.assertIn("--add = x: needs the log that it goes into: --log",
                      self.plunge("fit", "rented.toml", READINGS, "--add", "x", expect=2).stderr)  # fmt: skip


if __name__ == "__main__":
    unittest.main()
