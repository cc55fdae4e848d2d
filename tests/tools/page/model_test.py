"""The model as a WebAssembly module is the model: its numbers, its faults, and nothing stops it.

Needs PLUNGE_PROGRAM, the built program, and PLUNGE_BUILD, its build, which makes the module
(page_model) and page_door: the same door (tools/page/model/door.hpp) compiled for this machine, with
musl's mathematical functions, which are those of the module's C library. Both are asked the same
questions, the module under node through tools/page/src/model.ts. Where clang for WebAssembly, node or
esbuild is missing it says so and is skipped."""

import array
import json
import math
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import unittest
import weakref

ROOT = pathlib.Path(__file__).resolve().parents[3]
HERE = ROOT / "tests/tools/page"
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"]).resolve()
WASM = BUILD / "page/model.wasm"
DOOR = BUILD / "page_door"
SCENES = sorted(path.relative_to(ROOT / "scenarios").as_posix()
                for path in (ROOT / "scenarios/scenes").glob("*.toml"))  # fmt: skip

# What the metrics of both may differ by, of their size: two C++ libraries divide complex numbers
# otherwise, and sort equal values otherwise. Percentiles of speeds sum densities that cancel, in the
# order in which they were sorted; most that was found is 2e-11.
METRICS = 1e-12
PERCENTILES = 1e-9

# What a page says behind a unit that it does not know.
SHORTFALL = " here: a page knows those of SI and the common ones, the program all of UDUNITS-2"

TOO_SMALL = "could not be interpreted as a value"


def skip(why):
    print(f"The model's module is not tested: {why}")
    sys.exit(77)


def built():
    """The wrapper as a script that node runs; the module beside it is up to date."""
    if not shutil.which("node"):
        skip("there is no node (on Debian: apt-get install nodejs)")
    esbuild = shutil.which("esbuild") or BUILD / "page/work/node_modules/.bin/esbuild"
    if not os.access(esbuild, os.X_OK):
        skip("there is no esbuild to compile TypeScript (on Debian: apt-get install esbuild)")
    if not DOOR.exists():
        skip("the build has no page_door (on Debian: apt-get install musl-dev, then configure anew)")
    made = subprocess.run(["cmake", "--build", BUILD, "--target", "page_model"],
                          capture_output=True, text=True, check=False)  # fmt: skip
    if "no clang for WebAssembly" in made.stdout:
        skip(made.stdout.split("page_model: ")[-1].split("\n")[0])
    assert made.returncode == 0, made.stdout + made.stderr
    script = BUILD / "page/model_test.mjs"
    subprocess.run([esbuild, ROOT / "tools/page/src/model.ts", f"--outfile={script}",
                    "--target=es2022", "--log-level=warning"], check=True)  # fmt: skip
    return script


def node(script, *arguments, **more):
    return subprocess.run(["node", HERE / script, SCRIPT, WASM, *map(str, arguments)],
                          capture_output=True, text=True, check=False, **more)  # fmt: skip


class Answers:
    """The answers of one of the two to a list of questions."""

    def __init__(self, questions, of_module):
        self.folder = tempfile.mkdtemp(prefix="plunge-model-")
        weakref.finalize(self, shutil.rmtree, self.folder)
        lines = ""
        for number, question in enumerate(questions):
            # Numbers that are given beside a question cross as such.
            given = question.get("given")
            if given is not None:
                pathlib.Path(self.folder, f"{number}.given").write_bytes(array.array("d", given).tobytes())
            lines += json.dumps({key: value for key, value in question.items() if key != "given"}) + "\n"
        if of_module:
            done = node("ask_model.mjs", self.folder, input=lines)
        else:
            done = subprocess.run([DOOR, self.folder], input=lines, capture_output=True,
                                  text=True, check=False)  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr

    def words(self, number):
        return json.loads(pathlib.Path(self.folder, f"{number}.json").read_bytes())

    def numbers(self, number):
        return pathlib.Path(self.folder, f"{number}.f64").read_bytes()

    def memory(self):
        return json.loads(pathlib.Path(self.folder, "memory.json").read_bytes())


def both(questions):
    return Answers(questions, True), Answers(questions, False)


def load(slot, text, path="scenes/scene.toml"):
    return {"ask": "load", "slot": slot, "text": text, "path": path}


def shipped(slot, path):
    return load(slot, (ROOT / "scenarios" / path).read_text(encoding="utf-8"), path)


def lay(slot, hold=None, **numbers):
    return {"ask": "set", "slot": slot, "hold": hold,
            "set": {name.replace("__", "."): value for name, value in numbers.items()}}  # fmt: skip


class Model(unittest.TestCase):
    def same(self, path, one, other, within=0.0):
        """Words are the same, and numbers in them within a share of their size."""
        self.assertIs(type(one), type(other), path)
        if isinstance(one, dict):
            self.assertEqual(list(one), list(other), path)
            for key in one:
                allowed = METRICS if key == "metrics" else PERCENTILES if "_speed_p" in key else within
                self.same(f"{path}.{key}", one[key], other[key], allowed)
        elif isinstance(one, list):
            self.assertEqual(len(one), len(other), path)
            for place, pair in enumerate(zip(one, other)):
                self.same(f"{path}[{place}]", *pair, within)
        elif isinstance(one, float) and within > 0.0:
            self.assertTrue(math.isclose(one, other, rel_tol=within, abs_tol=1e-300),
                            f"{path}: {one!r} and {other!r}")  # fmt: skip
        else:
            self.assertEqual(one, other, path)

    def same_numbers(self, path, one, other):
        if one == other:
            return
        a, b = array.array("d", one), array.array("d", other)
        self.assertEqual(len(a), len(b), path)
        apart = [k for k in range(len(a)) if a[k] != b[k]]
        worst = max(apart, key=lambda k: abs(a[k] - b[k]), default=0)
        self.fail(f"{path}: {len(apart)} of {len(a)} numbers differ, most {a[worst]!r} and {b[worst]!r}")

    def test_shipped_scenes_are_the_same_bits(self):
        self.assertGreaterEqual(len(SCENES), 9)
        asked = ["settled", "scene_text", "damper", "ground", "ride"]
        for path in SCENES:
            questions = [shipped(0, path), {"ask": "curve", "slot": 0, "points": 101},
                         *({"ask": what, "slot": 0} for what in asked)]  # fmt: skip
            module, program = both(questions)
            for number, question in enumerate(questions):
                where = f"{path} {question['ask']}"
                with self.subTest(where, of="words"):
                    self.same(where, module.words(number), program.words(number))
                with self.subTest(where, of="numbers"):
                    self.same_numbers(where, module.numbers(number), program.numbers(number))
            ride = module.words(len(questions) - 1)["answer"]
            self.assertEqual("", ride["failure"], path)
            self.assertGreater(len(ride["channels"]), 30)
            self.assertGreater(len(ride["metrics"]), 20)
            self.assertGreater(ride["time"]["count"], 1000)
            samples = sum(place["count"] for place in ride["channels"].values())
            self.assertEqual(8 * (samples + ride["time"]["count"]),
                             len(module.numbers(len(questions) - 1)))  # fmt: skip

    def test_tables_are_the_same(self):
        questions = [{"ask": what} for what in ("scenes", "files", "units", "parameters", "choices",
                                                "channels", "metric_rows")]  # fmt: skip
        module, program = both(questions)
        for number, question in enumerate(questions):
            self.same(question["ask"], module.words(number), program.words(number))
            self.assertGreater(len(module.words(number)["answer"]), 4, question)

    def test_the_scene_text_rides_in_the_program_to_the_same_numbers(self):
        questions = [shipped(0, "scenes/drop-to-landing.toml"), lay(0, 0.25, fork__spacers="1"),
                     {"ask": "scene_text", "slot": 0}, {"ask": "ride", "slot": 0}]  # fmt: skip
        module = Answers(questions, True)
        with tempfile.TemporaryDirectory() as folder:
            scene = pathlib.Path(folder, "scene.toml")
            scene.write_text(module.words(2)["answer"], encoding="utf-8")
            done = subprocess.run([PROGRAM, "ride", "--json", scene], cwd=folder, capture_output=True,
                                  check=True)  # fmt: skip
        told = json.loads(done.stdout)["rides"][0]
        ride = module.words(3)["answer"]
        self.assertEqual(list(told["metrics"]), list(ride["metrics"]))
        for name, value in told["metrics"].items():
            # The program has another C library's functions: the last place of an exponential.
            self.assertTrue(math.isclose(value, ride["metrics"][name], rel_tol=1e-6, abs_tol=1e-9),
                            f"{name}: {value} and {ride['metrics'][name]}")  # fmt: skip

    # ---- figures ----

    def test_figures_are_the_same_bytes(self):
        x = [0.1 * k for k in range(300)]
        y = [math.sin(value) if k % 50 else math.nan for k, value in enumerate(x)]
        given = x + y + [value + 1.0 for value in y]
        lists = [{"at": 300 * k, "count": 300} for k in range(3)]
        panel = {
            "x_label": "travel [mm]", "y_label": "force [N]", "x_ends": [-1.0, 31.0],
            "series": [{"x": lists[0], "low": lists[1], "high": lists[2], "mark": "band", "paint": {"shade": 0.3}},
                       *({"label": f"<{mark}>", "x": lists[0], "y": lists[1], "mark": mark, "fine": mark == "line"}
                         for mark in ("line", "dashed", "points", "dots", "area"))],
            "references": [{"label": "sag", "at": 12.5, "vertical": True}, {"at": 0.0}],
            "spots": [{"x": 3.0, "y": 0.5, "label": "peak", "paint": {"quiet": True}}],
            "zones": [{"from": 4.0, "to": 5.0, "label": "z"}],
        }  # fmt: skip
        beside = {**panel, "beside": True, "log_x": True, "clock": True, "height": 0.5, "y_ends": [-3.0, 3.0]}
        questions = [{"ask": "figure", "figure": {"title": "both", "panels": [panel, beside]}, "look": look,
                      "file": file, "given": given}
                     for look in ({}, {"width": 300.0, "edge": 3.0, "height": 120.0, "curve": 2.0})
                     for file in (False, True)]  # fmt: skip
        for slot, spacers in enumerate(("0", "4")):
            questions += [shipped(slot, "scenes/drop-to-landing.toml"), lay(slot, None, fork__spacers=spacers),
                          {"ask": "ride", "slot": slot}]  # fmt: skip
        questions += [shipped(2, "scenes/descent.toml"), {"ask": "ride", "slot": 2}]
        questions += [{"ask": "ride_figure", "slots": slots, "labels": ["A", "B"][:len(slots)], "title": "", "bar": False,
                       "look": {"width": 340.0}, "file": False} for slots in ([0], [0, 1], [2])]  # fmt: skip
        module, program = both(questions)
        drawn = 0
        for number, question in enumerate(questions):
            if "figure" not in question["ask"]:
                continue
            told = module.words(number)
            self.assertEqual(program.words(number), told, question)
            self.assertGreater(told["answer"]["svg"].count("<path"), 10)
            self.assertNotIn("nan", told["answer"]["svg"])
            drawn += 1
        self.assertEqual(7, drawn)

    def test_figures_that_are_none_are_refused(self):
        series = {"x": {"at": 0, "count": 3}, "y": {"at": 0, "count": 3}}
        for change, says in [
            ({"x": {"at": 0, "count": 4}}, "more numbers than have come"),
            ({"x": {"at": 2**31, "count": 2**31}}, "more numbers than have come"),
            ({"x": {"at": 0, "count": 2}}, "x and y differ in length"),
            ({"x": {"at": -1, "count": 1}}, ""), ({"x": 5}, ""), ({"label": 5}, ""), ({"paint": {"shade": "x"}}, ""),
            ({"mark": "star"}, "is no mark that a page draws"),
        ]:  # fmt: skip
            question = {"ask": "figure", "look": {}, "file": False, "given": [1.0, 2.0, 3.0],
                        "figure": {"panels": [{"series": [{**series, **change}]}]}}  # fmt: skip
            for answers in both([question]):
                told = json.dumps(answers.words(0))
                self.assertIn(says, told)
                self.assertNotIn('"answer"', told)
        for look in ({"width": 1.0}, {"width": 1e9}, {"width": None}, {"edge": 900.0}, {"height": -5.0}, {"curve": 1e9}):
            question = {"ask": "figure", "look": look, "file": False, "given": [1.0, 2.0, 3.0],
                        "figure": {"panels": [{"series": [series]}]}}  # fmt: skip
            for answers in both([question]):
                self.assertNotIn("answer", answers.words(0), look)

    # ---- what is not known ----

    def near_text(self, one, other, name):
        """The same words; numbers that two widths of lanes may round otherwise."""
        number = r"-?\d+(?:\.\d+)?"
        self.assertEqual(re.sub(number, "#", one), re.sub(number, "#", other), name)
        for a, b in zip(re.findall(number, one), re.findall(number, other)):
            last = 10.0 ** -len(b.partition(".")[2]) if "." in b else 10.0 ** (len(b) - len(b.rstrip("0")))
            self.assertLessEqual(abs(float(a) - float(b)), last * 1.001, f"{name}: {one} and {other}")

    def test_bands_are_those_of_the_program(self):
        text = (ROOT / "scenarios/scenes/drop-to-landing.toml").read_text(encoding="utf-8")
        text = text.replace("teasel-150", "rented-140").replace("hazel", "rowan").replace("spacers = ", "# ")
        begin = [load(0, text), lay(0, 0.22), {"ask": "settled", "slot": 0}, {"ask": "ride", "slot": 0}]
        metrics = Answers(begin, True).words(3)["answer"]["metrics"]
        asked = [*begin, {"ask": "bands", "slot": 0, "metrics": metrics}, shipped(0, "scenes/roots.toml"),
                 {"ask": "bands", "slot": 0, "metrics": {}}, {"ask": "settled", "slot": 0},
                 {"ask": "bands", "slot": 0, "metrics": {"no_such": 1.0}}]  # fmt: skip
        module, program = both(asked)
        self.assertEqual((True, False), tuple(module.words(k)["answer"]["uncertain"] for k in (2, 7)))
        self.assertIsNone(module.words(6)["answer"], "all is known")
        self.assertEqual("is no metric", module.words(8)["faults"][0]["rule"])

        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(ROOT / "scenarios", folder, dirs_exist_ok=True)
            pathlib.Path(folder, "scenes/scene.toml").write_text(text, encoding="utf-8")
            done = subprocess.run([PROGRAM, "ride", "--json", "--hold", "sag=22%", "scenes/scene.toml"],
                                  cwd=folder, capture_output=True, check=True)  # fmt: skip
        told = json.loads(done.stdout)["rides"][0]["bands"]
        answers = [module.words(4)["answer"], program.words(4)["answer"]]
        for answer in answers:
            self.assertEqual((told["draws"], told["failed"]), (answer["draws"], answer["failed"]))
        # The program prints some of them.
        shown = told["numbers"].keys() & answers[0]["numbers"].keys()
        self.assertGreater(len(shown), 15)
        for one, other, names in ((*(answer["numbers"] for answer in answers), answers[1]["numbers"].keys()),
                                  (answers[0]["numbers"], told["numbers"], shown)):  # fmt: skip
            for name in names:
                a, b = one[name], other[name]
                width = b["high"] - b["low"]
                for end in ("low", "high"):
                    self.assertLessEqual(abs(a[end] - b[end]), 0.02 * width + 1e-6 * abs(b[end]), f"{name} {end}")
                self.assertLessEqual(abs(a["applies"] - b["applies"]), 3 / told["draws"], name)
                shares = {row["cause"]: row["share"] for row in b["from"]}
                for row in a["from"]:
                    # One that explains hardly as much as is told at all may be told by one alone.
                    self.assertLessEqual(abs(row["share"] - shares.get(row["cause"], 0.1)), 0.02, name)
        self.assertEqual(list(answers[0]["numbers"]), list(answers[1]["numbers"]))
        pressure = answers[0]["numbers"]["pressure"]
        self.assertEqual(["psi", "bar"], list(pressure["texts"]))
        for name, number in answers[1]["numbers"].items():
            for unit, words in number["texts"].items():
                self.near_text(answers[0]["numbers"][name]["texts"][unit], words, name)

    # ---- faults ----

    def broken_files(self):
        """The cases of tests/faults/ that break a file that a scene is or names."""
        good = ROOT / "tests/faults/good"
        reads = {"scene.toml", "fork.toml", "rider.toml", "bike.toml", "terrain.toml", "ground.csv"}
        forks = {"hydraulic.toml", "family.toml"}
        for table in ("fork", "damper", "rider_and_bike", "ground", "scene", "family", "text"):
            for case in tomllib.loads((good.parent / f"{table}.toml").read_text(encoding="utf-8"))["case"]:
                name = case.get("file")
                if name not in reads | forks or "bytes" in case:
                    continue
                files = {path.name: path.read_text(encoding="utf-8") for path in good.iterdir()
                         if path.name in reads | forks}  # fmt: skip
                text = case["text"] if "text" in case else files[name].replace(case["old"], case["new"])
                if "repeat" in case:
                    text = text.replace("@", case["repeat"][0] * case["repeat"][1])
                files[name] = text.replace("§", "", 1)
                if name in forks:
                    files["scene.toml"] = files["scene.toml"].replace("fork.toml", name)
                yield f"{table}: {case['name']}", files

    def test_faults_are_those_of_the_program(self):
        cases = list(self.broken_files())
        self.assertGreater(len(cases), 150)
        questions = []
        for _, files in cases:
            questions += [{"ask": "put", "path": name, "text": text} for name, text in files.items()]
            questions.append(load(0, files["scene.toml"], "scene.toml"))
        module = Answers(questions, True)
        number = -1
        differ = {}
        refused = 0
        with tempfile.TemporaryDirectory() as folder:
            pathlib.Path(folder, "folder").mkdir()
            for name, files in cases:
                number += len(files) + 1
                for file, text in files.items():
                    pathlib.Path(folder, file).write_text(text, encoding="utf-8", newline="")
                done = subprocess.run([PROGRAM, "check", "--json", "scene.toml"], cwd=folder,
                                      capture_output=True, check=False)  # fmt: skip
                told = json.loads(done.stdout)["faults"]
                answer = module.words(number)
                self.assertNotIn("error", answer, name)
                heard = answer.get("faults", [])
                refused += bool(heard)
                for fault in heard:
                    fault["rule"] = fault["rule"].removesuffix(SHORTFALL)
                if heard and not told:
                    # What is held is not solved for by `check`; what solves it says it in one line.
                    done = subprocess.run([PROGRAM, "curve", "scene.toml"], cwd=folder,
                                          capture_output=True, text=True, check=False)  # fmt: skip
                    said = f"plunge: {heard[0]['file']}: {heard[0]['key']} = {heard[0]['value']}: {heard[0]['rule']}"
                    self.assertEqual((2, said), (done.returncode, done.stderr.strip()), name)
                elif heard != told:
                    differ[name] = (heard, told)
        self.assertGreater(refused, 120)
        for name in differ.keys() - DIFFERENT.keys():
            with self.subTest(name):
                self.assertEqual(*differ[name])
        for name, words in DIFFERENT.items():
            self.assertIn(name, differ, "is the same by now")
            self.assertIn(words, json.dumps(differ[name][0]), name)

    def test_units_that_only_the_program_knows_are_refused(self):
        text = (ROOT / "scenarios/scenes/roots.toml").read_text(encoding="utf-8")
        module = Answers([load(0, text, "scenes/roots.toml"), lay(0, None, ride__speed="2 furlong/minute"),
                          lay(0, None, ride__speed="7 m/s")], True)  # fmt: skip
        fault = module.words(1)["faults"][0]
        self.assertEqual(("--set", "ride.speed"), (fault["file"], fault["key"]))
        self.assertTrue(fault["rule"].endswith('"furlong/minute" is no unit that is known' + SHORTFALL))
        self.assertEqual({"answer": None}, module.words(2))

    def test_units_are_those_of_the_program(self):
        # By the parameter that takes them. The last ones are refused by both.
        given = {
            "fork.stops.bumper_cubic": ["1e9 N/m3", "6.5 N/mm3", "1 kN.cm-3", "1e9 N.m^-3", "1e9 kg/s2/m2"],
            "fork.travel": ["0.15 m", "150 mm", "15 cm", "1.5 dm", "5.9 in", "5.9 inches", "0.49 feet",
                            "0.15 meters", "150 millimetres", "150000 \u00b5m"],
            "fork.air.main_volume": ["198 cm3", "0.198 L", "198 ml", "1.98 dl", "198000 mm3", "12.1 in3"],
            "fork.friction.seal": ["12 N", "2.7 lbf", "0.012 kN", "12 kg.m/s2", "12 kg m s-2", "12 J/m"],
            "fork.unsprung_mass": ["2 kg", "2000 g", "4.4 lb", "2e6 mg", "0.002 t"],
            "ride.speed": ["7 m/s", "25 km/h", "16 mi/h", "7 m.s-1", "420 m/min", "700 cm s-1"],
            "ride.duration": ["1 s", "0.02 min", "900 ms", "0.0003 hours", "0.00002 d", "1 Hz-1"],
            "bike.head_angle": ["65 deg", "1.13 rad", "1130 mrad", "65 degrees"],
            "fork.pressure": ["72 psi", "5 bar", "500 kPa", "0.5 MPa", "500000 Pa", "5e5 N/m2", "72 lbf/in2"],
            "rider.mass": ["75 kg", "75", "75 m", "75 kg kg", "75 kg.", "75 kg/", "75 kg-", "75 kg^", "75 .kg",
                           "75 kgkg", "75 kg^22", "75 kg1"],
        }  # fmt: skip
        questions = [shipped(0, "scenes/roots.toml")]
        for name, values in given.items():
            for value in values:
                questions += [lay(0, "pressure" if name == "fork.pressure" else None, **{name: value}),
                              {"ask": "settled", "slot": 0}]  # fmt: skip
        module, program = both(questions)
        taken = 0
        for number, question in enumerate(questions):
            with self.subTest(question=question):
                answers = module.words(number), program.words(number)
                told = json.dumps(answers[0]).replace(json.dumps(SHORTFALL)[1:-1], "")
                self.same("", json.loads(told), answers[1], 1e-14)
                taken += question["ask"] == "set" and "answer" in answers[0]
        self.assertGreater(taken, 50)

    # ---- what nobody thought of ----

    def test_mutated_scenes_never_stop_it(self):
        dice = random.Random(20_261)
        pieces = ["", '"', "[", "]", "=", "\n", ",", "-", "1e9", "nan", "0x", "'''", "#", ".", " psi",
                  " m", "0", "7", "[[event]]\n", "inf", "é", "999999999", "e-400", "fork.", "%"]  # fmt: skip
        # The descent's ground alone takes longest.
        short = [path for path in SCENES if path != "scenes/descent.toml"]
        wholes = [(ROOT / "scenarios" / path).read_text(encoding="utf-8") for path in short]
        texts = Answers([question for path in short for question in
                         (shipped(0, path), {"ask": "scene_text", "slot": 0})], False)  # fmt: skip
        wholes += [texts.words(2 * number + 1)["answer"] for number in range(len(short))]
        questions = []
        for _ in range(1000):
            text = dice.choice(wholes)
            # Half of them another number somewhere, the others nonsense.
            if dice.random() < 0.5:
                at = dice.choice([place for place, sign in enumerate(text) if sign.isdigit()])
                text = text[:at] + dice.choice("0123456789") + text[at + 1:]
            for _ in range(dice.randint(1, 3) if text in wholes else 0):
                at = dice.randrange(len(text))
                text = text[:at] + dice.choice(pieces) + text[at + dice.randint(0, 4):]
            questions += [load(0, text), lay(0, None, ride__duration="0.05 s"), {"ask": "ride", "slot": 0}]
        module, program = both(questions)
        accepted = 0
        apart = 0
        for number in range(0, len(questions), 3):
            answers = [[of.words(number + k) for k in range(3)] for of in (module, program)]
            # A unit that only the program knows; a number too small for a double, which its C++ library
            # takes for 0 and the module's does not take.
            if any(words in json.dumps(answers[0]) for words in (SHORTFALL, TOO_SMALL)):
                apart += 1
                continue
            with self.subTest(mutation=number // 3, text=questions[number]["text"]):
                self.same("", *answers)
            self.assertNotIn("error", json.dumps([list(answer) for answer in answers[0]]))
            accepted += "answer" in answers[0][0]
        self.assertGreater(accepted, 100)
        self.assertLess(accepted, 900)
        self.assertLess(apart, 50)

    def test_memory_does_not_grow(self):
        short = [path for path in SCENES if path != "scenes/descent.toml"]
        questions = []
        for turn in range(1000):
            path = short[turn % len(short)]
            questions += [shipped(turn % 3, path), lay(turn % 3, None, ride__duration="0.05 s"),
                          {"ask": "ride", "slot": turn % 3}, load(0, "[fork"), load(0, f"a = {turn}"),
                          {"ask": "ride", "slot": 9}]  # fmt: skip
        module = Answers(questions, True)
        memory = module.memory()
        self.assertEqual(len(questions), len(memory))
        self.assertEqual(memory[len(questions) // 5], memory[-1])
        self.assertIn("answer", module.words(len(questions) - 4))
        self.assertIn("faults", module.words(len(questions) - 1))

    def test_a_ride_past_the_memory_is_an_error(self):
        questions = [shipped(0, "scenes/roots.toml"), lay(0, None, ride__duration="5000 s", ride__sample_rate="9000 Hz"),
                     {"ask": "ride", "slot": 0}, lay(0), {"ask": "ride", "slot": 0}]  # fmt: skip
        module = Answers(questions, True)
        self.assertEqual({"answer": None}, module.words(1))
        self.assertEqual({"error": "there is not enough memory for it"}, module.words(2))
        self.assertEqual("", module.words(4)["answer"]["failure"])

    def test_the_wrapper_gives_what_it_promises(self):
        done = node("use_model.mjs")
        self.assertEqual((0, "good\n"), (done.returncode, done.stdout), done.stderr)


# What a file in memory can't be, and what is then said in place of the disk's words.
DIFFERENT = {
    "ground: profile that is a folder": "folder does not exist",
    "scene: fork that is a folder": "folder does not exist",
    "scene: device for a file": "/dev/zero does not exist",
    "scene: path of nothing": " does not exist",
}

if __name__ == "__main__":
    SCRIPT = built()
    unittest.main()
