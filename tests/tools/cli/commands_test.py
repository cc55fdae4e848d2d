"""The commands as people and programs call them: what they print, write and return."""

import json
import math
import os
import pathlib
import re
import signal
import subprocess
import tempfile
import time
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
SCENES = ROOT / "scenarios" / "scenes"
DROP = str(SCENES / "drop-to-landing.toml")
FORKS = ROOT / "scenarios" / "forks"
TEASEL, COIL, BRACKEN = (
    FORKS / f"{name}.toml" for name in ("teasel-150", "teasel-150-coil", "bracken-200")
)
HAZEL = ROOT / "scenarios" / "riders" / "hazel.toml"


class Commands(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def run_plunge(self, *arguments, expect=0, columns=80):
        done = subprocess.run(
            [os.environ["PLUNGE_PROGRAM"], *map(str, arguments)],
            cwd=self.folder.name, capture_output=True, text=True, check=False,
            env={**os.environ, "COLUMNS": str(columns)},
        )  # fmt: skip
        self.assertEqual(expect, done.returncode, done.stderr)
        return done

    def made(self):
        return sorted(os.listdir(self.folder.name))

    def test_ride_json_has_one_ride_for_each_variant_in_order(self):
        done = self.run_plunge(
            "ride", DROP, "--vary", "fork.spacers=0..4", "--hold", "sag=22%", "--json"
        )
        rides = json.loads(done.stdout)["rides"]
        self.assertEqual([0, 1, 2, 3, 4], [ride["set"]["fork.spacers"] for ride in rides])
        pressures = [ride["held"]["fork.pressure"] for ride in rides]
        # Common practice, no source: at equal sag more spacers take a little less air, start softer.
        self.assertEqual(sorted(pressures, reverse=True), pressures)
        breakaway = [ride["metrics"]["breakaway_force"] for ride in rides]
        self.assertEqual(sorted(breakaway, reverse=True), breakaway)
        used = [ride["metrics"]["travel_use"] for ride in rides]
        self.assertEqual(sorted(used, reverse=True), used)
        # More force in mid-stroke at equal sag: less dive when the rider brakes after the landing.
        dives = [ride["metrics"]["brake_dive_max"] for ride in rides]
        self.assertEqual(sorted(dives, reverse=True), dives)
        self.assertGreater(dives[-1], 0.02)
        for ride in rides:
            self.assertAlmostEqual(0.22, ride["metrics"]["sag_share"], 9)
            self.assertLess(abs(ride["energy"]["closing_error"]), 1e-4)
            for name in ("travel_max", "metal_contacts", "ground_force_max"):
                self.assertTrue(math.isfinite(ride["metrics"][name]), name)
        self.assertEqual(["drop-to-landing.h5"], self.made())

    def test_two_variations_give_every_combination(self):
        done = self.run_plunge(
            "ride", DROP, "--vary", "fork.spacers=0,2", "--vary",
            "ride.speed=20 km/h..30 km/h:5 km/h", "--json",
        )  # fmt: skip
        rides = json.loads(done.stdout)["rides"]
        self.assertEqual(
            [(n, v) for n in (0, 2) for v in (20, 25, 30)],
            [(r["set"]["fork.spacers"], round(r["set"]["ride.speed"] * 3.6)) for r in rides],
        )

    def test_a_pressure_that_is_given_is_not_solved_for(self):
        given = ("--set", "fork.pressure=80 psi")
        done = self.run_plunge("ride", DROP, *given, "--json")
        self.assertIn("is not held", done.stderr)
        ride = json.loads(done.stdout)["rides"][0]
        self.assertAlmostEqual(80 * 6894.757293168, ride["metrics"]["pressure"], 3)
        self.assertEqual({}, ride["held"])
        varied = self.run_plunge("ride", DROP, "--vary", "fork.pressure=60psi..90psi:5psi", "--json")
        self.assertEqual(7, len(json.loads(varied.stdout)["rides"]))
        both = self.run_plunge("ride", DROP, *given, "--hold", "sag=22%", expect=2)
        self.assertIn("fork.pressure is given", both.stderr)

    def test_people_read_psi_or_bar(self):
        psi = self.run_plunge("ride", DROP, "--vary", "fork.spacers=0..1").stdout
        bar = self.run_plunge("ride", DROP, "--vary", "fork.spacers=0..1", "--bar").stdout
        self.assertIn("psi", psi)
        self.assertIn("bar", bar)
        self.assertNotIn("psi", bar)

    def test_every_plot_format_is_drawn(self):
        for suffix, magic in ((".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")):
            self.run_plunge("ride", DROP, "--plot", "drawn" + suffix)
            with open(os.path.join(self.folder.name, "drawn" + suffix), "rb") as file:
                self.assertEqual(magic, file.read(len(magic)))

    def test_compare_lays_files_side_by_side(self):
        self.run_plunge("ride", DROP, "-o", "a.h5", "--set", "fork.spacers=0")
        self.run_plunge("ride", DROP, "-o", "b.h5", "--set", "fork.spacers=3")
        text = self.run_plunge("compare", "a.h5", "b.h5", "--plot", "ab.png").stdout
        self.assertIn("B - A", text)
        rides = json.loads(self.run_plunge("compare", "a.h5", "b.h5", "--json").stdout)["rides"]
        self.assertEqual(["a.h5", "b.h5"], [ride["file"] for ride in rides])
        self.assertLess(rides[1]["metrics"]["travel_max"], rides[0]["metrics"]["travel_max"])
        self.assertIn("ab.png", self.made())

    def test_ride_says_who_rides_what_was_laid_over_and_what_all_have_in_common(self):
        given = ("ride", DROP, "--set", "rider.mass=90kg", "--vary", "fork.spacers=0..4")
        text = self.run_plunge(*given).stdout
        head, table = text.split("\n\n", 1)
        for line in ("teasel 150; hazel, 76 kg, here 90 kg; 35 km/h", "set: rider.mass = 90kg",
                     "varied: fork.spacers = 0..4", "sag held at 22.0 %"):  # fmt: skip
            self.assertIn("\n" + line, head)
        # The sag is held: it is said once and has no column.
        self.assertIn("\nthe same in all: sag 33.0 mm", head)
        self.assertNotIn("sag", table)
        self.assertNotIn("here", self.run_plunge("ride", DROP).stdout)
        kept = self.run_plunge("ride", DROP, "--hold", "pressure", "--set", "fork.pressure=70psi")
        self.assertIn("\npressure kept as given\n", kept.stdout)

    def test_what_never_happens_is_named_once_and_has_no_row(self):
        flat = str(SCENES / "drop-to-flat.toml")
        alone = self.run_plunge("ride", flat).stdout
        together = self.run_plunge("ride", flat, "--vary", "fork.spacers=0..1").stdout
        metrics = json.loads(self.run_plunge("ride", flat, "--json").stdout)["rides"][0]["metrics"]
        self.assertEqual((0, 0), (metrics["metal_contacts"], metrics["metal_speed_max"]))
        self.assertRegex(alone, r"none: .*metal contacts")
        self.assertRegex(together, r"in none: .*metal contacts")
        for text in (alone, together):
            self.assertEqual(1, text.count("metal contacts"))
            self.assertNotIn("metal closing", text)

    def test_compare_begins_with_the_inputs_that_differ(self):
        self.run_plunge("ride", DROP, "-o", "a.h5", "--hold", "sag=20%")
        self.run_plunge("ride", DROP, "-o", "b.h5", "--hold", "sag=25%", "--set", "rider.mass=90kg",
                        "--set", "fork.rebound.clicks=4")  # fmt: skip
        text = self.run_plunge("compare", "a.h5", "b.h5").stdout
        inputs = text.split("\ninputs that differ")[1].split("\n\n")[0]
        self.assertRegex(inputs, r"fork.rebound.clicks +9 +4\n")
        self.assertRegex(inputs, r"rider.mass +kg +76 +90\n")
        self.assertRegex(inputs, r"hold.sag +% +20.0 +25.0$")
        # Neither what follows from those nor what is solved for.
        self.assertEqual(4, len(inputs.splitlines()), inputs)
        self.assertLess(text.index("inputs that differ"), text.index("B - A"))
        self.assertIn("A: a", text)
        again = self.run_plunge("compare", "a.h5", "a.h5").stdout
        self.assertIn("no input differs", again)
        self.assertIn("no number differs", again)
        bar = self.run_plunge("compare", "a.h5", "b.h5", "--bar").stdout
        self.assertIn("psi", text)
        self.assertNotIn("psi", bar)
        self.assertRegex(bar, r"pressure +bar ")

    def test_compare_holds_each_scene_against_its_own_first_ride(self):
        flat = str(SCENES / "drop-to-flat.toml")
        for scene, name in ((DROP, "drop"), (flat, "flat")):
            for spacers in (0, 3):
                self.run_plunge("ride", scene, "--set", f"fork.spacers={spacers}",
                                "-o", f"{name}{spacers}.h5")  # fmt: skip
        text = self.run_plunge("compare", "drop0.h5", "flat0.h5", "drop3.h5", "flat3.h5").stdout
        first, second = text.split("Kestrel Hollow, the loading ramp\n")
        self.assertTrue(first.startswith("Kestrel Hollow, the quarry drop\n"))
        self.assertEqual(["C - A"], re.findall(r"[A-D] - [A-D]", first))
        self.assertEqual(["D - B"], re.findall(r"[A-D] - [A-D]", second))
        for block in (first, second):
            self.assertRegex(block, r"fork.spacers +0 +3\n")
            self.assertNotIn("terrain", block)

    def test_curve_takes_a_fork_a_fork_with_a_rider_or_a_scene(self):
        fork = ROOT / "scenarios" / "forks" / "teasel-150.toml"
        rider = ROOT / "scenarios" / "riders" / "hazel.toml"
        alone = json.loads(self.run_plunge("curve", fork, "--json").stdout)["curves"][0]
        self.assertNotIn("sag", alone["metrics"])
        self.assertEqual(0.15, alone["travel"][-1])
        ridden = self.run_plunge(
            "curve", fork, "--rider", rider, "--spacers", "0..4", "--hold", "sag=22%", "--json"
        )
        curves = json.loads(ridden.stdout)["curves"]
        self.assertEqual(5, len(curves))
        # Common practice, no source: at equal sag spacers ramp harder at the end.
        ends = [curve["slow_force"][-1] for curve in curves]
        self.assertEqual(sorted(ends), ends)
        self.assertEqual(
            json.loads(
                self.run_plunge("curve", DROP, "--spacers", "0..4", "--json").stdout
            )["curves"][2]["slow_force"],
            curves[2]["slow_force"],
        )
        self.run_plunge("curve", fork, "--hold", "sag=22%", expect=2)

    # Every combination of --spacers and each --vary, the last one fastest, as rides have them.
    def test_curve_varies_whatever_a_spring_follows_from(self):
        asked = ("--spacers", "0,2", "--vary", "fork.air.negative_volume=12cm3,18cm3")
        report = self.run_plunge("curve", DROP, *asked, "--hold", "sag=22%", "--json").stdout
        curves = json.loads(report)["curves"]
        self.assertEqual(
            [(n, v) for n in (0, 2) for v in (12, 18)],
            [(c["set"]["fork.spacers"], round(1e6 * c["set"]["fork.air.negative_volume"]))
             for c in curves],
        )  # fmt: skip
        self.assertEqual("2 spacers, air negative volume 18 cm3", curves[3]["label"])
        # By hand, from the gas law at the pump: absolute pressure goes with temperature, so a fork
        # pumped at 20 degC and ridden at -10 degC has 263.15/293.15 of it.
        cold, warm = json.loads(self.run_plunge(
            "curve", TEASEL, "--rider", HAZEL, "--set", "pumped.temperature=20degC",
            "--vary", "ambient.temperature=-10degC,20degC", "--json",
        ).stdout)["curves"]  # fmt: skip
        self.assertEqual(cold["settings"], warm["settings"])
        self.assertEqual(cold["load"], warm["load"])
        self.assertGreater(cold["metrics"]["sag"], warm["metrics"]["sag"])
        # More pressure holds more at the same place; the ends go with the absolute pressure.
        soft, hard = json.loads(self.run_plunge(
            "curve", TEASEL, "--vary", "fork.pressure=60psi,90psi", "--json"
        ).stdout)["curves"]  # fmt: skip
        self.assertGreater(hard["slow_force"][50], soft["slow_force"][50])
        self.assertAlmostEqual(60 * 6894.757293168, soft["settings"]["fork.pressure"], 3)
        self.assertAlmostEqual(1.0, soft["settings"]["fork.spacers"])

    def test_curve_lays_air_beside_a_coil_at_one_sag(self):
        asked = ("curve", TEASEL, COIL, "--rider", HAZEL, "--hold", "sag=22%", "--spacers", "0,4")
        done = self.run_plunge(*asked, "--json", "--plot", "both.svg")
        curves = json.loads(done.stdout)["curves"]
        self.assertEqual(
            ["teasel 150, 0 spacers", "teasel 150, 4 spacers", "teasel 150 coil"],
            [c["label"] for c in curves],
        )
        self.assertIn("fork.spacers is left out for teasel 150 coil", done.stderr)
        self.assertEqual(1, len({c["load"] for c in curves}))
        coil = curves[-1]
        self.assertEqual({"fork.coil.preload"}, set(coil["held"]))
        self.assertEqual({"fork.coil.rate", "fork.coil.preload"}, set(coil["settings"]))
        # A coil by hand: preload and 8 N/mm; slow and fast are one; end over middle is 1.
        self.assertAlmostEqual(coil["load"], coil["settings"]["fork.coil.preload"] + 8e3 * 0.033, 6)
        self.assertAlmostEqual(
            coil["settings"]["fork.coil.preload"] + 8e3 * 0.15, coil["slow_force"][-1], 6
        )
        self.assertEqual(coil["slow_force"], coil["fast_force"])
        self.assertAlmostEqual(1.0, coil["metrics"]["progression"], 6)
        for curve in curves:
            self.assertAlmostEqual(0.033, curve["metrics"]["sag"], 9)
        drawn = (pathlib.Path(self.folder.name) / "both.svg").read_text(encoding="utf-8")
        for words in ("teasel 150 coil", "preload", "at full travel", "the rider&#39;s load at rest",
                      "start", "middle", "end", "stiffness"):  # fmt: skip
            self.assertIn(words.replace("&#39;", "'"), drawn.replace("&#39;", "'"))

    # Every number that is printed is the one of --json, rounded.
    def test_curve_prints_what_its_json_has(self):
        for files, asked in (
            ((TEASEL, COIL), ("--rider", HAZEL, "--hold", "sag=22%", "--spacers", "0..2")),
            ((TEASEL,), ("--rider", HAZEL, "--vary", "fork.pressure=60psi..100psi:20psi")),
            ((TEASEL,), ("--vary", "fork.air.main_volume=180cm3,220cm3", "--spacers", "0,5")),
            ((COIL,), ()),
        ):
            with self.subTest(asked=asked):
                text = self.run_plunge("curve", *files, *asked, columns=400).stdout
                report = self.run_plunge("curve", *files, *asked, "--json").stdout
                curves = json.loads(report)["curves"]
                rows = text.splitlines()[-len(curves):]
                for row, curve in zip(rows, curves):
                    cells = re.split(r" {2,}", row.strip())
                    if len(curves) > 1:
                        self.assertEqual(curve["label"], cells.pop(0))
                    self.assertEqual(self.printed(curve, curves), cells)

    def printed(self, curve, curves):
        """The cells of a curve's row, from its --json."""

        def any_has(part, name):
            return any(c[part].get(name) is not None for c in curves)

        def said(value, factor, decimals):
            return "-" if value is None else f"{value * factor:.{decimals}f}"

        numbers, spring = curve["metrics"], curve["settings"]
        cells = []
        if any_has("metrics", "pressure"):
            cells.append(said(numbers.get("pressure"), 1 / 6894.757293168, 1))
        if any_has("settings", "fork.coil.preload"):
            cells.append(said(spring.get("fork.coil.preload"), 1, 0))
        if any_has("metrics", "sag"):
            cells.append(said(numbers["sag"], 1e3, 1))
            ends = [said(numbers[name], 1e3, 1) for name in ("sag_least", "sag_most")]
            cells.append(" to ".join(ends))
        cells.append(said(numbers["breakaway_force"], 1, 1))
        cells += [said(curve["slow_force"][i], 1, 0) for i in (25, 50, 75, 100)]
        cells.append(said(curve["fast_force"][100], 1, 0))
        return [*cells, said(numbers["progression"], 1, 2)]

    def test_curve_lays_dampers_of_forks_side_by_side(self):
        done = self.run_plunge("curve", TEASEL, BRACKEN, "--damper", "--json", "--plot", "d.svg")
        dampers = json.loads(done.stdout)["dampers"]
        self.assertEqual(["teasel 150", "bracken 200"], [d["label"] for d in dampers])
        for fork, both in zip((TEASEL, BRACKEN), dampers):
            alone = json.loads(self.run_plunge("curve", fork, "--damper", "--json").stdout)
            self.assertEqual(
                alone["dampers"][0]["rebound"]["force"], both["rebound"]["force"], fork
            )
        text = self.run_plunge("curve", TEASEL, BRACKEN, "--damper").stdout
        self.assertEqual(2, text.count("\nbracken 200 "))  # compression, rebound

    def test_curve_of_a_damper_reads_every_click_of_each_adjuster(self):
        fork = ROOT / "scenarios" / "forks" / "bracken-200.toml"
        report = json.loads(self.run_plunge("curve", fork, "--damper", "--json").stdout)
        self.assertEqual([0.1, 0.5, 1.0, 2.0], report["read_at"])
        (damper,) = report["dampers"]
        for way, low, high, as_set in (("compression", 16, 8, (8, 6)), ("rebound", 18, 8, (7, 6))):
            curve = damper[way]
            adjusters = curve["adjusters"]
            self.assertEqual(["clicks", "high_speed_clicks"], list(adjusters))
            self.assertEqual(["low-speed adjuster", "high-speed adjuster"],
                             [one["adjusts"] for one in adjusters.values()])  # fmt: skip
            for one, last, position in zip(adjusters.values(), (low, high), as_set):
                clicks = one["by_click"]
                self.assertEqual(list(range(last + 1)), [c["clicks"] for c in clicks])
                self.assertEqual(position, one["as_set"])
                # As set it is the curve itself; each click that opens is softer at 2 m/s.
                self.assertEqual(curve["force"], clicks[position]["force"])
                self.assertEqual(curve["read_force"], clicks[position]["read_force"])
                hard = [c["read_force"][-1] for c in clicks]
                self.assertEqual(sorted(hard, reverse=True), hard)
                self.assertEqual(last + 1, len(set(hard)))
            # Low speed: the needle alone. High speed: the shims alone, from where they crack.
            at_rest = [c["slope_at_rest"] for c in adjusters["clicks"]["by_click"]]
            self.assertEqual(sorted(at_rest, reverse=True), at_rest)
            self.assertEqual(1, len({c["knee_force"] for c in adjusters["clicks"]["by_click"]}))
            shims = adjusters["high_speed_clicks"]["by_click"]
            self.assertEqual(1, len({c["slope_at_rest"] for c in shims}))
            # By hand: 4.5 to 0.5 bar on 5.0 cm2, 8 to 4 bar on 4.2 cm2.
            ends = {"compression": (225, 25), "rebound": (336, 168)}[way]
            self.assertAlmostEqual(ends[0], shims[0]["knee_force"], places=2)
            self.assertAlmostEqual(ends[1], shims[-1]["knee_force"], places=2)

    def test_curve_of_a_damper_tells_low_and_high_speed_apart_in_print(self):
        fork = ROOT / "scenarios" / "forks" / "bracken-200.toml"
        text = self.run_plunge("curve", fork, "--damper", "--plot", "damper.png").stdout
        self.assertIn("damper.png", self.made())
        self.assertIn("low-speed adjuster 8 of 16 clicks from closed", text)
        for way in ("compression", "rebound"):
            for one, other in (("low", "high"), ("high", "low")):
                self.assertRegex(text, rf"\n{way} by its {one}-speed adjuster, {other}-speed adjuster at")
        self.assertEqual(4, text.count(", as set"))
        plain = ROOT / "scenarios" / "forks" / "teasel-150.toml"
        alone = self.run_plunge("curve", plain, "--damper").stdout
        self.assertIn("compression: slopes, adjuster 8 of 15 clicks from closed", alone)
        self.assertNotIn("low-speed", alone)
        varied = self.run_plunge(
            "curve", fork, "--damper", "--vary", "fork.rebound.clicks=0..16:8", "--plot", "v.svg"
        ).stdout
        self.assertEqual(1, varied.count("in all"))  # compression
        for clicks in (0, 8, 16):
            self.assertIn(f"\nrebound low speed {clicks} ", varied)
        # Thicker oil acts on both directions.
        cold = self.run_plunge("curve", fork, "--damper", "--vary",
                               "fork.oil.temperature=0degC,30degC").stdout  # fmt: skip
        self.assertEqual(2, cold.count("oil temperature 0 degC "))

    def test_clicks_that_lock_a_damper_have_no_numbers(self):
        fork = ROOT / "scenarios" / "forks" / "bracken-200.toml"
        set_it = ("--set", "fork.compression.bleed_closed=0.02%")
        text = self.run_plunge("curve", fork, "--damper", *set_it).stdout
        self.assertRegex(text, r"\n0 +- +- +- +- +- +- +-\n1 ")
        self.assertIn("the damper is locked there", text)
        report = json.loads(self.run_plunge("curve", fork, "--damper", "--json", *set_it).stdout)
        closed = report["dampers"][0]["compression"]["adjusters"]["clicks"]["by_click"][0]
        self.assertIsNone(closed["slope_at_rest"])
        self.assertEqual([], closed["force"])

    def test_ride_tells_both_adjusters_apart(self):
        garden = str(SCENES / "rock-garden.toml")
        head = self.run_plunge("ride", garden, "--set", "fork.rebound.clicks=5").stdout
        self.assertIn("compression low speed 8, high speed 6; rebound low speed 5, high speed 6",
                      head)  # fmt: skip
        varied = self.run_plunge("ride", garden, "--vary", "fork.compression.high_speed_clicks=0,8")
        self.assertIn("\ncompression low speed 8; rebound low speed 7, high speed 6", varied.stdout)
        self.assertIn("\ncompression high speed 0 ", varied.stdout)
        self.assertNotIn("clicks from closed", self.run_plunge("ride", DROP).stdout)

    def test_modes_tell_compression_and_rebound_apart(self):
        clicks = ("--set", "fork.compression.clicks=8", "--set", "fork.rebound.clicks=9")
        report = json.loads(self.run_plunge("modes", DROP, "--json", *clicks).stdout)
        # By hand from the click tables of the fork: 8 of 6 to 15 clicks between 400 and 180, 9 of 8
        # to 18 between 750 and 420 N.s/m.
        self.assertAlmostEqual(400 - 220 * 2 / 9, report["compression"]["slope_at_rest"], places=9)
        self.assertAlmostEqual(750 - 330 / 10, report["rebound"]["slope_at_rest"], places=9)
        ratio = {
            way: next(m["damping_ratio"] for m in report[way]["modes"] if m["moves"] == "upper body")
            for way in ("compression", "rebound")
        }
        self.assertLess(ratio["compression"], ratio["rebound"])
        text = self.run_plunge("modes", DROP, *clicks).stdout
        self.assertIn("\ncompression, 351 N.s/m at rest\n", text)
        self.assertIn("\nrebound, 717 N.s/m at rest\n", text)

    def test_modes_tell_body_and_wheel_apart(self):
        report = json.loads(self.run_plunge("modes", DROP, "--json").stdout)
        swings = {m["moves"]: m["frequency"] for m in report["modes"] if m["imaginary"] > 0}
        # Harris' Shock and Vibration Handbook (memory): bodies on suspensions 1 to 3 Hz; wheel hop
        # of light wheels on stiff tyres 10 to 30 Hz.
        self.assertTrue(1.0 < swings["upper body"] < 3.0, swings)
        self.assertTrue(10.0 < swings["wheel"] < 30.0, swings)

    def test_check_says_good_or_every_fault(self):
        good = self.run_plunge("check", *sorted(SCENES.glob("*.toml")))
        self.assertEqual(9, good.stdout.count(": good"))
        bad = os.path.join(self.folder.name, "bad.toml")
        text = (ROOT / "scenarios" / "forks" / "teasel-150.toml").read_text(encoding="utf-8")
        with open(bad, "w", encoding="utf-8") as file:
            file.write(text.replace('"150 mm"', '"150"').replace("spacers = 1", "spacers = 9"))
        lines = self.run_plunge("check", bad, expect=2).stdout.splitlines()
        self.assertEqual(2, len(lines), lines)
        self.assertIn("bad.toml:5:", lines[0])

    def test_help_explains_every_verb(self):
        text = self.run_plunge("help").stdout
        self.assertIn("Let all air out", text)
        for verb in ("ride", "curve", "compare", "modes", "check"):
            self.assertIn(verb, text)
            self.assertIn("--json", self.run_plunge("help", verb).stdout)

    def test_an_interrupt_keeps_the_rides_that_are_done(self):
        for word in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGUSR1):
            with self.subTest(signal=word.name):
                self.interrupt_rides(word)

    def interrupt_rides(self, word):
        process = subprocess.Popen(
            [os.environ["PLUNGE_PROGRAM"], "ride", str(SCENES / "square-edge.toml"), "--set",
             "ride.sample_rate=50 Hz", "--vary", "fork.pressure=60 psi..99 psi:0.05 psi",
             "--hold", "pressure", "-o", "many.h5"],
            cwd=self.folder.name, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        # All are made ready before the first is ridden, and from then on the signal is caught.
        status = pathlib.Path(f"/proc/{process.pid}/status")
        while process.poll() is None:
            caught = re.search(r"^SigCgt:\s*([0-9a-f]+)$", status.read_text(), re.M).group(1)
            if int(caught, 16) >> (word - 1) & 1:
                break
            time.sleep(0.01)
        time.sleep(1.0)  # some are ridden in it
        process.send_signal(word)
        _, complaint = process.communicate()
        self.assertEqual(1, process.returncode, complaint)
        self.assertIn("interrupted after", complaint)
        self.assertEqual(["many.h5"], self.made())


if __name__ == "__main__":
    unittest.main()
