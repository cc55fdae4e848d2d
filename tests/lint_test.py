"""clang finds nothing: no warning in any source, and clang-tidy nothing in models/, sim/ and tools/
(.clang-tidy says what it looks for).

Needs PLUNGE_BUILD, the build directory, in which it lays out a build with clang without building it:
clang reads every source as it would be compiled there."""

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


def run(command, folder=ROOT):
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def compile_commands():
    """The command of every source, by its path in the tree."""
    failure = run(["cmake", "-S", ROOT, "-B", BUILD, "-G", "Ninja", "-DPLUNGE_TESTS=ON",
                   "-DCMAKE_BUILD_TYPE=Debug", "-DCMAKE_CXX_FLAGS_DEBUG=-O0", "-DPLUNGE_WERROR=ON",
                   "-DCMAKE_CXX_COMPILER=clang++-14", "-DCMAKE_C_COMPILER=clang-14"])  # fmt: skip
    if failure:
        raise RuntimeError(failure)
    with open(BUILD / "compile_commands.json", encoding="utf-8") as commands:
        entries = json.load(commands)
    return {pathlib.Path(e["file"]).relative_to(ROOT).as_posix(): e for e in entries}


def complaints(name, entry):
    if re.match(CHECKED, name):
        # clang's own warnings are among what clang-tidy tells.
        return run(["clang-tidy-14", "--quiet", "-p", BUILD, f"--header-filter=/{CHECKED}", name])
    return run([*shlex.split(entry["command"]), "-fsyntax-only"], entry["directory"])


class Lint(unittest.TestCase):
    def test_clang_finds_nothing(self):
        commands = compile_commands()
        self.assertIn("models/setup/assemble.cpp", commands)
        self.assertTrue([name for name in commands if name.startswith("tests/")])
        with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
            found = [text for text in pool.map(complaints, commands, commands.values()) if text]
        if found:
            self.fail("\n" + "\n".join(found))


if __name__ == "__main__":
    unittest.main()
