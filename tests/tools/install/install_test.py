"""What cmake --install puts into an empty prefix works from there: programs, manual pages,
completions, examples, and the library for a program that finds it with find_package.

Needs PLUNGE_BUILD, the built tree."""

import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"])

# The least program that uses the library: a scene, its sag, a ride, a number; a fork of a log.
CONSUMER = """
#include <cstdio>

#include <sim/log/workshop_log.hpp>
#include <sim/sweep/plunge.hpp>

int main(int, char** argv) {
  const plunge::ReadyRides ready = plunge::ready(plunge::disk_files(), argv[1]);
  const plunge::Result result = plunge::ride_one(ready.rides.front());
  for (const plunge::Metric& metric : result.metrics) {
    if (metric.name == "travel_max") std::printf("%.17g\\n", metric.value);
  }
  const plunge::LogContent log = plunge::WorkshopLog(argv[2]).read();
  std::printf("%.17g\\n", plunge::logged_fork(log, "rental").setup.fork.travel);
}
"""
PROJECT = """
cmake_minimum_required(VERSION 3.25)
project(consumer CXX)
find_package(plunge REQUIRED)
add_executable(consumer consumer.cpp)
target_link_libraries(consumer PRIVATE plunge::plunge)
"""


def run(*command, **options):
    return subprocess.run(
        [str(word) for word in command], check=True, capture_output=True, text=True, **options
    ).stdout


def verbs_in(text):
    """Names of the verbs that a help text lists."""
    parts = text.split("\nVerbs:\n")
    if len(parts) < 2:
        return []
    return re.findall(r"^  (\w+)", parts[1].split("\n\n")[0], re.MULTILINE)


class Installed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.temporary.cleanup)
        cls.folder = pathlib.Path(cls.temporary.name)
        cls.prefix = cls.folder / "prefix"
        run("cmake", "--install", BUILD, "--prefix", cls.prefix)
        cls.plunge = cls.prefix / "bin" / "plunge"
        cls.share = cls.prefix / "share"
        # Help texts by verb: "" is the program's own.
        cls.help = {"": run(cls.plunge, "--help")}
        for verb in verbs_in(cls.help[""]):
            cls.help[verb] = run(cls.plunge, verb, "--help")
        for verb in list(cls.help):
            for inner in verbs_in(cls.help[verb]) if verb else []:
                cls.help[f"{verb} {inner}"] = run(cls.plunge, verb, inner, "--help")

    def options(self, verb):
        listed = self.help[verb].split("Options:")[1].split("Examples:")[0]
        return re.findall(r"(?<![\w-])--[a-z]+(?:-[a-z]+)*", listed)

    def test_the_program_rides_an_installed_example_from_anywhere(self):
        scene = self.share / "plunge/scenarios/scenes/drop-to-flat.toml"
        told = run(self.plunge, "ride", scene, "--json", "--plot", "a.svg", "-o", "a.h5",
                   cwd=self.folder, env={"PATH": "/usr/bin:/bin"})  # fmt: skip
        metrics = json.loads(told)["rides"][0]["metrics"]
        self.assertGreater(metrics["travel_max"], 0.01)
        self.assertTrue((self.folder / "a.svg").stat().st_size > 1000)

    def test_every_installed_example_is_valid(self):
        files = sorted((self.share / "plunge/scenarios").rglob("*.toml"))
        self.assertGreater(len(files), 20)
        run(self.plunge, "check", *files)

    def test_what_is_to_be_there_is_there(self):
        for name in ("share/plunge/sweep.sbatch", "share/doc/plunge/LICENSE",
                     "share/plunge/scenarios/format.md"):  # fmt: skip
            self.assertTrue((self.prefix / name).is_file(), name)
        self.assertTrue(os.access(self.share / "plunge/sweep.sbatch", os.X_OK))
        if (BUILD / "plunge_mpi").exists():
            self.assertTrue(os.access(self.prefix / "bin/plunge_mpi", os.X_OK))
            self.assertIn("--lanes", self.page("plunge_mpi.1"))

    def page(self, name):
        """A manual page without its markup."""
        text = (self.share / "man/man1" / name).read_text(encoding="utf-8")
        return re.sub(r"\\f[BIR]|\\(?=-)", "", text)

    def test_the_manual_page_knows_every_verb_and_option_of_the_help(self):
        self.assertIn("sweep report", self.help)
        page = self.page("plunge.1")
        sections = {part.split("\n")[0]: part for part in page.split(".SS plunge ")[1:]}
        self.assertEqual({verb for verb in self.help if verb}, set(sections))
        for verb in sections:
            for option in self.options(verb):
                self.assertIn(option, sections[verb], verb)
        if shutil.which("man"):
            shown = run("man", "--warnings", "-l", self.share / "man/man1/plunge.1")
            self.assertIn("--vary", shown.replace("\u2010", "-"))

    def complete(self, *words):
        """What bash offers for the last of the words after plunge."""
        script = self.share / "bash-completion/completions/plunge"
        quoted = " ".join(f"'{word}'" for word in ("plunge", *words))
        return run(
            "bash", "--norc", "-c",
            f"source {script}; COMP_WORDS=({quoted}); COMP_CWORD={len(words)}; _plunge; "
            'printf "%s\\n" "${COMPREPLY[@]}"',
            cwd=ROOT,
        ).split()  # fmt: skip

    def test_bash_offers_what_the_help_lists(self):
        for verb, text in self.help.items():
            words = verb.split()
            self.assertLessEqual(set(self.options(verb)), set(self.complete(*words, "--")), verb)
            self.assertLessEqual(set(verbs_in(text)), set(self.complete(*words, "")), verb)
        self.assertEqual(["--plot"], self.complete("ride", "--pl"))
        self.assertIn("README.md", self.complete("ride", "READ"))
        self.assertIn("compare", self.complete("help", "com"))

    def test_zsh_and_fish_know_the_same(self):
        zsh = (self.share / "zsh/site-functions/_plunge").read_text(encoding="utf-8")
        fish = (self.share / "fish/vendor_completions.d/plunge.fish").read_text(encoding="utf-8")
        for verb in self.help:
            own = f"    ({verb.replace(' ', chr(92) + ' ') or '*'})\n"
            self.assertIn(own, zsh)
            branch = zsh.split(own)[1].split(";;")[0]
            of_verb = [line for line in fish.splitlines()
                       if re.search(rf"seen_subcommand_from {verb.split()[-1]}\b", line)
                       ] if verb else fish.splitlines()  # fmt: skip
            for option in self.options(verb):
                self.assertIn(f"'*{option}[", branch, verb)
                self.assertTrue([x for x in of_verb if f" -l {option[2:]} " in x], verb + option)
        for shell, file in (("zsh", "zsh/site-functions/_plunge"),
                            ("fish", "fish/vendor_completions.d/plunge.fish")):  # fmt: skip
            if shutil.which(shell):
                run(shell, "-n", self.share / file)

    def test_another_project_finds_the_library_and_rides_the_same(self):
        project = self.folder / "consumer"
        project.mkdir()
        (project / "consumer.cpp").write_text(CONSUMER, encoding="utf-8")
        (project / "CMakeLists.txt").write_text(PROJECT, encoding="utf-8")
        cache = (BUILD / "CMakeCache.txt").read_text(encoding="utf-8")
        compiler = re.search(r"^CMAKE_CXX_COMPILER:\w+=(.*)$", cache, re.MULTILINE)[1]
        flags = "-fsanitize=address,undefined" if "PLUNGE_SANITIZE:BOOL=ON" in cache else ""
        run("cmake", "-S", project, "-B", project / "build", f"-DCMAKE_PREFIX_PATH={self.prefix}",
            f"-DCMAKE_CXX_COMPILER={compiler}", f"-DCMAKE_CXX_FLAGS={flags}")  # fmt: skip
        run("cmake", "--build", project / "build")
        scene = self.share / "plunge/scenarios/scenes/drop-to-flat.toml"
        told = json.loads(run(self.plunge, "ride", scene, "--json", "-o", self.folder / "b.h5"))
        log = self.folder / "a.plunge-log"
        run(self.plunge, "log", "add", "fork", "rental", "travel=0.14m", "--log", log)
        travel_max, travel = run(project / "build/consumer", scene, log, cwd=self.folder).split()
        self.assertEqual(told["rides"][0]["metrics"]["travel_max"], float(travel_max))
        self.assertEqual(0.14, float(travel))


if __name__ == "__main__":
    unittest.main()
