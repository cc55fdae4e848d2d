"""clang finds nothing: no warning in any source, and clang-tidy nothing in models/, sim/ and tools/
(.clang-tidy says what it looks for).

Needs PLUNGE_BUILD, the build directory, in which it lays out a build with clang without building it.
The sources of a library or of a test program are read there as one file: most of the time goes to
headers, which they share."""

import concurrent.futures
import json
import os
import pathlib
import re
import shlex
import subprocess
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[1]
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"]) / "clang"
CHECKED = r"(models|sim|tools)/"

# For WebAssembly alone: clang's warnings end the build of page_model (tests/tools/page/model_test.py).
ELSEWHERE = {f"tools/page/model/{name}.cpp"
             for name in ("exceptions", "exports", "lanes_simd128", "ride_many_alone",
                          "unit_database_table")}  # fmt: skip


def run(command, folder=ROOT):
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def compile_commands():
    """The command of every file that clang reads."""
    failure = run(["cmake", "-S", ROOT, "-B", BUILD, "-G", "Ninja", "-DPLUNGE_TESTS=ON",
                   "-DCMAKE_BUILD_TYPE=Debug", "-DCMAKE_CXX_FLAGS_DEBUG=-O0", "-DPLUNGE_WERROR=ON",
                   "-DCMAKE_CXX_COMPILER=clang++-14", "-DCMAKE_C_COMPILER=clang-14",
                   "-DCMAKE_UNITY_BUILD=ON", "-DCMAKE_UNITY_BUILD_BATCH_SIZE=0"])  # fmt: skip
    # Headers that say what was built, and when they are asked for.
    failure = failure or run(["cmake", "--build", BUILD, "--target", "plunge_commit",
                              "plunge_build_facts"])  # fmt: skip
    if failure:
        raise RuntimeError(failure)
    with open(BUILD / "compile_commands.json", encoding="utf-8") as commands:
        # What is generated is no source of the tree.
        return [entry for entry in json.load(commands) if sources_of(entry)]


def sources_of(entry):
    """The sources of the tree that a command reads."""
    file = pathlib.Path(entry["file"])
    if not file.is_relative_to(BUILD):
        return {file.relative_to(ROOT).as_posix()}
    included = re.findall(r'^#include "(.*)"', file.read_text(encoding="utf-8"), re.MULTILINE)
    return {pathlib.Path(name).relative_to(ROOT).as_posix() for name in included
            if not pathlib.Path(name).is_relative_to(BUILD)}  # fmt: skip


def complaints(entry):
    if all(re.match(CHECKED, name) for name in sources_of(entry)):
        # clang's own warnings are among what clang-tidy tells.
        return run(["clang-tidy-14", "--quiet", "-p", BUILD, f"--header-filter=/{CHECKED}",
                    entry["file"]])  # fmt: skip
    return run([*shlex.split(entry["command"]), "-fsyntax-only"], entry["directory"])


class Lint(unittest.TestCase):
    def test_clang_finds_nothing(self):
        commands = compile_commands()
        read = set().union(*map(sources_of, commands))
        there = {path.relative_to(ROOT).as_posix() for folder in ("models", "sim", "tools", "tests")
                 for path in (ROOT / folder).rglob("*.cpp")}  # fmt: skip
        self.assertEqual(there - ELSEWHERE, read)
        # The longest first, so that none is left over at the end.
        commands.sort(key=lambda entry: len(sources_of(entry)), reverse=True)
        with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
            found = [text for text in pool.map(complaints, commands) if text]
        if found:
            self.fail("\n" + "\n".join(found))


if __name__ == "__main__":
    unittest.main()
