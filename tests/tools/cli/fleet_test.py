"""The fleet plan of Kestrel Hollow, and the script that reads its sweep.

Needs PLUNGE_PROGRAM, the built program."""

import csv
import importlib.util
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import tomllib
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
PLANS = ROOT / "scenarios" / "plans"
SCENES = ROOT / "scenarios" / "scenes"
PLOTS = ("travel-use.png", "hand-force.png", "what-matters.png", "trade-off.png")

# Two values of every axis: within what the fleet plan has, and so that some setups keep the limits.
TWO_OF_EACH = {
    "fork": ("../forks/teasel-150.toml", "../forks/bracken-200.toml"),
    "rider": ("../riders/hazel.toml", "../riders/alder.toml"),
    "fork.spacers": (3, 4),
    "fork.pressure": ("72 psi", "98 psi"),
    "fork.rebound.clicks": (8, 14),
}
TWO_SCENES = ("../scenes/g-out.toml", "../scenes/drop-to-landing.toml")

MISSING = [
    name for name in ("xarray", "netCDF4", "matplotlib") if importlib.util.find_spec(name) is None
]


def plunge(*arguments, folder):
    done = subprocess.run(
        [PROGRAM, *map(str, arguments)], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def absolute(name):
    return str((PLANS / name).resolve())


def thinned(plan):
    """The text of a plan with two values of each axis."""
    lines = [
        'type = "plan"',
        "format = [1, 0]",
        f"name = {json.dumps(plan['name'])}",
        f"scenes = {json.dumps([absolute(scene) for scene in TWO_SCENES])}",
    ]
    for axis in plan["axis"]:
        values = list(TWO_OF_EACH[axis["name"]])
        if axis["name"] in ("fork", "rider"):
            values = [absolute(value) for value in values]
        lines += ["[[axis]]", f'name = "{axis["name"]}"', f"values = {json.dumps(values)}"]
    lines += ["[keep]", f"metrics = {json.dumps(plan['keep']['metrics'])}"]
    return "\n".join(lines) + "\n"


class FleetPlan(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-fleet-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        self.plan = tomllib.loads((PLANS / "fleet.toml").read_text(encoding="utf-8"))

    def test_it_has_every_short_scene_and_rides_enough_to_matter(self):
        scenes = {path.stem for path in SCENES.glob("*.toml")} - {"descent"}
        self.assertEqual(scenes, {pathlib.Path(scene).stem for scene in self.plan["scenes"]})
        # By hand: 8 scenes, 3 forks, 3 riders, 5 spacer counts, 41 pressures, 8 clicks.
        rides = 8 * 3 * 3 * 5 * 41 * 8
        # The first of very many parts rides one shard; its folder knows the whole plan.
        told = plunge(
            "sweep", PLANS / "fleet.toml", "-o", "out", "--shard", "1/10000", "--json",
            folder=self.folder,
        )  # fmt: skip
        self.assertEqual(0, json.loads(told)["sweep"]["failed"])
        status = json.loads(plunge("sweep", "status", "out", "--json", folder=self.folder))
        self.assertEqual(rides, status["status"]["rides"])
        self.assertGreaterEqual(rides, 100_000)
        for page in (ROOT / "README.md", PLANS / "fleet.toml"):
            self.assertIn(f"{rides:,}".replace(",", " "), page.read_text(encoding="utf-8"), page)

    @unittest.skipIf(MISSING, f"without {MISSING}")
    def test_the_whole_plan_has_the_dimensions_that_the_script_reads(self):
        import xarray

        plunge("sweep", PLANS / "fleet.toml", "-o", "out", "--shard", "1/10000",
               folder=self.folder)  # fmt: skip
        plunge("sweep", "merge", "out", "-o", "all.h5", "--partial", folder=self.folder)
        with xarray.open_dataset(self.folder / "all.h5", engine="netcdf4") as sweep:
            self.assertEqual(
                {"scene": 8, "fork": 3, "rider": 3, "fork_spacers": 5, "fork_pressure": 41,
                 "fork_rebound_clicks": 8},
                dict(zip(sweep.travel_use.dims, sweep.travel_use.shape)),
            )  # fmt: skip

    def test_no_pressure_is_past_a_rating_and_no_spacer_past_a_limit(self):
        ranges = {axis["name"]: axis["values"] for axis in self.plan["axis"]}
        most_pressure = float(ranges["fork.pressure"].split("..")[1].split()[0])
        most_spacers = int(ranges["fork.spacers"].split("..")[1])
        for name in ranges["fork"]:
            fork = tomllib.loads(pathlib.Path(absolute(name)).read_text(encoding="utf-8"))
            limit, unit = fork["pressure_limit"].split()
            self.assertEqual("psi", unit)
            self.assertLessEqual(most_pressure, float(limit), name)
            self.assertLessEqual(most_spacers, fork["spacer_limit"], name)


@unittest.skipIf(MISSING, f"without {MISSING}")
class FleetScript(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-fleet-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        plan = tomllib.loads((PLANS / "fleet.toml").read_text(encoding="utf-8"))
        (cls.folder / "plan.toml").write_text(thinned(plan), encoding="utf-8")
        plunge("sweep", "plan.toml", "-o", "out", folder=cls.folder)
        plunge("sweep", "merge", "out", "-o", "all.h5", folder=cls.folder)
        report = plunge("sweep", "report", "all.h5", "--json", folder=cls.folder)
        (cls.folder / "report.json").write_text(report, encoding="utf-8")
        cls.done = subprocess.run(
            [sys.executable, "-B", PLANS / "fleet.py", "all.h5", "plots", "--report",
             "report.json"],
            cwd=cls.folder, capture_output=True, text=True, check=False,
        )  # fmt: skip

    def table(self):
        self.assertEqual(0, self.done.returncode, self.done.stderr)
        with open(self.folder / "plots" / "setups.csv", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def ride(self, row, scene):
        """The metrics of one scene with the setup of a row, from `plunge ride`."""
        text = (SCENES / f"{scene}.toml").read_text(encoding="utf-8")
        parts = tomllib.loads(text)
        text = text.replace(f'"{parts["fork"]}"', f'"../forks/{row["fork"]}.toml"')
        text = text.replace(f'"{parts["rider"]}"', f'"../riders/{row["rider"]}.toml"')
        text = text.replace(f'[hold]\nsag = "{parts["hold"]["sag"]}"\n', "")
        text = text.replace('"../', f'"{ROOT}/scenarios/')
        (self.folder / "one.toml").write_text(text, encoding="utf-8")
        told = plunge(
            "ride", "one.toml", "--json", "-o", "one.h5",
            "--set", f"fork.spacers={row['spacers']}",
            "--set", f"fork.pressure={row['pressure_psi']} psi",
            "--set", f"fork.rebound.clicks={row['rebound_clicks']}",
            folder=self.folder,
        )  # fmt: skip
        return json.loads(told)["rides"][0]["metrics"]

    def test_it_runs_and_draws(self):
        self.assertEqual(0, self.done.returncode, self.done.stderr)
        self.assertEqual("", self.done.stderr)
        for plot in PLOTS:
            self.assertGreater((self.folder / "plots" / plot).stat().st_size, 10_000, plot)
        for words in ("64 rides, 0 failed", "For the rental desk", "Let all air out"):
            self.assertIn(words, self.done.stdout)

    # Tolerances: what a sweep's lanes are held to against the adaptive path.
    def test_its_table_says_what_plunge_ride_says(self):
        rows = [row for row in self.table() if row["spacers"]]
        self.assertGreaterEqual(len(rows), 2)
        for row in (rows[0], rows[-1]):
            travel = self.ride(row, row["travel_scene"])
            self.assertLess(abs(travel["travel_max"] - float(row["travel_mm"]) / 1000), 1e-4, row)
            self.assertAlmostEqual(
                travel["travel_use"], float(row["travel_percent"]) / 100, delta=1e-3
            )
            self.assertEqual(0, travel["metal_contacts"])
            self.assertLessEqual(travel["travel_use"], 0.95 + 1e-3)
            for force, metric in (("hand", "hand_force_max"), ("ground", "ground_force_max")):
                peak = self.ride(row, row[f"{force}_scene"])[metric]
                self.assertAlmostEqual(peak, float(row[f"{force}_force_N"]), delta=0.01 * peak)

    # An exact decomposition of a grid has one answer; theirs are worked out apart.
    def test_xarray_and_the_report_agree_on_what_matters(self):
        self.table()
        line = next(line for line in self.done.stdout.split("\n") if "says the same" in line)
        words = line.split()
        self.assertGreater(int(words[words.index("shares") - 1]), 20, line)
        self.assertLess(float(words[-1]), 1e-9, line)


if __name__ == "__main__":
    unittest.main()
