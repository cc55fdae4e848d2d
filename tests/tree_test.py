"""What must hold of the tree itself: format, include direction, names, entries, documents.

Needs PLUNGE_PROGRAM, the built program. Files are those that git would keep; outside git, all."""

import concurrent.futures
import os
import pathlib
import re
import subprocess
import unittest

ROOT = pathlib.Path(__file__).resolve().parent.parent

# Third-party headers: where each may be included, outside tests/. Headers of the C++ library are
# known by having neither a dot nor a slash; <unistd.h> and its like are the operating system's.
THIRD_PARTY = {
    r"boost/math/tools/.*": ["models/root.hpp"],
    r"boost/math/special_functions/.*": ["sim/sampling.cpp"],
    r"boost/random/.*": ["sim/sampling.cpp"],
    r"boost/numeric/odeint/.*": ["sim/integrator.cpp"],
    r"immintrin\.h": ["tools/benchmark/bench.cpp"],
    r"xsimd/.*": ["sim/lane_pack.hpp"],
    r"Eigen/.*": ["sim/modes.cpp"],
    r"unsupported/Eigen/FFT": ["sim/rough.cpp", "sim/weighting.cpp"],
    r"hdf5\.h": ["sim/hdf5_file.cpp"],
    r"udunits2\.h": ["sim/units.cpp"],
    r"toml\+\+/.*": ["sim/toml_file.cpp"],
    r"fmt/.*": ["models/*", "sim/*", "tools/*", "tools/benchmark/*"],
    r"nlohmann/.*": ["sim/*", "tools/*"],
    r"CLI/.*": ["tools/plunge.cpp", "tools/plunge_mpi.cpp"],
    r"mpi\.h": ["tools/plunge_mpi.cpp"],
    r"cvode/.*|nvector/.*|sundials/.*|sunlinsol/.*|sunmatrix/.*": ["tools/benchmark/*"],
    r"gsl/.*": ["tools/benchmark/*"],
    r"benchmark/.*": ["tools/benchmark/*"],
    r"(sys/\w+|fcntl|poll|signal|spawn|stdlib|termios|unistd)\.h": ["sim/*", "tools/*"],
}

# A folder's headers may be included by these folders only. The benchmark counts as a test: it
# measures against the tests' second opinions.
SEEN_BY = {
    "models": {"models", "sim", "tools", "tests"},
    "sim": {"sim", "tools", "tests"},
    "tools": {"tools", "tests"},
    "tests": {"tests"},
}

# Programs that the sources run: the one file that names each.
RUN_FROM = {"gnuplot": {"sim/plot.cpp", "sim/plot.hpp"}}

# Headers that no test file is named for.
WITHOUT_TEST = {
    "models/constants.hpp": "numbers only",
    "models/setup.hpp": "structs only; judge_test judges them",
    "sim/lanes_kernel.hpp": "lanes_test rides it, lanes_symbols_test looks at what it compiles to",
    "sim/integrator.hpp": "outside_integrator_test rides it against other solvers",
    "sim/result.hpp": "structs only; run_test and result_file_test fill them",
}

TOP_LEVEL = {
    "CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE",
    "models", "sim", "scenarios", "tools", "tests",
}  # fmt: skip

# Put together from halves so that this file does not trip over itself.
UNWANTED = {
    "a tab": r"\t",
    "a trailing blank": r"[ \t]+$",
    "unfinished work": r"\b(?:TO" r"DO|FIX" r"ME|XX" r"X)\b",
    "a path of one machine": r"(?<![\w.])/(?:wo" r"rk|ho" r"me|ro" r"ot|tm" r"p)/",
}


def tracked():
    """The tree's files, as paths relative to ROOT."""
    git = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if git.returncode == 0:
        names = git.stdout.split("\0")
    else:
        skipped = re.compile(r"(\.git|build|build-.*|out|__pycache__)(/|$)")
        paths = (path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*"))
        names = [name for name in paths if not re.search(rf"(^|/){skipped.pattern}", name)]
    return sorted({name for name in names if name and (ROOT / name).is_file()})


FILES = tracked()
CODE = [name for name in FILES if re.search(r"\.(cpp|hpp|hpp\.in)$", name)]
DOCUMENTS = [name for name in FILES if name.endswith(".md")]


def text_of(name):
    return (ROOT / name).read_text(encoding="utf-8")


def matches(name, patterns):
    return any(pathlib.PurePosixPath(name).match(pattern) for pattern in patterns)


def program(*arguments):
    return subprocess.run(
        [os.environ["PLUNGE_PROGRAM"], *arguments], capture_output=True, text=True, check=True
    ).stdout


class Findings(unittest.TestCase):
    def none(self, faults):
        if faults:
            self.fail("\n" + "\n".join(faults))


class Tree(Findings):
    def test_there_is_something_to_look_at(self):
        for folder in SEEN_BY:
            self.assertTrue([name for name in CODE if name.startswith(folder + "/")], folder)

    def test_sources_are_formatted(self):
        sources = [name for name in CODE if not name.endswith(".in")]
        run = subprocess.run(
            ["clang-format-14", "--dry-run", "-Werror", *sources],
            cwd=ROOT, capture_output=True, text=True, check=False,
        )  # fmt: skip
        unformatted = sorted(set(re.findall(r"^(\S+?):\d+:\d+: error", run.stderr, re.MULTILINE)))
        self.none([f"{name} is not as clang-format-14 would have it" for name in unformatted])
        self.assertEqual(0, run.returncode, run.stderr)

    def test_top_level_holds_what_the_documents_list(self):
        entries = {name.split("/")[0] for name in FILES}
        self.assertEqual(TOP_LEVEL, {entry for entry in entries if not entry.startswith(".")})

    def test_includes_point_one_way(self):
        faults = []
        for name in CODE:
            for included in re.findall(r'^#include "(.*)"', text_of(name), re.MULTILINE):
                folder = included.split("/")[0]
                place = "tests" if name.startswith("tools/benchmark/") else name.split("/")[0]
                if place not in SEEN_BY.get(folder, ()):
                    faults.append(f"{name} includes {included}")
                elif included not in FILES and included + ".in" not in FILES:
                    faults.append(f"{name} includes {included}, which is not here")
        self.none(faults)

    def test_each_library_is_included_where_the_table_says(self):
        faults = []
        for name in CODE:
            if name.startswith("tests/"):
                continue
            for included in re.findall(r"^#include <(.*[./].*)>", text_of(name), re.MULTILINE):
                rows = [row for row in THIRD_PARTY if re.fullmatch(row, included)]
                if not rows or not matches(name, THIRD_PARTY[rows[0]]):
                    faults.append(f"{name} includes <{included}>")
        self.none(faults)

    def test_models_know_no_clock_disk_or_stream(self):
        unwanted = re.compile(r"^#include <(chrono|ctime|filesystem|fstream|iostream|cstdio)>", re.M)
        self.none(
            [f"{name}: {found[0]}" for name in CODE if name.startswith("models/")
             for found in unwanted.finditer(text_of(name))]
        )  # fmt: skip

    def test_a_foreign_program_is_named_by_one_part(self):
        self.none(
            [f"{name} names {foreign}" for foreign, where in RUN_FROM.items() for name in CODE
             if name.startswith(("models/", "sim/")) and name not in where
             and foreign in text_of(name)]
        )  # fmt: skip

    def test_every_header_has_its_test(self):
        faults = []
        for name in FILES:
            stem = pathlib.PurePosixPath(name).stem
            if re.fullmatch(r"(models|sim)/\w+\.hpp", name) and name not in WITHOUT_TEST:
                if f"tests/{stem}_test.cpp" not in FILES:
                    faults.append(f"{name}: no tests/{stem}_test.cpp")
        self.none(faults + [f"{name} is gone" for name in WITHOUT_TEST if name not in FILES])

    def test_text_is_clean(self):
        faults = []
        for name in FILES:
            try:
                lines = text_of(name).split("\n")
            except UnicodeDecodeError:
                continue  # an image
            if lines[-1] != "":
                faults.append(f"{name}: no newline at the end")
            for number, line in enumerate(lines, 1):
                for what, pattern in UNWANTED.items():
                    if re.search(pattern, line):
                        faults.append(f"{name}:{number}: {what}")
        self.none(faults)

    def test_scripts_run_as_they_are(self):
        for name in ("tools/demo", "tools/check", "tools/sweep.sbatch", ".ci/run"):
            self.assertTrue(os.access(ROOT / name, os.X_OK), name)
            subprocess.run(["bash", "-n", ROOT / name], check=True)

    def test_shipped_inputs_are_valid(self):
        inputs = [name for name in FILES if re.fullmatch(r"scenarios/.*\.toml", name)]
        with concurrent.futures.ThreadPoolExecutor() as pool:
            runs = pool.map(
                lambda name: subprocess.run(
                    [os.environ["PLUNGE_PROGRAM"], "check", name],
                    cwd=ROOT, capture_output=True, text=True, check=False,
                ),
                inputs,
            )  # fmt: skip
            self.none([run.stdout + run.stderr for run in runs if run.returncode != 0])


class Documents(Findings):
    def setUp(self):
        self.pages = {name: text_of(name) for name in DOCUMENTS}

    def test_paths_in_the_text_exist(self):
        folders = "|".join(SEEN_BY) + "|scenarios|\\.ci"
        faults = []
        for name, page in self.pages.items():
            beside = (ROOT / name).parent
            for path in re.findall(rf"(?<![\w/.-])((?:{folders})/[\w./*-]+)", page):
                path = path.rstrip("./-")  # sim/units stands for sim/units.hpp and its .cpp
                if not any(ROOT.glob(path)) and not any(ROOT.glob(path + ".*")):
                    faults.append(f"{name}: {path}")
            for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page):
                if not (beside / link).exists():
                    faults.append(f"{name}: link to {link}")
        self.none([f"{fault} is not here" for fault in faults])

    def test_the_version_is_the_one_in_cmake(self):
        version = re.search(r"project\(plunge VERSION (\S+)", text_of("CMakeLists.txt"))[1]
        self.assertEqual(f"plunge {version}", program("--version").strip())
        for name, page in self.pages.items():
            for written in re.findall(r"\bplunge (?:version )?(\d+\.\d+\.\d+)", page):
                self.assertEqual(version, written, name)

    def test_readme_and_help_know_the_same_verbs(self):
        listed = program("--help").split("Subcommands:")[1]
        verbs = set(re.findall(r"^  (\w+)", listed, re.MULTILINE))
        self.assertIn("ride", verbs)
        # In the table of verbs, in code in the text, and in examples: `$ build/plunge ride ...`.
        named = set(re.findall(r"(?:`|\$ )(?:build/)?plunge (\w+)", self.pages["README.md"]))
        self.assertEqual(verbs, named)

    def test_readme_names_what_ci_runs(self):
        commands = re.findall(r"^(tools/.*)$", text_of(".ci/run"), re.MULTILINE)
        self.assertTrue(commands)
        for command in commands:
            self.assertIn(command, self.pages["README.md"])

    def test_the_demo_rides_what_the_readme_shows(self):
        scene = re.search(r"plunge ride (\S+)", text_of("tools/demo"))[1]
        self.assertIn(scene, self.pages["README.md"])


if __name__ == "__main__":
    unittest.main()
