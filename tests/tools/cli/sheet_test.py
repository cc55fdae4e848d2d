"""plunge sheet as a workshop meets it: files, papers, words, refusals, the log.

Needs PLUNGE_PROGRAM, the built program, and pdfinfo and pdftotext (poppler-utils)."""

import html.parser
import json
import os
import pathlib
import re
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
FORK = "scenarios/forks/teasel-150.toml"
RIDER = "scenarios/riders/hazel.toml"
SHEET = [FORK, "--rider", RIDER, "--spacers", "3", "--sag", "22%"]
PSI = 6894.757293168361
# Sizes of paper in points of 1/72 inch: 210 by 297 mm (ISO 216), 8.5 by 11 inches.
PAPERS = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
CAUTIONS = [
    "Before a tool touches the cap", "Eye protection on", "Let all air out at the valve",
    "Press the valve core: no hiss", "Only then may a tool touch the cap", "Seal and threads",
    "Torque of the cap by the maker's manual", "Never more than 5 spacers",
    "Never more than 150 psi", "The maker's manual and local rules go before this sheet",
    "in doubt a qualified mechanic", "A prediction is no safety certificate",
]  # fmt: skip


def run(*arguments, expect=0, cwd=ROOT):
    environment = {**os.environ, "LC_ALL": "C.UTF-8"}
    environment.pop("COLUMNS", None)
    done = subprocess.run(
        [PROGRAM, *arguments], cwd=cwd, env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode != expect:
        raise AssertionError((arguments, done.returncode, done.stderr))
    return done


def words_of(pdf):
    """The text of a PDF with its blanks made one."""
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, check=True)
    return " ".join(text.stdout.decode().split())


class Page(html.parser.HTMLParser):
    """What a page shows, and what it would load from elsewhere."""

    def __init__(self, text):
        super().__init__()
        self.loads = []
        self.tags = set()
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        for name, value in attributes:
            if name in ("src", "href", "xlink:href") and not value.startswith("#"):
                self.loads.append((tag, value))


class Scratch(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-sheet-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)

    def sheet(self, name, *more, expect=0):
        done = run("sheet", *SHEET, "-o", str(self.folder / name), *more, expect=expect)
        return done


class Files(Scratch):
    def test_a_pdf_is_one_page_of_its_paper_with_its_cautions(self):
        for paper, size in PAPERS.items():
            path = self.folder / f"{paper}.pdf"
            self.sheet(path.name, "--paper", paper)
            info = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True)
            self.assertIn("Pages:           1\n", info.stdout)
            found = re.search(r"Page size: +([\d.]+) x ([\d.]+) pts", info.stdout)
            for side, points in zip(found.groups(), size):
                self.assertAlmostEqual(points, float(side), delta=0.01)
            # Columns stand side by side in the text, so that a caution is looked for by its words.
            words = words_of(path)
            for caution in CAUTIONS:
                for word in caution.split():
                    self.assertIn(word, words, caution)
            for part in ("teasel 150", "hazel, 76 kg", "22.0 % of 150 mm", "at most 5"):
                self.assertIn(part, words)

    def test_the_same_sheet_is_the_same_bytes(self):
        for name in ("a.pdf", "b.html"):
            self.sheet(name)
            first = (self.folder / name).read_bytes()
            self.sheet("again-" + name)
            self.assertEqual(first, (self.folder / ("again-" + name)).read_bytes(), name)

    def test_a_page_needs_nothing_else_and_has_its_words(self):
        self.sheet("a.html")
        text = (self.folder / "a.html").read_text(encoding="utf-8")
        page = Page(text)
        self.assertEqual([], page.loads)
        self.assertIn("svg", page.tags)
        self.assertNotIn("script", page.tags)
        for caution in CAUTIONS:
            self.assertIn(caution, text, caution)

    def test_own_files_are_replaced_and_others_are_not(self):
        for name in ("a.pdf", "a.html"):
            self.sheet(name)
            self.sheet(name)
            path = self.folder / name
            path.write_bytes(path.read_bytes() + b" ")
            before = path.read_bytes()
            self.assertIn("--replace", self.sheet(name, expect=2).stderr)
            self.assertEqual(before, path.read_bytes())
            self.sheet(name, "--replace")
            self.assertNotEqual(before, path.read_bytes())

    def test_an_input_is_never_written_over(self):
        fork = self.folder / "fork.pdf"
        fork.write_bytes((ROOT / FORK).read_bytes())
        done = run("sheet", str(fork), "--rider", RIDER, "-o", str(fork), "--replace", expect=2)
        self.assertIn("fork.pdf", done.stderr)
        self.assertEqual((ROOT / FORK).read_bytes(), fork.read_bytes())


class Contents(Scratch):
    def rows(self, *more):
        found = json.loads(run("sheet", *SHEET, "--json", *more).stdout)["sheet"]
        return {row["name"]: row for row in found["rows"]}

    def test_pressure_and_sag_are_those_of_curve(self):
        rows = self.rows()
        curves = json.loads(
            run("curve", FORK, "--rider", RIDER, "--spacers", "3", "--hold", "sag=22%", "--json").stdout
        )["curves"]
        metrics = curves[0]["metrics"]
        self.assertAlmostEqual(metrics["pressure"], rows["fork.pressure"]["after"], delta=1.0)
        self.assertAlmostEqual(metrics["sag"], rows["sag"]["after"], delta=1e-7)
        self.assertAlmostEqual(
            metrics["pressure_reattached"], rows["pressure_reattached"]["after"], delta=1.0
        )
        self.assertAlmostEqual(85 * PSI, rows["fork.pressure"]["before"], delta=1e-6)

    def test_psi_or_bar_stand_first(self):
        self.assertIn(" psi", self.rows()["fork.pressure"]["said"]["after"])
        self.assertIn(" bar", self.rows("--bar")["fork.pressure"]["said"]["after"])

    def test_the_log_goes_from_one_setting_to_another(self):
        log = str(self.folder / "a.plunge-log")
        for words in (
            ["fork", "teasel", f"file={FORK}"],
            ["rider", "hazel", f"file={RIDER}"],
            ["setting", "hard", "fork=teasel", "rider=hazel", "fork.pressure=80psi"],
            ["setting", "soft", "fork=teasel", "rider=hazel", "fork.pressure=70psi"],
        ):
            run("log", "add", *words, "--log", log)
        path = self.folder / "log.pdf"
        done = run("sheet", "--log", log, "--from", "hard", "--to", "soft", "-o", str(path))
        self.assertIn("let 10 psi out, to 70 psi", done.stdout)
        words = words_of(path)
        self.assertIn("80 psi", words)
        self.assertIn("27 mm socket", words)


class Refused(Scratch):
    def refused(self, *arguments):
        done = run("sheet", *arguments, expect=2)
        self.assertEqual("", done.stdout)
        self.assertTrue(done.stderr.startswith("plunge: "), done.stderr)
        return done.stderr

    def test_what_is_missing_or_too_much_is_named(self):
        out = str(self.folder / "a.pdf")
        for arguments, says in (
            ([FORK, "-o", out], "--rider"),
            (["-o", out], "FORK"),
            (SHEET, "--output"),
            ([*SHEET, "-o", str(self.folder / "a.png")], "must end in .pdf or .html"),
            ([*SHEET, "-o", out, "--paper", "a5"], '--paper = a5'),
            ([*SHEET, "-o", out, "--brief", "b.toml"], "FORK"),
            (["--brief", "b.toml", "-o", out, "--from", "a"], "--from"),
            (["--from", "a", "--to", "b", "-o", out], "--log"),
            (["--log", "l", "--to", "b", "-o", out], "--from"),
            (["--log", "l", "--from", "a", "--to", "b", "--spacers", "2", "-o", out], "--spacers"),
            ([FORK, "--rider", RIDER, "--spacers", "7", "-o", out], "--spacers = 7"),
        ):
            self.assertIn(says, self.refused(*arguments), arguments)
        self.assertEqual([], list(self.folder.iterdir()))


if __name__ == "__main__":
    unittest.main()
