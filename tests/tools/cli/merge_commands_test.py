"""sweep merge and sweep report as people and programs call them."""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "scenarios"

PLAN = sweep_plan.grid_plan()


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

    def test_where_metrics_and_bar_say_what_is_shown(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        asked = ["--where", "fork.pressure=70psi..80psi", "--where", "fork.spacers=1",
                 "--metrics", "travel_max"]  # fmt: skip
        said = self.run_plunge("sweep", "report", "all.h5", "--bar", *asked).stdout
        self.assertIn("spacers and pressure: 2 rides of 12\n", said)
        self.assertRegex(said, r"\n5 +4\.826\n6 +5\.516\n")  # 70 and 80 psi; numbers stay
        self.assertNotIn("hand force", said)
        report = self.report(*asked)
        self.assertEqual((2, ["travel_max"]), (report["rides"], list(report["metrics"])))
        whole = self.report()["metrics"]["travel_max"]
        self.assertEqual(12, whole["rides"])

    def test_lines_fit_the_terminal(self):
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        for columns in (60, 80, 200):
            said = subprocess.run(
                [os.environ["PLUNGE_PROGRAM"], "sweep", "report", "all.h5", "--best", "hand_force_max"],
                cwd=self.folder, capture_output=True, text=True, check=True,
                env={**os.environ, "COLUMNS": str(columns)},
            ).stdout  # fmt: skip
            table = said[said.index("the best 10 rides") :].splitlines()[1:]
            self.assertLessEqual(max(map(len, table)), columns)
        self.assertEqual(12 - 2 + 1, len([line for line in table if re.match(r"\d|ride", line)]))

    # By hand from the rides themselves, over the riders.
    def test_choices_are_judged_over_what_varies(self):
        marked = PLAN.replace('name = "fork.spacers"', 'name = "fork.spacers"\nrole = "chosen"')
        marked = marked.replace('name = "fork.pressure"', 'name = "fork.pressure"\nrole = "chosen"')
        riders = ", ".join(f'"{SCENARIOS}/riders/{name}.toml"' for name in ("wren", "hazel", "alder"))
        marked = marked.replace(
            "[keep]", f'[[axis]]\nname = "rider"\nrole = "varies"\nvalues = [{riders}]\n[keep]'
        )
        (self.folder / "marked.toml").write_text(marked, encoding="utf-8")
        self.run_plunge("sweep", "marked.toml", "-o", "marked")
        self.run_plunge("sweep", "merge", "marked", "-o", "all.h5")
        asked = ["--best", "travel_max:min", "--limit", "travel_use<=70%", "--met", "60%"]
        report = self.report(*asked)
        self.assertEqual(["fork.spacers", "fork.pressure"], report["chosen"])
        self.assertEqual(["scene", "rider"], report["varies"])
        self.assertEqual((12, 3), (len(report["choices"]), report["rides_of_a_choice"]))
        one = report["choices"][5]
        rides = [
            self.report("--where", "fork.spacers=1", "--where", "fork.pressure=70psi", "--where",
                        f"rider={rider}", "--metrics", "travel_max,travel_use")["metrics"]
            for rider in ("wren", "hazel", "alder")
        ]  # fmt: skip
        travel = sorted(ride["travel_max"]["median"] for ride in rides)
        told = one["metrics"]["travel_max"]
        self.assertEqual({"fork.spacers": 1.0}, {"fork.spacers": one["set"]["fork.spacers"]})
        self.assertAlmostEqual(travel[1], told["median"], 12)
        self.assertAlmostEqual(travel[1] + 0.8 * (travel[2] - travel[1]), told["nine_in_ten"], 12)
        within = sum(ride["travel_use"]["most"] <= 0.7 for ride in rides) / 3
        self.assertAlmostEqual(within, one["within_share"], 12)
        worst = [choice["metrics"]["travel_max"]["nine_in_ten"] for choice in report["best"]]
        self.assertEqual(sorted(worst), worst)
        self.assertTrue(all(choice["within_share"] >= 0.6 for choice in report["best"]))
        self.assertEqual(report["within_limits"],
                         sum(choice["within_share"] >= 0.6 for choice in report["choices"]))  # fmt: skip
        said = self.run_plunge("sweep", "report", "all.h5", *asked).stdout
        for words in ("chosen: fork.spacers (3), fork.pressure (4)", "varies: scene (1), rider (3)",
                      "12 choices, 3 rides of each", "in at least 60 % of their rides",
                      "metal contact"):  # fmt: skip
            self.assertIn(words, " ".join(said.split()))
        self.run_plunge("sweep", "report", "all.h5", "--plot", "a.svg", "--front",
                        "travel_max:min,hand_force_max:min")  # fmt: skip
        self.assertIn("all choices", (self.folder / "a.svg").read_text(encoding="utf-8"))

    def test_marking_an_axis_later_changes_no_ride(self):
        marked = PLAN.replace('name = "fork.spacers"', 'name = "fork.spacers"\nrole = "chosen"')
        marked = marked.replace('name = "fork.pressure"', 'name = "fork.pressure"\nrole = "varies"')
        (self.folder / "plan.toml").write_text(marked, encoding="utf-8")
        done = self.run_plunge("sweep", "plan.toml", "-o", "out")
        self.assertNotIn("ridden now", done.stdout)
        self.run_plunge("sweep", "merge", "out", "-o", "all.h5")
        self.assertEqual(3, len(self.report()["choices"]))

    def test_names_with_control_characters_are_written_out(self):
        text = PLAN.replace("spacers and pressure", "\\u001b[31mred")
        (self.folder / "plan.toml").write_text(text, encoding="utf-8")
        self.run_plunge("sweep", "plan.toml", "-o", "out")
        merged = self.run_plunge("sweep", "merge", "out", "-o", "a\x1bll.h5").stdout
        said = self.run_plunge("sweep", "report", "a\x1bll.h5", "--best", "hand_force_max").stdout
        for text in (merged, said):
            self.assertNotIn("\x1b", text)
            self.assertIn("\\x1b[31mred", text)

    def test_check_says_how_many_rides_how_long_and_how_large(self):
        before = sorted(path.name for path in self.folder.iterdir())
        said = self.run_plunge("check", "plan.toml").stdout
        self.assertIn("plan.toml: good\n  12 rides: scene (1) x fork.spacers (3) x fork.pressure (4)\n",
                      said)  # fmt: skip
        self.assertRegex(said, r"about [\d.]+ m?s on .* of this machine: an estimate from 12 of the rides")
        self.assertRegex(said, r"about \d+ kB in 3 shards, \d+ kB merged")
        checked = json.loads(self.run_plunge("check", "--json", "plan.toml").stdout)
        self.assertEqual([], checked["faults"])
        plan = checked["plans"][0]
        self.assertEqual((12, 3, 12, 0), (plan["rides"], plan["shards"], plan["tried"], plan["failed"]))
        self.assertGreater(plan["seconds"], 0)
        self.assertEqual(before, sorted(path.name for path in self.folder.iterdir()))
        wrong = PLAN.replace("0..2", "0..x")
        (self.folder / "plan.toml").write_text(wrong, encoding="utf-8")
        said = self.run_plunge("check", "plan.toml", expect=2).stdout
        self.assertNotIn("rides", said)

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
            (["--limit", "travel<=5 mm"], '"travel" is no metric that the sweep kept; did you mean'),
            (["--limit", "travel_max<=5"], "--limit"),
            (["--limit", "travel_use<=95"], '95 needs its unit, such as "95%"'),
            (["--best", "travel_max"], "min or max"),
            (["--best", "handforce"], '"handforce" is no metric that the sweep kept; did you mean '
             '"hand_force_max"'),
            (["--metrics", "travel_mix"], 'did you mean "travel_max"'),
            (["--where", "fork.spacers=7"], "the nearest is 2; there is 0, 1, 2"),
            (["--where", "rider=wren"], "the sweep has no axis"),
            (["--limit", "metal_contacts=0", "--met", "80%"], "is read only where the plan says"),
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
