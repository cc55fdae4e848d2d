"""HDF5 files that were made to break their reader end in a message, and touch nothing else.

Needs PLUNGE_PROGRAM, the built program. PLUNGE_MUTATIONS is how many damaged files are tried (300),
PLUNGE_MUTATION_SEED which ones. A run that does not end within two minutes counts as hung."""

import collections
import concurrent.futures
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import h5py
import numpy

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import hostile_hdf5  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
SCENE = ROOT / "scenarios" / "scenes" / "drop-to-flat.toml"
MUTATIONS = int(os.environ.get("PLUNGE_MUTATIONS", "300"))
SEED = int(os.environ.get("PLUNGE_MUTATION_SEED", "11"))
HUNG = 120

SECRET = 0.123456  # of another file; said in mm it would be 123.5

PLAN = f"""
type = "plan"
format = [1, 0]
name = "hostile"
scenes = ["{SCENE}"]
[set]
"ride.duration" = "0.2 s"
[[axis]]
name = "fork.spacers"
values = "0..3"
[[axis]]
name = "fork.rebound.clicks"
distribution = "uniform"
low = 2
high = 10
[sample]
method = "sobol"
points = 4
[keep]
metrics = ["travel_max", "metal_contacts"]
traces = ["travel"]
trace_rate = "50 Hz"
[sweep]
shard = 4
"""


def run(*arguments, cwd=None):
    try:
        return subprocess.run(
            [PROGRAM, *map(str, arguments)], cwd=cwd, stdin=subprocess.DEVNULL,
            capture_output=True, text=True, errors="surrogateescape", check=False, timeout=HUNG,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return subprocess.CompletedProcess(arguments, "hung", "", "")


def labels_of(dataset):
    return {name: dataset.attrs[name] for name in ("units", "long_name", "coordinates")
            if name in dataset.attrs}  # fmt: skip


def replaced(file, name, make):
    """Puts what `make` makes in place of a variable, with its labels."""
    labels = labels_of(file[name])
    del file[name]
    make()
    for key, value in labels.items():
        file[name].attrs[key] = value


# Each takes an open file and what stands beside it. All are refused with words that hold these.
def external_link(file, beside):
    del file["travel_max"]
    file["travel_max"] = h5py.ExternalLink(str(beside / "secret.h5"), "/travel_max")


def external_link_to_pipe(file, beside):
    del file["travel_max"]
    file["travel_max"] = h5py.ExternalLink(str(beside / "pipe"), "/travel_max")


def external_link_to_text(file, beside):
    del file["travel_max"]
    file["travel_max"] = h5py.ExternalLink(str(beside / "secret.txt"), "/travel_max")


def external_link_to_itself(file, _):
    del file["travel_max"]
    file["travel_max"] = h5py.ExternalLink(file.filename, "/travel_max")


def soft_link(file, _):
    file["energy/again"] = h5py.SoftLink("/energy/damper_out")


def hard_cycle(file, _):
    file["parameters/loop"] = file["/"]


def two_names(file, _):
    file["parameters/again"] = file["travel_max"]


def external_storage(file, beside):
    replaced(file, "travel_max", lambda: file.create_dataset(
        "travel_max", (2,), "<f8", external=[(str(beside / "secret.txt"), 0, 16)]))  # fmt: skip


def external_storage_pipe(file, beside):
    replaced(file, "travel_max", lambda: file.create_dataset(
        "travel_max", (2,), "<f8", external=[(str(beside / "pipe"), 0, 16)]))  # fmt: skip


def virtual(file, beside):
    layout = h5py.VirtualLayout((2,), "<f8")
    layout[:] = h5py.VirtualSource(str(beside / "secret.h5"), "travel_max", (2,))
    replaced(file, "travel_max", lambda: file.create_virtual_dataset("travel_max", layout))


def huge(shape, **more):
    def craft(file, _):
        replaced(file, "time", lambda: file.create_dataset("time", (shape,), "<f8", **more))

    return craft


def zip_bomb(file, _):
    def make():
        data = file.create_dataset("time", (2**27,), "<f8", chunks=(2**25,), compression="gzip",
                                   compression_opts=9)  # fmt: skip
        data[: 2**25] = 0.0

    replaced(file, "time", make)


def other_filter(file, _):
    replaced(file, "travel_max", lambda: file.create_dataset(
        "travel_max", (2,), "<f8", chunks=(2,), fletcher32=True))  # fmt: skip


def no_rides(file, _):
    for name in list(file):
        if isinstance(file[name], h5py.Dataset) and file[name].shape[:1] == (2,):
            data = file[name]
            replaced(file, name, lambda name=name, data=data: file.create_dataset(
                name, (0, *data.shape[1:]), data.dtype))  # fmt: skip


def of_type(name, values):
    def craft(file, _):
        replaced(file, name, lambda: file.create_dataset(name, data=values))

    return craft


def group_in_its_place(file, _):
    del file["failure"]
    file.create_group("failure")


def named_type(file, _):
    file["kind"] = numpy.dtype("<f8")


def value(name, number):
    def craft(file, _):
        file[name][1] = number

    return craft


def attribute(name, key, text):
    def craft(file, _):
        file[name].attrs[key] = text

    return craft


def deep(file, _):
    group = file["parameters"]
    for _ in range(20):
        group = group.create_group("deeper")


def many(file, _):
    for number in range(11_000):
        file["parameters"].create_group(f"p{number}")


def many_attributes(file, _):
    for number in range(1_100):
        file["travel_max"].attrs[f"a{number}"] = 0


def strange_name(file, _):
    file["energy/x\x1b[31m"] = file["energy/damper_out"][...]


def attribute_of_foreign_type(file, _):
    file["travel_max"].attrs["odd"] = numpy.zeros(2, dtype=[("a", "<f8")])


def no_traces(file, _):
    for name in ("travel", "hand_force"):
        del file[name]


DRAWN = ["compare", "--plot", "drawn.svg"]  # which reads the traces
TRACES = ["table", "--traces", "travel", "--ride", "1"]
CRAFTED = [
    (external_link, "travel_max: is a link to another file"),
    (external_link_to_pipe, "is a link to another file"),
    (external_link_to_text, "is a link to another file"),
    (external_link_to_itself, "is a link to another file"),
    (soft_link, "/energy/again: is a soft link"),
    (hard_cycle, "/parameters/loop: is linked twice, or to what it is in"),
    (two_names, "is linked twice"),
    (external_storage, "/travel_max: has its values in another file"),
    (external_storage_pipe, "/travel_max: has its values in another file"),
    (virtual, "/travel_max: is put together from other variables or files"),
    (huge(2**60, chunks=(65536,)), "/time: is larger than its file can hold"),
    (huge(2**28, chunks=(65536,)), "/time: is larger than"),
    (huge(2**28, chunks=(65536,), compression="gzip"), "/time: is larger than"),
    (huge(2**16), "/time: is larger than what is stored of it"),
    (huge(2**26, chunks=(2**25,)), "/time: is "),
    (zip_bomb, "/time: is "),
    (other_filter, "/travel_max: is packed in a way that plunge does not write"),
    (no_rides, "/ride: must hold a ride"),
    (of_type("travel_max", numpy.array([b"a", b"b"])), "/travel_max: must hold numbers"),
    (of_type("travel_max", numpy.zeros(2, [("a", "<f8")])), "/travel_max: must hold numbers or text"),
    (of_type("travel_max", numpy.zeros(2, ">f8")), "/travel_max: must hold numbers or text"),
    (of_type("travel_max", numpy.zeros(2, "<c16")), "/travel_max: must hold numbers or text"),
    (of_type("travel_max", numpy.zeros(3)), "/travel_max: must have 2 values"),
    (of_type("travel_max", numpy.zeros((2, 2, 2))), "/travel_max: must have 2 values"),
    (of_type("samples", numpy.full(2, 2**32 + 5)), "/samples = 4294967301: must fit into 32 bits", ["compare"], TRACES),
    (of_type("samples", numpy.array([3, -1], "<i4")), "/samples = -1: must be 0 to ", ["compare"], TRACES),
    (of_type("label", numpy.array([1.0, 2.0])), "/label: must hold text"),
    (group_in_its_place, "/failure: must be a variable, not a group"),
    (named_type, "/kind: is neither a group nor a variable"),
    (value("travel_max", numpy.inf), "/travel_max = infinity: must be a number"),
    (value("time", numpy.nan), "/time = nan: must be a number above the one before it", DRAWN, TRACES),
    (value("time", 0.0), "/time = 0: must be a number above the one before it", DRAWN, TRACES),
    (value("travel", -numpy.inf), "/travel = infinity: must be a number", DRAWN, TRACES),
    (no_traces, "--plot: draws traces that the file does not hold: travel, hand_force", DRAWN),
    (attribute("travel_max", "units", "smoots"), "/travel_max = smoots: its units are none"),
    (attribute("travel_max", "units", "psi"), '/travel_max = psi: its units must convert to "m"'),
    (attribute("travel_max", "units", ""), "/travel_max: its units are none that plunge knows"),
    (attribute("time", "units", "m"), '/time = m: its units must convert to "s"', DRAWN, TRACES),
    (attribute("/", "file_type", "some\x1b[31m"), "file_type = some\\x1b[31m: must be"),
    (attribute("/", "format_version", numpy.array([2**40, 0])), "must fit into 32 bits"),
    (attribute_of_foreign_type, "/travel_max: attribute odd has a type"),
    (deep, "lies more than 8 groups deep"),
    (many, "10000 objects"),
    (many_attributes, "/travel_max: has more than 1000 attributes"),
    (strange_name, "/energy: has a member whose name is"),
]  # fmt: skip


class Files(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-hostile-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        cls.good = cls.folder / "good.h5"
        made = run("ride", SCENE, "--vary", "fork.spacers=0..1", "--set", "ride.duration=0.2s",
                   "--set", "ride.sample_rate=100Hz", "-o", cls.good)  # fmt: skip
        assert made.returncode == 0, made.stderr
        cls.part = hostile_hdf5.part_of(cls.good)

    def no_descendant(self):
        """No process that reads is left behind."""
        names = []
        for entry in pathlib.Path("/proc").glob("[0-9]*/stat"):
            try:
                text = entry.read_text(encoding="utf-8", errors="replace")
            except OSError:
                continue
            if "(plunge-reader)" in text and f" {os.getpid()} " in text:
                names.append(text)
        self.assertEqual([], names)


class Crafted(Files):
    def setUp(self):
        self.beside = self.folder / self._testMethodName
        self.beside.mkdir()
        os.mkfifo(self.beside / "pipe")
        (self.beside / "secret.txt").write_bytes(numpy.array([SECRET, SECRET]).tobytes())
        with h5py.File(self.beside / "secret.h5", "w") as secret:
            secret["travel_max"] = numpy.array([SECRET, SECRET])
            secret["travel_max"].attrs.update({"units": "m", "long_name": "of another file"})
        self.path = self.beside / "x.h5"

    def craft(self, change):
        self.path.write_bytes(self.part)
        with h5py.File(self.path, "r+") as file:
            change(file, self.beside)

    def seal(self):
        self.path.write_bytes(hostile_hdf5.sealed(self.path.read_bytes()))

    def test_each_is_refused_by_name_and_opens_nothing_else(self):
        secrets = [self.beside / name for name in ("pipe", "secret.txt", "secret.h5")]
        for number, (change, words, *verbs) in enumerate(CRAFTED):
            self.craft(change)
            watch = hostile_hdf5.Watch(secrets)
            self.addCleanup(watch.close)
            # The check sum of a large file takes long here.
            small = self.path.stat().st_size < 2_000_000
            for unsealed in ([["--unsealed"], []] if small else [["--unsealed"]]):
                if not unsealed:
                    self.seal()
                for verb in verbs or (["compare"], ["compare", "--json"], ["table"]):
                    with self.subTest(number=number, name=change.__name__, verb=verb,
                                      unsealed=unsealed):  # fmt: skip
                        done = run(*verb, *unsealed, self.path)
                        self.assertEqual(2, done.returncode, done.stdout[:300] + done.stderr[:300])
                        self.assertIn(words, done.stderr)
                        self.assertIn(str(self.path), done.stderr)
                        self.assertEqual("", done.stdout)
                        self.assertNotIn("\x1b", done.stderr)
                        self.assertNotRegex(done.stdout + done.stderr, r"123[.,]?4?5")
            self.assertFalse(watch.opened(), change.__name__)
        self.no_descendant()

    def test_the_watch_sees_a_file_that_is_opened(self):
        watch = hostile_hdf5.Watch([self.beside / "secret.txt"])
        self.addCleanup(watch.close)
        self.assertFalse(watch.opened())
        (self.beside / "secret.txt").read_bytes()
        self.assertTrue(watch.opened())

    def test_what_is_no_regular_file_is_refused(self):
        (self.beside / "link.h5").symlink_to("pipe")
        for name in ("pipe", "link.h5", ".", "/dev/zero", "/dev/null", "/dev/tty"):
            for verb in ("compare", "table"):
                done = run(verb, name, cwd=self.beside)
                self.assertEqual((2, ""), (done.returncode, done.stdout))
                self.assertIn("cannot be read", done.stderr)

    def test_what_stands_before_or_behind_the_hdf5_part_is_refused(self):
        for content in (bytes(512) + self.part, self.part[:8]):
            self.path.write_bytes(hostile_hdf5.sealed(content))
            done = run("compare", self.path)
            self.assertEqual(2, done.returncode)
        with h5py.File(self.path, "w", userblock_size=512) as file:
            file.create_group("parameters")
        self.path.write_bytes(hostile_hdf5.sealed(self.path.read_bytes()))
        self.assertIn("is not an HDF5 file", run("compare", self.path).stderr)

    def test_a_file_without_a_seal_is_read_when_asked_for_alone(self):
        self.path.write_bytes(self.part)
        expected = json.loads(run("compare", "--json", self.good).stdout)
        done = run("compare", "--json", self.path)
        self.assertEqual(2, done.returncode)
        self.assertIn("--unsealed", done.stderr)
        done = run("compare", "--json", "--unsealed", self.path)
        self.assertEqual(0, done.returncode, done.stderr)
        got = done.stdout.replace(str(self.path), str(self.good))
        self.assertEqual(expected, json.loads(got))
        # One that does not fit is refused all the same.
        whole = bytearray(self.good.read_bytes())
        whole[len(whole) // 2] ^= 1
        self.path.write_bytes(whole)
        done = run("compare", "--unsealed", self.path)
        self.assertEqual(2, done.returncode)
        self.assertIn("is damaged: its check sum differs", done.stderr)

    def test_other_units_are_converted(self):
        expected = run("compare", self.good).stdout

        def in_mm(file, _):
            for name, unit, factor in (("travel_max", "mm", 1e3), ("travel_mean", "in", 1 / 0.0254),
                                       ("fork_force_max", "kN", 1e-3), ("time", "ms", 1e3)):  # fmt: skip
                file[name][...] = file[name][...] * factor
                file[name].attrs["units"] = unit

        self.craft(in_mm)
        done = run("compare", "--unsealed", self.path)
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertEqual(*(said.split("inputs that differ")[1] for said in (expected, done.stdout)))
        self.craft(attribute("travel_max", "units", "mm"))  # said alone: another number
        other = run("compare", "--unsealed", self.path)
        self.assertEqual(0, other.returncode, other.stderr)
        self.assertNotEqual(expected.split("\n")[3:], other.stdout.split("\n")[3:])

    def test_texts_of_fixed_and_of_variable_length_are_read(self):
        def fixed(file, _):
            for name in ("label", "failure"):
                texts = [text.encode() for text in file[name].asstr()[...]]
                replaced(file, name, lambda n=name, t=texts: file.create_dataset(
                    n, data=numpy.array(t, dtype="S40")))  # fmt: skip
            for owner in (file, file["travel_max"], file["travel"], file["fork_spacers"]):
                for key, text in list(owner.attrs.items()):
                    if isinstance(text, str):
                        owner.attrs[key] = numpy.bytes_(text.encode())
            file.attrs["title"] = numpy.bytes_(b"")

        expected = run("compare", self.good).stdout
        self.craft(fixed)
        done = run("compare", "--unsealed", self.path)
        self.assertEqual(0, done.returncode, done.stderr)
        self.assertEqual(*(said.split("inputs that differ")[1] for said in (expected, done.stdout)))


class Mutations(Files):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        (cls.folder / "plan.toml").write_text(PLAN, encoding="utf-8")
        for step in (["sweep", "plan.toml", "-o", "out", "--lanes", "portable"],
                     ["sweep", "merge", "out", "-o", "all.h5"]):  # fmt: skip
            done = run(*step, cwd=cls.folder)
            assert done.returncode == 0, done.stderr

    def check(self, kind, part, use, plays):
        """Uses each mutation; `use` gives what came of it from a path of its own."""
        counts = collections.Counter()
        bad = []

        def one(item):
            number, data = item
            return number, data, use(number, hostile_hdf5.sealed(data))

        tried = enumerate(hostile_hdf5.mutations(part, plays, SEED))
        with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
            for number, data, done in pool.map(one, tried):
                counts[done.returncode] += 1
                for words in ("crashed", "took too long", "too much memory", "makes no sense"):
                    counts[words] += words in done.stderr
                if done.returncode == 0 and "--json" in done.args:
                    json.loads(done.stdout)
                # What breaks the library though its check sum fits is told as trouble of the run.
                broke = done.returncode == 1 and "its check sum fits" in done.stderr
                if (not broke and done.returncode not in (0, 2)) or (done.returncode == 2 and not done.stderr):
                    bad.append((number, done.returncode, done.stderr[-300:]))
                    if keep := os.environ.get("PLUNGE_KEEP_MUTATIONS"):
                        pathlib.Path(keep, f"{kind}-{number}.h5").write_bytes(hostile_hdf5.sealed(data))
        print(f"{kind}: {plays} damaged files:", dict(counts), file=sys.stderr)
        self.assertEqual([], bad)
        self.assertGreater(counts[2], plays // 10)  # damage that is noticed
        self.no_descendant()

    def test_damaged_and_sealed_again_result_files_end_in_a_message_or_numbers(self):
        def use(number, data):
            path = self.folder / f"result-{number}.h5"
            path.write_bytes(data)
            try:
                return run(*(["compare", "--json"] if number % 2 else ["table", "--json"]), path)
            finally:
                path.unlink()

        self.check("result", self.part, use, MUTATIONS // 3)

    def test_merged_files_likewise(self):
        part = hostile_hdf5.part_of(self.folder / "all.h5")

        def use(number, data):
            path = self.folder / f"merged-{number}.h5"
            path.write_bytes(data)
            try:
                return run(*(["sweep", "report", "--json"] if number % 2 else ["table", "--json"]), path)
            finally:
                path.unlink()

        self.check("merged", part, use, MUTATIONS // 3)

    def test_shards_likewise(self):
        name = "shard-00000001.h5"
        part = hostile_hdf5.part_of(self.folder / "out" / name)

        def use(number, data):
            folder = self.folder / f"sweep-{number}"
            shutil.copytree(self.folder / "out", folder)
            (folder / name).write_bytes(data)
            try:
                return run("sweep", "merge", folder, "-o", folder / "all.h5")
            finally:
                shutil.rmtree(folder)

        self.check("shard", part, use, MUTATIONS // 3)


if __name__ == "__main__":
    cache = pathlib.Path(os.environ["PLUNGE_BUILD"]) / "CMakeCache.txt"
    if "PLUNGE_SANITIZE:BOOL=ON" in cache.read_text(encoding="utf-8"):
        print("the process that reads may open no file here, which the sanitizers want to")
        sys.exit(0)
    unittest.main()
