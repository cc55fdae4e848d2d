"""The learning page in a browser: every control by mouse, keyboard and touch, from a phone to a projector.

Needs PLUNGE_PROGRAM, the built program, and PLUNGE_BUILD, its build, which makes the page (target
page), and Debian's chromium. Where chromium, node, npm or clang for WebAssembly is missing, or npm
can't fetch what the page is built with, it says so and is skipped. PLUNGE_PAGE_MINUTES says for how
long the page is used at random (half a minute unless it is given)."""

import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = pathlib.Path(os.environ["PLUNGE_PROGRAM"]).resolve()
BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"]).resolve()
PAGE = BUILD / "page/page.html"
WORK = BUILD / "page/work"


def skip(why):
    print(f"The learning page is not tested: {why}")
    sys.exit(77)


def build():
    """The page is up to date, or the test is skipped with what is missing."""
    if shutil.which("chromium") is None:
        skip("chromium is not installed (on Debian: apt-get install chromium)")
    made = subprocess.run(["cmake", "--build", BUILD, "--target", "page"],
                          capture_output=True, text=True, check=False)  # fmt: skip
    said = made.stdout + made.stderr
    for missing in ("no clang for WebAssembly", "node and npm are missing"):
        if missing in said:
            skip(missing + said.split(missing, 1)[1].split("\n")[0])
    if made.returncode != 0 and not (WORK / "fetched").exists():
        skip("npm cannot fetch here what the page is built with")
    assert made.returncode == 0, said


def plunge(*arguments, expect=0):
    done = subprocess.run(
        [PROGRAM, *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode != expect:
        raise AssertionError((arguments, done.returncode, done.stderr))
    return done


class Verb(unittest.TestCase):
    """plunge page writes what was built, whole or not at all."""

    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-page-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)

    def test_the_page_is_written(self):
        path = self.folder / "new/page.html"
        plunge("page", "-o", str(path))
        # What marks the file as plunge's own stands behind the declaration of its type.
        first, mark, rest = path.read_text(encoding="utf-8").split("\n", 2)
        self.assertEqual("<!doctype html>", first)
        self.assertTrue(mark.startswith("<!--") and mark.endswith("-->"), mark)
        self.assertEqual(PAGE.read_text(encoding="utf-8").split("\n", 1)[1], rest)

    def test_only_its_own_file_is_replaced(self):
        path = self.folder / "page.html"
        plunge("page", "-o", str(path))
        told = json.loads(plunge("page", "-o", str(path), "--json").stdout)["page"]
        self.assertEqual(path.stat().st_size, told["bytes"])
        path.write_text("somebody's own", encoding="utf-8")
        self.assertIn("--replace", plunge("page", "-o", str(path), expect=2).stderr)
        self.assertEqual("somebody's own", path.read_text(encoding="utf-8"))
        plunge("page", "-o", str(path), "--replace")

    def test_other_names_and_its_own_source_are_refused(self):
        self.assertIn("must end in .html", plunge("page", "-o", str(self.folder / "page.pdf"), expect=2).stderr)
        self.assertIn("--output", plunge("page", expect=2).stderr)
        before = PAGE.read_bytes()
        plunge("page", "-o", str(PAGE), "--replace", expect=2)
        self.assertEqual(before, PAGE.read_bytes())


class Page(unittest.TestCase):
    """What page.mjs does in the browser; its own lines say which part failed."""

    def test_in_a_browser(self):
        with tempfile.TemporaryDirectory(prefix="plunge-page-") as scratch:
            done = subprocess.run(
                ["node", ROOT / "tests/tools/page/page.mjs", PAGE, WORK, shutil.which("chromium"), scratch, PROGRAM],
                cwd=ROOT, capture_output=True, text=True, check=False,
            )  # fmt: skip
        print(done.stdout)
        self.assertEqual(0, done.returncode, done.stdout + done.stderr)


if __name__ == "__main__":
    build()
    unittest.main()
