"""sweep merge and sweep report as people and programs call them."""

import json
import os
import pathlib
import subprocess
import tempfile
import unittest

SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "scenarios"

PLAN = f"""
type = "plan"
format = [1, 0]
name = "spacers and pressure"
scenes = ["{SCENARIOS}/scenes/drop-to-flat.toml"]
[[axis]]
name = "fork.spacers"
values = "0..2"
[[axis]]
name = "fork.pressure"
values = "60 psi..90 psi:10 psi"
[keep]
metrics = ["travel_max", "travel_use", "metal_contacts", "hand_force_max"]
[sweep]
shard = 4
"""


class MergeAndReport(unittest.TestCase):
    def setUp(self):
        self.scratch = tempfile.TemporaryDirectory()
        self.addCleanup(self.scratch.cleanup)
        self.folder = pathlib.Path(self.scratch.name)
        (self.folder / "plan.toml").write_text(PLAN, encoding="utf-8")
        self.run_plunge("sweep", "plan.toml", "-o", "out", "--threads", "1")

    def run_plunge(self, *arguments, expect=0):
        done = subprocess.run(
            [os.environ["PLUNGE_PROGRAM"], *map(str, arguments)],
            cwd=self.folder, capture_output=True, text=True, check=False,
        )  # fmt: skip
        self.assertEqual(expect, done.returncode, done.stderr)
        return done

    def report(self, *arguments):
        done = self.run_plunge("sweep", "report", "all.h5", "--json", *arguments)
        return json.loads(done.stdout)["report"]

    def test_merge_says_what_it_wrote_and_what_to_do_next(self):
        done = self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        self.assertIn("12 rides of spacers and pressure", done.stdout)
        self.assertIn("plunge sweep report all.h5", done.stdout)
        said = json.loads(self.run_plunge("sweep", "merge", "out", "-o", "b.h5", "--json").stdout)
        self.assertEqual(3, said["merge"]["shards_merged"])
        self.assertEqual(
            (self.folder / "all.h5").read_bytes(), (self.folder / "b.h5").read_bytes()
        )

    def test_missing_shards_are_refused_unless_asked_for(self):
        (self.folder / "out" / "shard-00000001.h5").unlink()
        done = self.run_plunge("sweep", "merge", "out", "-o", "all.h5", expect=2)
        self.assertIn("1 of 3 shards is missing (shard-00000001.h5)", done.stderr)
        self.assertIn("--partial", done.stderr)
        self.assertFalse((self.folder / "all.h5").exists())
        done = self.run_plunge("sweep", "merge", "out", "-o", "all.h5", "--partial")
        self.assertIn("4 rides not ridden", done.stdout)
        self.assertEqual(4, self.report()["not_ridden"])

    def test_the_name_of_an_input_is_no_output(self):
        done = self.run_plunge("sweep", "merge", "out", "-o", "plan.toml", expect=2)
        self.assertIn("has the name of an input", done.stderr)
        self.assertEqual(PLAN, (self.folder / "plan.toml").read_text(encoding="utf-8"))

    def test_report_json_has_extremes_indices_best_and_front(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        report = self.report(
            "--limit", "metal_contacts=0", "--limit", "travel_use<=70%",
            "--best", "hand_force_max:min", "--front", "hand_force_max:min,travel_max:min",
        )  # fmt: skip
        travel = report["metrics"]["travel_max"]
        # Common practice, no source: more air and more spacers, less travel.
        self.assertEqual((11, 0), (travel["least_in"], travel["most_in"]))
        self.assertEqual(12, travel["rides"])
        shares = {name: one["first"]["value"] for name, one in travel["indices"].items()}
        self.assertEqual({"fork.spacers", "fork.pressure"}, set(shares))
        # An exact decomposition over two axes: what they bring alone adds up to no more than all.
        self.assertLessEqual(sum(shares.values()), 1.0 + 1e-12)
        self.assertGreater(shares["fork.pressure"], shares["fork.spacers"])
        self.assertIsNone(travel["indices"]["fork.spacers"]["first"]["low"])
        forces = [ride["metrics"]["hand_force_max"] for ride in report["best"]]
        self.assertEqual(sorted(forces), forces)
        self.assertEqual(report["within_limits"], len(report["best"]))
        self.assertTrue(0 < len(report["best"]) < 10)
        for ride in report["best"]:
            self.assertLessEqual(ride["metrics"]["travel_use"], 0.7)
        travels = [ride["metrics"]["travel_max"] for ride in report["front"]]
        self.assertEqual(sorted(travels, reverse=True), travels)
        self.assertEqual(report["best"][0]["ride"], report["front"][0]["ride"])
        self.assertEqual("drop-to-flat", report["front"][0]["set"]["scene"])

    def test_people_read_workshop_units(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        said = self.run_plunge(
            "sweep", "report", "all.h5", "--limit", "travel_use<=70%", "--best",
            "hand_force_max:min",
        ).stdout  # fmt: skip
        for words in ("12 rides", "none failed", "psi", "mm", "What matters most", "exactly",
                      "within the limits travel_use<=70%", "least hand force peak"):
            self.assertIn(words, said)

    def test_three_plots_are_drawn(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        for name, asked in (
            ("matters.png", []),
            ("front.svg", ["--front", "hand_force_max:min,travel_max:min"]),
            ("map.pdf", ["--map", "travel_use:fork.pressure,fork.spacers"]),
        ):
            self.run_plunge("sweep", "report", "all.h5", "--plot", name, *asked)
            self.assertGreater((self.folder / name).stat().st_size, 1000, name)

    def test_wrong_questions_are_refused(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        for asked, words in (
            (["--limit", "travel<=5 mm"], "is not among the metrics that the sweep kept"),
            (["--limit", "travel_max<=5"], "--limit"),
            (["--best", "travel_max"], "min or max"),
            (["--front", "travel_max:min"], "must be two metrics"),
            (["--map", "travel_max:fork.spacers,fork.pressure"], "--plot"),
            (["--map", "travel_max:fork.spacers,rider", "--plot", "a.png"], "axes of the grid"),
            (["--plot", "a.gif"], ".png"),
        ):
            done = self.run_plunge("sweep", "report", "all.h5", *asked, expect=2)
            self.assertIn(words, done.stderr)
        done = self.run_plunge("sweep", "report", "out/shard-00000000.h5", expect=2)
        self.assertIn("the file that plunge sweep merge writes", done.stderr)


if __name__ == "__main__":
    unittest.main()
