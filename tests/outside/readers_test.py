"""Other programs read a ride file, a merged sweep and a shard: names, units, long names, text and
numbers, all of them, and the numbers are those that plunge prints.

h5py is the reference for what stands in a file; every other reader must find the same: h5dump,
ncdump, xarray with both engines, NCO, R (ncdf4), Octave (what it can: no text, no list of names) and
h5wasm in Node, which is fetched by npm where there is a network. A reader that is not installed is
left out with a word; tools/check installs all of them."""

import importlib.util
import json
import math
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
NODE = pathlib.Path(os.path.abspath(os.environ["PLUNGE_BUILD"])) / "readers-node"
SCENARIOS = ROOT / "scenarios"
MOST = 64  # values of a variable that are compared; longer ones are compared by xarray and Octave
PYTHON = [name for name in ("h5py", "netCDF4", "h5netcdf", "xarray")
          if importlib.util.find_spec(name) is None]  # fmt: skip

# A drop of 0.3 s, so that the file holds contacts and is read quickly.
SCENE = f"""type = "scene"
format = [1, 0]
name = "the reader's drop, naïve µ"
fork = "{SCENARIOS}/forks/teasel-150.toml"
rider = "{SCENARIOS}/riders/hazel.toml"
bike = "{SCENARIOS}/bikes/trail.toml"
terrain = "{SCENARIOS}/terrain/drop-to-flat.toml"
[ride]
speed = "18 km/h"
[hold]
sag = "22 %"
[[event]]
kind = "brake"
at = "1 m"
rate = "2 m/s2"
to_speed = "14 km/h"
"""

PLAN = f"""type = "plan"
format = [1, 0]
name = "the reader's plan, naïve µ"
scenes = ["{SCENARIOS}/scenes/drop-to-flat.toml"]
[set]
"ride.duration" = "0.2 s"
[[axis]]
name = "rider"
values = ["{SCENARIOS}/riders/alder.toml", "{SCENARIOS}/riders/wren.toml"]
[[axis]]
name = "fork.spacers"
values = [2, 0, 1]
[[axis]]
name = "fork.rebound.clicks"
values = [2, 8]
[[axis]]
name = "fork.pressure"
distribution = "uniform"
low = "60 psi"
high = "90 psi"
[sample]
method = "sobol"
points = 2
[keep]
metrics = ["travel_max", "travel_use", "metal_contacts"]
traces = ["travel"]
trace_rate = "100 Hz"
[sweep]
shard = 8
"""


def run(*command, folder=None):
    done = subprocess.run(
        [str(part) for part in command], cwd=folder, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise AssertionError(f"{command}: {done.returncode}\n{done.stdout}\n{done.stderr}")
    return done.stdout


def plain(values):
    """Values as a list of texts and floats; NaN as None, so that lists compare."""
    kept = []
    for value in values:
        if isinstance(value, bytes):
            value = value.decode()
        if not isinstance(value, str):
            value = float(value)
            value = None if math.isnan(value) else value
        kept.append(value)
    return kept


# ---- each reader: path -> {units, long_name, values}; None where there is none -------------------


def by_h5py(path):
    import h5py

    found = {}

    def text(item, name):
        return item.attrs[name].decode() if name in item.attrs else None

    def visit(name, item):
        if isinstance(item, h5py.Dataset):
            values = item.asstr()[()] if h5py.check_string_dtype(item.dtype) else item[()]
            found[name] = {
                "units": text(item, "units"),
                "long_name": text(item, "long_name"),
                "values": plain(values.flat) if item.size <= MOST else None,
            }

    with h5py.File(path) as file:
        file.visititems(visit)
    return found


def by_h5dump(path):
    """Names, units and long names from the dump of all attributes; values from dumps of their own."""
    found, groups, name, attribute = {}, [], None, None
    for line in run("h5dump", "-A", path).splitlines():
        depth = (len(line) - len(line.lstrip())) // 3
        groups = groups[:depth]
        if kind := re.match(r'\s*(GROUP|DATASET|ATTRIBUTE) "(.*)" \{', line):
            if kind[1] == "GROUP":
                groups += [kind[2]]
                name = None
            elif kind[1] == "DATASET":
                name = "/".join([part for part in groups if part != "/"] + [kind[2]])
                found[name] = {"units": None, "long_name": None, "values": None}
            else:
                attribute = kind[2]
        elif name and (value := re.match(r'\s*\(0\): "(.*)"$', line)):
            if attribute in ("units", "long_name"):
                found[name][attribute] = value[1]
    return found


def by_cdl(text):
    """What ncdump prints of a file, with its values."""
    found, groups = {}, []
    for line in text.splitlines():
        if group := re.match(r"\s*group: (\S+) \{", line):
            groups.append(group[1])
        elif re.match(r"\s*\} // group", line):
            groups.pop()
        prefix = "".join(group + "/" for group in groups)
        if variable := re.match(r"\s*(?:int|double|float|string) (\w+)\(.*\) ;", line):
            found[prefix + variable[1]] = {"units": None, "long_name": None, "values": None}
        elif said := re.match(r'\s*(\w+):(units|long_name) = "(.*)" ;', line):
            found[prefix + said[1]][said[2]] = re.sub(r"\\(.)", r"\1", said[3])
    return found


def by_ncdump(path):
    return by_cdl(run("ncdump", "-h", path))


def by_nco(path):
    found = {}

    def visit(group, prefix):
        for name, item in group.get("variables", {}).items():
            said = item.get("attributes", {})
            values = item["data"]
            while isinstance(values, list) and values and isinstance(values[0], list):
                values = [value for row in values for value in row]
            values = values if isinstance(values, list) else [values]
            found[prefix + name] = {
                "units": said.get("units"),
                "long_name": said.get("long_name"),
                "values": values if len(values) <= MOST else None,
            }
        for name, inner in group.get("groups", {}).items():
            visit(inner, prefix + name + "/")

    text = run("ncks", "--jsn", path)
    visit(json.loads(re.sub(r"\bnan\b", "null", text), strict=False), "")
    return found


def by_xarray(engine):
    def read(path):
        import h5py
        import xarray

        groups = [""]
        with h5py.File(path) as file:
            file.visititems(lambda name, item: groups.append(name)
                            if isinstance(item, h5py.Group) else None)  # fmt: skip
        found = {}
        for group in groups:
            with xarray.open_dataset(path, engine=engine, group=group or None) as data:
                for name, item in data.variables.items():
                    found[f"{group}/{name}".lstrip("/")] = {
                        "units": item.attrs.get("units"),
                        "long_name": item.attrs.get("long_name"),
                        "values": plain(item.values.flat) if item.size <= MOST else None,
                    }
        return found

    return read


def by_fields(text):
    """What readers/read.R and readers/read.m print."""
    found = {}
    for record in text.split("\x1d"):
        fields = record.split("\x1f")
        if len(fields) != 4:
            continue
        name, units, long_name, values = [None if field == "\x02" else field for field in fields]
        if values is not None:
            values = values.split("\x1e")
        found[name] = {"units": units, "long_name": long_name, "values": values}
    return found


def by_r(path):
    return by_fields(run("Rscript", HERE / "readers" / "read.R", path, MOST))


def by_octave(path):
    """Numbers alone, asked for by name: at the root with their units, in groups without text alone."""
    reference = by_h5py(path)
    names = [name for name, item in reference.items()
             if re.match(r"(energy/|solver/)?\w+$", name)
             and item["values"] and not any(isinstance(x, str) for x in item["values"])]  # fmt: skip
    found = by_fields(run("octave-cli", "-q", HERE / "readers" / "read.m", path, *names))
    for name, item in found.items():
        if "/" in name:
            item.update(units=reference[name]["units"], long_name=reference[name]["long_name"])
    return found


def by_h5wasm(path):
    return json.loads(run("node", "read.mjs", path, MOST, folder=NODE))["found"]


def installed_h5wasm():
    """Nothing, or why there is no h5wasm. What was fetched once stays in the build."""
    if shutil.which("node") is None or shutil.which("npm") is None:
        return "node and npm are not installed"
    NODE.mkdir(parents=True, exist_ok=True)
    for name in ("package.json", "package-lock.json", "read.mjs"):
        shutil.copy(HERE / "readers" / name, NODE / name)
    if (NODE / "node_modules" / ".package-lock.json").exists():
        return None
    fetched = subprocess.run(
        ["npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts"],
        cwd=NODE, capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    return None if fetched.returncode == 0 else "npm cannot fetch h5wasm here"


@unittest.skipIf(PYTHON, f"without {PYTHON} for Python")
class Readers(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-readers-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        (cls.folder / "drop.toml").write_text(SCENE, encoding="utf-8")
        (cls.folder / "plan.toml").write_text(PLAN, encoding="utf-8")
        cls.told = json.loads(run(
            PROGRAM, "ride", "drop.toml", "--vary", "fork.spacers=0..2", "--json", "-o", "ride.nc",
            folder=cls.folder,
        ))["rides"]  # fmt: skip
        run(PROGRAM, "sweep", "plan.toml", "-o", "out", folder=cls.folder)
        run(PROGRAM, "sweep", "merge", "out", "-o", "all.nc", folder=cls.folder)
        cls.report = json.loads(
            run(PROGRAM, "sweep", "report", "all.nc", "--json", folder=cls.folder)
        )["report"]
        cls.files = {
            name: cls.folder / path
            for name, path in (("ride", "ride.nc"), ("merged sweep", "all.nc"),
                               ("shard", "out/shard-00000000.h5"))
        }  # fmt: skip
        cls.reference = {name: by_h5py(path) for name, path in cls.files.items()}

    def same_values(self, expected, found, name):
        self.assertEqual(len(expected), len(found), name)
        for one, other in zip(expected, found):
            if isinstance(one, str):
                self.assertEqual(one, other, name)
                continue
            missing = other is None or other in ("NaN", "NA", "nan")
            self.assertEqual(one is None, missing, name)
            if one is not None:
                self.assertTrue(math.isclose(one, float(other), rel_tol=1e-14), (name, one, other))

    def check(self, read, program=None, all_names=True, order=None):
        if program is not None and shutil.which(program) is None:
            self.skipTest(f"{program} is not installed")
        for kind, path in self.files.items():
            found, compared = read(path), 0
            expected = self.reference[kind]
            if all_names:
                self.assertEqual(set(expected), set(found), kind)
            for name, item in found.items():
                where = f"{kind}: {name}"
                self.assertEqual(expected[name]["units"], item["units"], where)
                self.assertEqual(expected[name]["long_name"], item["long_name"], where)
                if item["values"] is not None and expected[name]["values"] is not None:
                    values = expected[name]["values"]
                    if order is not None:
                        values = order(kind, name, values)
                    self.same_values(values, item["values"], where)
                    compared += 1
            yield kind, found, compared

    def all_of(self, *arguments, least, **options):
        for kind, _, compared in self.check(*arguments, **options):
            self.assertGreaterEqual(compared, least[kind], kind)

    EVERY = {"ride": 180, "merged sweep": 17, "shard": 8}

    # What h5py finds is what plunge prints.
    def test_h5py_reads_what_plunge_prints(self):
        ride = self.reference["ride"]
        self.assertEqual([told["label"] for told in self.told], ride["label"]["values"])
        self.assertEqual([0.0, 1.0, 2.0], ride["fork_spacers"]["values"])
        compared = 0
        for group, prefix in (("set", ""), ("held", ""), ("metrics", ""), ("energy", "energy/"),
                              ("solver", "solver/")):  # fmt: skip
            for name in self.told[0][group]:
                expected = [told[group].get(name) for told in self.told]
                self.assertEqual(expected, ride[prefix + name.replace(".", "_")]["values"], name)
                compared += 1
        self.assertGreater(compared, 60)
        located = [(k, at["time"], at["distance"], at["what"]) for k, told in enumerate(self.told)
                   for at in told["located"]]  # fmt: skip
        self.assertGreater(len(located), 3)
        columns = [ride["located/" + name]["values"]
                   for name in ("ride_index", "instant", "distance", "what")]  # fmt: skip
        self.assertEqual(located, list(zip(*columns)))
        sweep = self.reference["merged sweep"]
        self.assertEqual(["alder", "wren"], sweep["rider_label"]["values"])
        self.assertEqual([2.0, 0.0, 1.0], sweep["fork_spacers_value"]["values"])
        self.assertEqual([0.0, 1.0, 2.0], sweep["fork_spacers"]["values"])
        self.assertEqual([2.0, 8.0], sweep["fork_rebound_clicks"]["values"])
        for name, told in self.report["metrics"].items():
            values = sweep[name]["values"]
            self.assertEqual(24, len(values))
            self.assertEqual((told["least"], told["most"]), (min(values), max(values)))
            self.assertEqual(told["most_in"], values.index(max(values)))
            self.assertEqual(told["units"], sweep[name]["units"])
            self.assertEqual(values[:8], self.reference["shard"][name]["values"])
        self.assertEqual(sweep["travel"]["units"], "m")

    def test_h5py_reads_who_wrote_the_file_and_how(self):
        import h5py

        histories = {
            "ride": "plunge ride drop.toml --vary fork.spacers=0..2",
            "merged sweep": 'plunge sweep, of the plan "the reader\'s plan, naïve µ"\n'
            "plunge sweep merge",
            "shard": 'plunge sweep, of the plan "the reader\'s plan, naïve µ"',
        }
        for kind, path in self.files.items():
            with h5py.File(path) as file:
                said = {name: value.decode() if isinstance(value, bytes) else value
                        for name, value in file.attrs.items()}  # fmt: skip
                self.assertEqual(histories[kind], said["history"])
                self.assertIn("naïve µ", said["title"])
                self.assertEqual(f"plunge {said['program_version']}", said["source"])
                self.assertRegex(said["program_commit"], r"^\S+$")
                self.assertRegex(said["program_compiler"], r"\d+\.\d+")
                # No axis says that it is a time of the calendar.
                self.assertFalse([name for name in file if "axis" in file[name].attrs])

    def test_no_attribute_is_text_of_variable_length(self):
        import h5py

        def look(item):
            for name in item.attrs:
                kind = item.attrs.get_id(name).dtype
                self.assertIsNot(h5py.check_string_dtype(kind) and
                                 h5py.check_string_dtype(kind).length, False, (item.name, name))
                if h5py.check_string_dtype(kind):
                    self.assertIsNotNone(h5py.check_string_dtype(kind).length, (item.name, name))

        for path in self.files.values():
            with h5py.File(path) as file:
                look(file)
                file.visititems(lambda _, item: look(item))

    def test_h5dump_reads_names_units_text_and_numbers(self):
        for kind, _, _ in self.check(by_h5dump, "h5dump"):
            path, name = self.files[kind], "travel_max"
            text = run("h5dump", "-y", "-m", "%.17g", "-d", "/" + name, path)
            data = text.split("DATA {")[1].split("}")[0].replace(",", " ").split()
            self.same_values(self.reference[kind][name]["values"], data, kind)
            texts = "label" if kind == "ride" else "rider_label" if "sweep" in kind else "reasons"
            text = run("h5dump", "-y", "-d", "/" + texts, path)
            data = re.findall(r'"(.*?)"', text.split("DATA {")[1].split("}")[0])
            self.assertEqual(self.reference[kind][texts]["values"], data)

    def test_ncdump_reads_names_units_text_and_numbers(self):
        for kind, _, _ in self.check(by_ncdump, "ncdump"):
            text = "label" if kind == "ride" else "rider_label" if "sweep" in kind else "reasons"
            said = run("ncdump", "-p", "9,17", "-v", f"travel_max,{text}", self.files[kind])
            said = said.split("data:")[1]
            numbers = re.search(r"travel_max =\s(.*?) ;", said, re.DOTALL)[1].replace(",", " ")
            self.same_values(self.reference[kind]["travel_max"]["values"], numbers.split(), kind)
            texts = re.search(rf"\b{text} =\s(.*?) ;", said, re.DOTALL)[1]
            # An empty text is netCDF's fill value, which is printed as _.
            texts = re.findall(r'"(.*?)"|(?<!\w)_(?!\w)', texts)
            self.assertEqual(self.reference[kind][text]["values"], texts)

    def test_xarray_reads_all_with_the_engine_netcdf4(self):
        self.all_of(by_xarray("netcdf4"), least=self.EVERY)

    def test_xarray_reads_all_with_the_engine_h5netcdf(self):
        self.all_of(by_xarray("h5netcdf"), least=self.EVERY)

    def test_xarray_finds_rides_by_labels_and_values(self):
        import xarray

        with xarray.open_dataset(self.files["merged sweep"], engine="netcdf4") as sweep:
            named = sweep.swap_dims(scene="scene_label", rider="rider_label",
                                    fork_spacers="fork_spacers_value")  # fmt: skip
            one = named.travel_max.sel(rider_label="wren", fork_spacers_value=0.0,
                                       fork_rebound_clicks=8.0, point=1)  # fmt: skip
            # By hand: ride 12 + 1 4 + 1 2 + 1.
            self.assertEqual(self.reference["merged sweep"]["travel_max"]["values"][19],
                             float(one.isel(scene_label=0)))  # fmt: skip
            nearest = sweep.travel_max.sel(fork_rebound_clicks=7.0, method="nearest")
            self.assertEqual(8.0, float(nearest.fork_rebound_clicks))

    def test_nco_reads_all(self):
        self.all_of(by_nco, "ncks", least=self.EVERY)

    # What NCO cuts out by values of a coordinate, which must be sorted for it.
    def test_nco_cuts_by_time(self):
        if shutil.which("ncks") is None:
            self.skipTest("ncks is not installed")
        import netCDF4

        cut = self.folder / "cut.nc"
        run("ncks", "-O", "-v", "travel", "-d", "time,0.1,0.15", self.files["ride"], cut)
        with netCDF4.Dataset(cut) as part, netCDF4.Dataset(self.files["ride"]) as whole:
            self.assertEqual((3, 51), part["travel"].shape)
            self.assertTrue((part["travel"][:] == whole["travel"][:, 100:151]).all())
            self.assertTrue(part.history.endswith("plunge ride drop.toml --vary fork.spacers=0..2"))

    def test_r_reads_all(self):
        if shutil.which("Rscript") is None:
            self.skipTest("Rscript is not installed")
        has = subprocess.run(["Rscript", "-e", "library(ncdf4)"], capture_output=True, check=False)
        if has.returncode != 0:
            self.skipTest("R has no ncdf4")
        self.all_of(by_r, least=self.EVERY)

    def test_octave_reads_numbers_and_units_by_name(self):
        if shutil.which("octave-cli") is None:
            self.skipTest("octave-cli is not installed")
        has = subprocess.run(["octave-cli", "-q", "--eval", "pkg load netcdf"],
                             capture_output=True, check=False)  # fmt: skip
        if has.returncode != 0:
            self.skipTest("Octave has no netcdf")
        # Without scene, labels and reasons, which are text.
        least = {"ride": 70, "merged sweep": 14, "shard": 7}
        self.all_of(by_octave, least=least, all_names=False)

    def test_h5wasm_reads_all_in_node(self):
        why_not = installed_h5wasm()
        if why_not:
            self.skipTest(why_not)
        self.all_of(by_h5wasm, least=self.EVERY)


if __name__ == "__main__":
    unittest.main()
