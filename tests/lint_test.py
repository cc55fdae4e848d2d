"""clang-tidy finds nothing in models/, sim/ and tools/ (.clang-tidy says what it looks for).

Needs PLUNGE_BUILD, the build directory with its compile commands."""

import concurrent.futures
import json
import os
import pathlib
import re
import subprocess
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[1]
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"])


def sources():
    with open(BUILD / "compile_commands.json", encoding="utf-8") as commands:
        files = [pathlib.Path(entry["file"]) for entry in json.load(commands)]
    names = {file.relative_to(ROOT).as_posix() for file in files}
    return sorted(name for name in names if re.match(r"(models|sim|tools)/", name))


def complaints(name):
    run = subprocess.run(
        ["clang-tidy-14", "--quiet", "-p", BUILD, "--header-filter=/(models|sim|tools)/", name],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return "" if run.returncode == 0 else run.stdout + run.stderr


class Lint(unittest.TestCase):
    def test_clang_tidy_finds_nothing(self):
        names = sources()
        self.assertIn("models/setup/assemble.cpp", names)
        with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
            found = [text for text in pool.map(complaints, names) if text]
        if found:
            self.fail("\n" + "\n".join(found))


if __name__ == "__main__":
    unittest.main()
