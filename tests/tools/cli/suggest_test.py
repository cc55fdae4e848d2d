"""plunge suggest as a workshop meets it: the shipped brief, JSON, refusals, Ctrl-C.

Needs PLUNGE_PROGRAM, the built program."""

import json
import os
import pathlib
import signal
import subprocess
import tempfile
import time
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
BRIEF = "scenarios/briefs/first-season.toml"
QUICK = [
    "--fork", "scenarios/forks/sorrel-120.toml", "--rider", "scenarios/riders/wren.toml",
    "--scene", "scenarios/scenes/square-edge.toml",
]  # fmt: skip


def suggest(*arguments, **more):
    environment = {**os.environ, "LC_ALL": "C.UTF-8"}
    environment.pop("COLUMNS", None)
    return subprocess.run(
        [PROGRAM, "suggest", *arguments], cwd=ROOT, env=environment, capture_output=True,
        text=True, check=False, **more,
    )  # fmt: skip


class Shipped(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.words = suggest(BRIEF)
        cls.json = suggest(BRIEF, "--json")
        cls.found = json.loads(cls.json.stdout)["suggestion"]

    def test_it_is_answered_in_words(self):
        self.assertEqual(0, self.words.returncode, self.words.stderr)
        text = self.words.stdout
        for part in ("today: 0 spacers, 67 psi", "breaks:", "next step:", "look at the ring",
                     '"uses all the travel"', '"dives braking"', "Let all\nair out",
                     "at most 5 spacers"):  # fmt: skip
            self.assertIn(part.replace("\n", " "), " ".join(text.split()))
        self.assertNotIn("\\x", text)
        self.assertNotIn("nan", text)
        self.assertTrue(all(len(line) <= 80 for line in text.splitlines()))

    def test_the_choices_are_ranked_and_keep_the_limits(self):
        choices = self.found["choices"]
        self.assertTrue(1 <= len(choices) <= 5)
        for before, after in zip(choices, choices[1:]):
            self.assertGreaterEqual(before["chance"], after["chance"] - 0.02)
            self.assertGreater(before["comfort"], after["comfort"])
        for each in [*choices, self.found["next"]]:
            self.assertTrue(0 <= each["set"]["fork.spacers"] <= 5)
            self.assertLessEqual(each["set"]["fork.pressure"], 150 * 6894.757293168361)
            self.assertEqual(4, len(each["effects"]))
        self.assertLessEqual(self.found["settings"], 800)
        self.assertEqual(choices[0]["all_met"], self.found["can_be_met"])

    def test_a_choice_is_what_ride_says_of_it(self):
        choice = self.found["choices"][0]
        given = [f"--set={name}={value!r}Pa" if name == "fork.pressure" else f"--set={name}={value:.0f}"
                 for name, value in choice["set"].items()]
        with tempfile.TemporaryDirectory() as folder:
            ride = subprocess.run(
                [PROGRAM, "ride", "scenarios/scenes/drop-to-flat.toml", *given, "--json",
                 "-o", f"{folder}/ride.h5"],
                cwd=ROOT, capture_output=True, text=True, check=True,
            )  # fmt: skip
        metrics = json.loads(ride.stdout)["rides"][0]["metrics"]
        scene = choice["scenes"][0]["metrics"]
        self.assertAlmostEqual(metrics["travel_use"], scene["travel_use"], delta=1e-3)
        self.assertAlmostEqual(metrics["sag_share"], scene["sag_share"], delta=1e-9)

    def test_the_same_brief_has_the_same_answer(self):
        again = suggest(BRIEF, "--json", "--threads", "1")
        self.assertEqual(self.json.stdout, again.stdout)

    def test_its_complaints_are_held_against_the_model(self):
        for answer in self.found["complaints"]:
            self.assertTrue(answer["applies"])
            for change in answer["changes"]:
                self.assertEqual(change["advised"], abs(change["effect"]) > answer["luck"])


class Refusals(unittest.TestCase):
    def refused(self, *arguments):
        done = suggest(*arguments)
        self.assertEqual((2, ""), (done.returncode, done.stdout), done.stderr)
        return done.stderr

    def test_nothing_is_asked_without_a_fork(self):
        said = self.refused()
        for key in ("fork", "rider", "scenes"):
            self.assertIn(f"{key}: must be", said)

    def test_a_scene_is_no_brief(self):
        said = self.refused("scenarios/scenes/roots.toml")
        self.assertIn('scenarios/scenes/roots.toml:1:8: type = "scene": must be "brief" here', said)

    def test_a_brief_is_no_scene(self):
        done = subprocess.run([PROGRAM, "ride", BRIEF], cwd=ROOT, capture_output=True, text=True,
                              check=False)  # fmt: skip
        self.assertEqual(2, done.returncode)
        self.assertIn("a brief is answered by plunge suggest", done.stderr)

    def test_a_pressure_past_the_rating_is_refused(self):
        said = self.refused(*QUICK, "--pressure", "170psi")
        self.assertIn("--pressure: fork.pressure = 170 psi: must be at most 165 psi", said)

    def test_check_finds_the_faults_of_a_brief(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "brief.toml"
            text = (ROOT / BRIEF).read_text(encoding="utf-8").replace("../", f"{ROOT}/scenarios/")
            path.write_text(text.replace('"66 mm"', "66"), encoding="utf-8")
            done = subprocess.run([PROGRAM, "check", path], capture_output=True, text=True, check=False)
        self.assertEqual(2, done.returncode)
        self.assertIn("demands.brake_dive = 66: needs a length", done.stdout)

    def test_lanes_that_are_none(self):
        self.assertIn("--lanes = wide: must be portable", self.refused(*QUICK, "--lanes", "wide"))


class Small(unittest.TestCase):
    def test_without_a_file_what_is_usual_is_demanded_and_said(self):
        done = suggest(*QUICK, "--bar")
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertIn("what is usual is taken", done.stderr)
        self.assertIn("none of the", done.stdout)  # a step is no use of the travel
        self.assertIn("what would have to give", done.stdout)
        self.assertIn(" bar", done.stdout)
        self.assertNotIn("psi", done.stdout)

    def test_it_stops_when_asked(self):
        with subprocess.Popen(
            [PROGRAM, "suggest", BRIEF], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True,
        ) as process:  # fmt: skip
            time.sleep(0.3)
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=300)
        self.assertEqual((1, ""), (process.returncode, out))
        self.assertIn("interrupted; nothing was suggested", err)


if __name__ == "__main__":
    unittest.main()
