"""Arbitrary text crashes no reader, hangs none and is never half taken (readers_fuzz.cpp).

Needs PLUNGE_BUILD, in which it builds the fuzz target with clang. It begins with the files of
tests/faults, whole and broken in each of the ways listed there, and with tests/fuzz/corpus: inputs
that once found a fault. PLUNGE_FUZZ_SECONDS, 60 unless given, is how long it looks. What it finds is
written to fuzz/found in the build directory; mended, it belongs into the corpus."""

import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import tomllib
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
GOOD = ROOT / "tests/faults/good"
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"]).resolve() / "fuzz"
SECONDS = int(os.environ.get("PLUNGE_FUZZ_SECONDS", "60"))

# First bytes: which reader an input is for, in the order of readers_fuzz.cpp.
SCENE, FILE, PROFILE, QUANTITY, WISHES, VALUES, EXPORT = (bytes([i]) for i in range(7))


def build():
    commands = (
        ["cmake", "-S", ROOT, "-B", BUILD, "-G", "Ninja", "-DPLUNGE_FUZZ=ON", "-DPLUNGE_TESTS=OFF",
         "-DCMAKE_BUILD_TYPE=Debug", "-DCMAKE_CXX_COMPILER=clang++-14",
         "-DCMAKE_C_COMPILER=clang-14", "-DCMAKE_UNITY_BUILD=ON",
         "-DCMAKE_UNITY_BUILD_BATCH_SIZE=0"],
        ["cmake", "--build", BUILD, "--target", "readers_fuzz"],
    )  # fmt: skip
    for command in commands:
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode != 0:
            raise RuntimeError(done.stdout + done.stderr)


def broken_texts():
    """The files of tests/faults/good, as they are and broken in every way that tests/faults lists."""
    for path in sorted(GOOD.iterdir()):
        yield path.name, path.read_bytes()
    for table in sorted((ROOT / "tests/faults").glob("*.toml")):
        for case in tomllib.loads(table.read_text(encoding="utf-8"))["case"]:
            if "file" not in case or "repeat" in case:
                continue
            if "bytes" in case:
                text = bytes.fromhex(case["bytes"])
            elif "text" in case:
                text = case["text"].replace("§", "").encode()
            else:
                good = (GOOD / case["file"]).read_text(encoding="utf-8")
                text = good.replace(case["old"], case["new"]).replace("§", "").encode()
            yield case["file"], text


def seeds():
    for name, text in broken_texts():
        if name.endswith(".csv"):
            yield PROFILE + text
        else:
            yield FILE + text
        if name == "scene.toml":
            yield SCENE + text
    for path in sorted((ROOT / "scenarios").rglob("*.toml")):
        yield FILE + path.read_bytes()
    texts = [b"85 psi", b"22 %", "1.5 µm".encode(), b"-3e2 degC", b"7 ft", b"12 lbf/in", b"65deg"]
    for unit in range(15):
        for text in texts:
            yield QUANTITY + bytes([unit]) + text
    yield WISHES + b"s fork.spacers=2\nv fork.spacers=0..3\nh sag=22%\n"
    yield WISHES + b"v fork.pressure=60psi..90psi:5psi\ns ride.speed=20km/h\nh pressure\n"
    yield WISHES + b"s hold.sag=30 mm\nv terrain[1].height=0.1m,0.2m\n"
    for text in (b"fork.spacers=0..2", b"fork.pressure=60psi,4bar", b"ride.speed=10km/h..30km/h:5km/h"):
        yield VALUES + text
    for text in exports():
        yield EXPORT + text


def exported(*entries):
    """An export of a log: kind, and what it says; "@n" stands for the key of the nth entry."""
    keys = [f"{number:032x}" for number in range(len(entries))]
    said = []
    for key, (kind, fields) in zip(keys, entries):
        named = {name: keys[int(value[1:])] if str(value)[:1] == "@" else value
                 for name, value in fields.items()}  # fmt: skip
        said.append({"key": key, "kind": kind, "at": "2026-11-26T20:06:48Z", **named})
    return json.dumps({"type": "plunge log", "format": [1, 0], "entries": said}).encode()


def exports():
    fork = ("fork", {"name": "a", "file": (ROOT / "scenarios/forks/teasel-150.toml").read_text("utf-8")})
    setting = ("setting", {"fork": "@0", "numbers": {"fork.pressure": 5e5, "fork.spacers": 2}})
    yield exported(fork, setting, ("undo", {"entry": "@1"}), ("redo", {"undo": "@2"}),
                   ("ride", {"setting": "@1", "ring": 0.14, "bottom_outs": 1, "scene": "s"}))  # fmt: skip
    yield exported(("fork", {"name": "a", "numbers": {"fork.travel": 0.14}}),
                   ("reading", {"what": "sag", "fork": "@0", "value": {"value": 0.03, "unit": "m"},
                                "spread": {"value": 0.002, "unit": "m"}, "load": 76.0}),
                   ("note", {"text": "t", "about": "@1"}))  # fmt: skip
    yield exported(fork, setting, ("prediction", {"setting": "@1", "numbers": {"travel_max": 0.1}}))


def dictionary():
    """Names, units and signs that a text is made of, for the fuzzer to put together."""
    page = (ROOT / "scenarios/format.md").read_text(encoding="utf-8")
    words = set(re.findall(r"`([\w.\[\]\" =%/-]{1,40})`", page))
    words |= {part for word in words for part in re.split(r"[. ]", word) if part}
    words |= {"..", "[[", "]]", "nan", "inf", "1e999", "-0", "0x7fffffffffffffff", '"""', "\\u0000"}
    escaped = (word.replace("\\", "\\\\").replace('"', '\\"') for word in sorted(words))
    return "".join(f'"{word}"\n' for word in escaped)


class Fuzz(unittest.TestCase):
    def test_no_text_breaks_a_reader(self):
        if shutil.which("clang++-14") is None:
            self.skipTest("clang++-14 is not installed")
        build()
        found = BUILD / "found"
        found.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(prefix="plunge-fuzz-") as scratch:
            folder = pathlib.Path(scratch) / "files"
            shutil.copytree(GOOD, folder)
            corpus = pathlib.Path(scratch) / "corpus"
            corpus.mkdir()
            for number, seed in enumerate(seeds()):
                (corpus / f"{number:04}").write_bytes(seed)
            self.assertGreater(number, 300)
            for path in (ROOT / "tests/fuzz/corpus").iterdir():
                shutil.copy(path, corpus)
            (pathlib.Path(scratch) / "words").write_text(dictionary(), encoding="utf-8")
            command = [BUILD / "readers_fuzz", corpus, f"-dict={scratch}/words", "-max_len=8192",
                       f"-max_total_time={SECONDS}", "-timeout=60", "-rss_limit_mb=3000",
                       f"-artifact_prefix={found}/"]  # fmt: skip
            done = subprocess.run(command, cwd=folder, capture_output=True, check=False)
        told = done.stderr.decode("utf-8", "replace")
        self.assertEqual(0, done.returncode, told[-6000:])
        tries, seconds = map(int, re.search(r"Done (\d+) runs in (\d+) second", told).groups())
        print(f"{tries} texts in {seconds} s")
        self.assertGreater(tries, 300, "not even the seeds were read")


if __name__ == "__main__":
    unittest.main()
