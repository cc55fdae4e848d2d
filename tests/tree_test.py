"""What must hold of the tree itself: format, include direction, names, entries, documents.

Needs PLUNGE_PROGRAM, the built program. Files are those that git would keep; outside git, all."""

import concurrent.futures
import os
import pathlib
import re
import subprocess
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[1]

# Third-party headers: where each may be included, outside tests/. Headers of the C++ library are
# known by having neither a dot nor a slash; <unistd.h> and its like are the operating system's.
THIRD_PARTY = {
    r"boost/math/tools/.*": ["models/setup/root.hpp"],
    r"boost/math/special_functions/.*": ["sim/sweep/sampling.cpp", "sim/fit/fork_fit.cpp"],
    r"boost/random/.*": ["sim/sweep/sampling.cpp"],
    r"boost/numeric/odeint/.*": ["sim/ride/integrator.cpp", "sim/fit/return_time.cpp"],
    r"ceres/.*": ["sim/fit/least_squares.cpp"],
    r"immintrin\.h": ["tools/benchmark/bench.cpp"],
    r"xsimd/.*": ["sim/lanes/lane_pack.hpp"],
    r"xmmintrin\.h": ["sim/lanes/no_subnormals.hpp"],
    r"Eigen/.*": ["sim/ride/modes.cpp", "sim/fit/fork_fit.cpp", "sim/fit/least_squares.cpp"],
    r"unsupported/Eigen/FFT": ["sim/numerics/spectrum.cpp"],
    r"hdf5\.h": ["sim/disk/hdf5_library.hpp"],
    r"zlib\.h": ["sim/disk/packed.cpp"],
    r"pango/.*|cairo-(pdf|svg)\.h": ["sim/report/pango_cairo.hpp"],
    r"SQLiteCpp/.*|sqlite3\.h": ["sim/log/log_database.cpp"],
    r"udunits2\.h": ["sim/text/unit_database_udunits.cpp"],
    r"toml\+\+/.*": ["sim/text/toml_file.cpp"],
    r"fmt/.*": ["models/setup/*", "sim/*/*", "tools/*/*", "tools/page/model/*"],
    r"nlohmann/.*": ["sim/sweep/hand_out.cpp", "sim/log/log_json.*", "tools/cli/*", "tools/page/model/door.*",
                       "tools/page/model/figure_question.*"],
    r"wasm_simd128\.h": ["tools/page/model/simd128.hpp"],
    r"CLI/.*": ["tools/cli/help.hpp"],
    r"mpi\.h": ["tools/mpi/plunge_mpi.cpp"],
    r"gnu/libc-version\.h": ["sim/sweep/build_identity.cpp"],
    r"cvode/.*|nvector/.*|sundials/.*|sunlinsol/.*|sunmatrix/.*": ["tools/benchmark/*"],
    r"gsl/.*": ["tools/benchmark/*"],
    r"benchmark/.*": ["tools/benchmark/*"],
    r"(sys/\w+|fcntl|poll|signal|spawn|stdlib|termios|unistd)\.h": [
        "sim/disk/*", "sim/sweep/*", "tools/*/*",
    ],
}  # fmt: skip

# Each room sees itself and those before it.
ROOMS = [
    "models/laws", "models/setup",
    "sim/text", "sim/numerics", "sim/ground", "sim/measure", "sim/input", "sim/ride",
    "sim/figure", "sim/disk", "sim/lanes", "sim/sweep", "sim/report", "sim/search", "sim/fit", "sim/log",
    "sim/sheet",
    "tools/cli", "tools/mpi", "tools/install", "tools/page/model", "tests",
]  # fmt: skip

# They also run in a browser: no threads, files or libraries of the system.
PORTABLE = ["models/laws", "models/setup", "sim/text", "sim/numerics", "sim/ground", "sim/measure",
            "sim/input", "sim/ride", "sim/figure"]  # fmt: skip
# But for the one file of each that stands behind a seam (sim/text/unit_database.hpp, text_files.hpp).
NOT_PORTABLE = ["sim/text/unit_database_udunits.cpp"]

# The step of the lanes and all that it includes are, like the laws, templates for any machine.
STEP = "sim/lanes/lane_step.hpp"

# Headers that no test file is named for.
WITHOUT_TEST = {
    "models/laws/constants.hpp": "numbers only",
    "models/laws/damper.hpp": "models/setup/damper_test makes laws and holds them",
    "models/laws/motion.hpp": "structs only; ride_line_test and wheel_path_test fill them",
    "models/setup/setup.hpp": "structs only; judge_test judges them",
    "sim/text/unit_database.hpp": "units_test reads units through it",
    "sim/disk/hdf5_handle.hpp": "hdf5_writer_test and hdf5_reader_test hold files open",
    "sim/disk/hdf5_gate.hpp": "hostile_files_test crafts what it must refuse",
    "sim/disk/hdf5_library.hpp": "hdf5_writer_test and hdf5_reader_test call it",
    "sim/disk/hdf5_lock.hpp": "a lock only; shard_file_test writes from several threads under it",
    "sim/disk/reading_child.hpp": "reading_process_test starts it, and makes it fail",
    "sim/lanes/lane_events.hpp": "lanes_test rides it",
    "sim/lanes/lane_pieces.hpp": "structs only; lanes_test makes and reads them",
    "sim/lanes/lane_runner.hpp": "lanes_test and lane_single_test ride it, lanes_symbols_test looks "
    "at what it compiles to",
    "sim/lanes/lane_samples.hpp": "lanes_test rides it",
    "sim/lanes/lane_state.hpp": "structs only; lanes_test and lane_single_test ride them",
    "sim/lanes/lane_step.hpp": "lanes_test and lane_single_test ride it",
    "sim/lanes/lane_task.hpp": "lanes_test rides it",
    "sim/lanes/lane_wish.hpp": "structs only; lanes_test fills them",
    "sim/measure/label.hpp": "a struct only; metrics_test and channels_test look at every row",
    "sim/measure/instant.hpp": "a struct only; channels_test reads it",
    "sim/ride/integrator.hpp": "outside/integrator_test rides it against other solvers",
    "sim/measure/result.hpp": "structs only; run_test and result_file_test fill them",
    "sim/figure/figure.hpp": "structs only; figure_layout_test lays them out",
    "sim/figure/placed_figure.hpp": "structs only; figure_layout_test looks at them filled",
    "sim/figure/panel_content.hpp": "figure_layout_test lays out what it fills in",
    "sim/figure/drawing.hpp": "figure_drawing_test looks through every list",
    "sim/report/pango_cairo.hpp": "picture_test and sheet_layout_test draw through it",
    "sim/report/result_content.hpp": "names and structs only; result_file_test writes and reads them",
    "sim/sweep/check_file.hpp": "scene_reader_test and faults_test",
    "sim/sweep/sweep_paths.hpp": "names only; sweep_folder_test finds the files",
    "sim/sweep/sweep_state.hpp": "sweep_test",
    "sim/input/findings.hpp": "scene_reader_test reads the places that it finds",
    "sim/input/table_reader.hpp": "scene_reader_test and faults_test",
    "sim/input/service.hpp": "a struct only; service_reader_test fills it",
    "sim/input/terrain_reader.hpp": "scene_reader_test and faults_test",
    "sim/input/toml_values.hpp": "scene_reader_test and faults_test",
    "tools/cli/voice.hpp": "every test of a verb hears it",
    "sim/sheet/sheet_page.hpp": "structs only; sheet_layout_test fills them",
    "sim/sweep/axis.hpp": "structs only; plan_file_test fills them",
    "sim/sweep/ground_faults.hpp": "plan_file_test rides over the grounds that it keeps",
    "sim/sweep/plan_axes.hpp": "plan_file_test",
    "sim/sweep/plan_content.hpp": "structs only; plan_file_test reads plans into them",
    "sim/sweep/plan_facts.hpp": "plan_file_test",
    "sim/sweep/plan_reader.hpp": "plan_file_test",
    "sim/sweep/plan_tables.hpp": "plan_file_test and faults_test",
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


def includes(name):
    """What a file includes of the tree."""
    return re.findall(r'^#include "(.*)"', text_of(name), re.MULTILINE)


def module(name):
    return re.sub(r"\.(cpp|hpp)(\.in)?$", "", name)


def room(name):
    """The room of a source; the benchmark measures against the tests' second opinions."""
    if name.startswith("tests/") or name.startswith("tools/benchmark/"):
        return "tests"
    return str(pathlib.PurePosixPath(name).parent)


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
        for place in ROOMS:
            self.assertTrue([name for name in CODE if room(name) == place], place)

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

    def test_rooms_include_earlier_rooms_only(self):
        faults = []
        for name in CODE:
            place = room(name)
            for included in includes(name):
                if not included.endswith(".hpp"):
                    faults.append(f"{name} includes {included}, which is no header")
                elif included not in FILES and included + ".in" not in FILES:
                    faults.append(f"{name} includes {included}, which is not here")
                elif ROOMS.index(room(included)) > ROOMS.index(place):
                    faults.append(f"{name} includes {included}, which is in a later room")
        self.none(faults)

    def test_no_two_modules_include_each_other_in_a_circle(self):
        # A module is a header with its source.
        sees = {}
        for name in CODE:
            own = module(name)
            sees.setdefault(own, set()).update({module(other) for other in includes(name)} - {own})
        done = set()
        faults = []

        def walk(name, path):
            if name in path:
                faults.append(" -> ".join(path[path.index(name):] + [name]))
            elif name not in done:
                for other in sorted(sees.get(name, ())):
                    walk(other, path + [name])
                done.add(name)

        for name in sorted(sees):
            walk(name, [])
        self.none(faults)

    def test_cmake_builds_the_rooms_in_the_same_order(self):
        built = re.findall(r"^plunge_room\((\S+?)[ )]", text_of("CMakeLists.txt"), re.MULTILINE)
        self.assertEqual([name for name in ROOMS if name not in ("tools/mpi", "tools/install", "tools/page/model", "tests")], built)

    def test_laws_are_templates_that_any_machine_runs(self):
        unwanted = re.compile(
            r"^#include <(string|vector|memory|map|functional|stdexcept|xsimd/.*)>|\b(throw|new|"
            r"std::string|std::vector)\b", re.MULTILINE)  # fmt: skip
        stepping = set()
        to_see = {STEP}
        while to_see:
            stepping |= to_see
            to_see = {other for name in to_see for other in includes(name)} - stepping
        self.assertEqual([], [name for name in stepping
                              if room(name) not in ("models/laws", "sim/lanes")])  # fmt: skip
        self.none(
            [f"{name}: {found[0]}" for name in CODE
             if room(name) == "models/laws" or name in stepping
             for found in unwanted.finditer(re.sub(r"//.*", "", text_of(name)))]
        )  # fmt: skip
        sources = [name for name in CODE if room(name) == "models/laws" and name.endswith(".cpp")]
        self.assertEqual([], sources)

    def test_portable_rooms_need_no_thread_file_or_stream(self):
        unwanted = re.compile(
            r"^#include (<(chrono|ctime|filesystem|fstream|iostream|cstdio|thread|mutex|atomic|"
            r"condition_variable|future)>|\"sim/disk/.*\")", re.MULTILINE)  # fmt: skip
        self.none(
            [f"{name}: {found[0]}" for name in CODE
             if room(name) in PORTABLE and name not in NOT_PORTABLE
             for found in unwanted.finditer(text_of(name))]
        )  # fmt: skip

    def test_no_verb_judges_or_holds_by_itself(self):
        unwanted = re.compile(r"\b(judge\w*|hold_sag|settle)\(")
        self.none(
            [f"{name}: {found[0]}" for name in CODE if name.startswith("tools/cli/")
             for found in unwanted.finditer(text_of(name))]
        )  # fmt: skip

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

    def test_every_header_has_its_test(self):
        faults = []
        for name in FILES:
            if re.fullmatch(r"(models|sim)/\w+/\w+\.hpp", name) and name not in WITHOUT_TEST:
                test = f"tests/{module(name)}_test.cpp"
                if test not in FILES:
                    faults.append(f"{name}: no {test}")
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
        folders = r"models|sim|tools|tests|scenarios|\.ci"
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
        self.assertTrue(program("--version").startswith(f"plunge {version}, commit "))
        for name, page in self.pages.items():
            for written in re.findall(r"\bplunge (?:version )?(\d+\.\d+\.\d+)", page):
                self.assertEqual(version, written, name)

    def test_readme_and_help_know_the_same_verbs(self):
        listed = program("--help").split("\nVerbs:\n")[1].split("\n\n")[0]
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
