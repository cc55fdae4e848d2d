"""The page of a sweep's report: what is printed stands in it, and it needs nothing else.

Needs PLUNGE_PROGRAM, the built program."""

import collections
import html.parser
import json
import os
import pathlib
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402

SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "scenarios"
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
VOID = {"meta", "link", "br"}
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"

GRID = sweep_plan.grid_plan("brake_dive_steady")
CHOSEN = 'role = "chosen"\n'
RIDERS = ", ".join(f'"{SCENARIOS}/riders/{name}.toml"' for name in ("wren", "hazel", "alder"))
CHOICES = GRID.replace("values =", CHOSEN + "values =").replace(
    "[keep]", f'[[axis]]\nname = "rider"\nrole = "varies"\nvalues = [{RIDERS}]\n[keep]'
)
SAMPLE = GRID.replace(
    "[keep]",
    '[[axis]]\nname = "rider.mass"\ndistribution = "uniform"\nlow = "60 kg"\nhigh = "90 kg"\n'
    '[sample]\nmethod = "pick_freeze"\npoints = 16\n[keep]',
)
SWEEPS = {"grid": GRID, "choices": CHOICES, "sample": SAMPLE}
LIMITS = ["--limit", "metal_contacts=0", "--limit", "travel_use<=70%"]
BEST = ["--best", "hand_force_max"]
FRONT = ["--front", "hand_force_max,travel_max:min"]
QUESTIONS = [
    [], LIMITS, [*LIMITS, *BEST], FRONT, [*LIMITS, *BEST, *FRONT, "--bar"],
    ["--limit", "travel_use<=1%", *BEST, *FRONT],
    ["--where", "fork.pressure=70psi..80psi", "--metrics", "travel_max", "--best", "travel_max:min"],
]  # fmt: skip


class Page(html.parser.HTMLParser):
    """Tables, paragraphs and headings of a page; every element must be closed in its place."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.loads, self.handlers = [], collections.Counter(), [], []
        self.tables, self.policy, self.answer = [], None, ""
        self.words, self.heads, self.everything = [], set(), []
        self.feed(text)
        self.close()
        assert self.open == [], self.open

    def handle_starttag(self, tag, attributes):
        self.tags[tag] += 1
        for name, value in attributes:
            if name in ("src", "href", "xlink:href", "srcset", "data", "action"):
                self.loads.append((tag, value))
            if name.startswith("on"):
                self.handlers.append((tag, name))
        attributes = dict(attributes)
        if attributes.get("http-equiv") == "Content-Security-Policy":
            self.policy = attributes["content"]
        if tag in VOID:
            return
        self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")
        elif tag in ("p", "h1", "h2", "summary", "small", "dt", "dd", "pre"):
            self.words.append("")

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, (tag, self.open)
        self.open.pop()

    def handle_data(self, data):
        self.everything.append(data)
        if "table" in self.open:
            if self.open[-1] in ("td", "th", "small"):
                self.tables[-1][-1][-1] += data
            if "thead" in self.open:
                self.heads.update(data.split())
        elif set(self.open) & {"p", "h1", "h2", "summary", "dt", "dd", "pre"}:
            self.words[-1] += data
        if self.tags["details"] == 0 and "p" in self.open:
            self.answer += data.replace("\xa0", " ")

    def rows(self):
        """The cells with something in them, of every row but the heads."""
        return collections.Counter(
            tuple(cell for cell in row if cell) for table in self.tables for row in table[1:]
        )

    def tables_named(self, head):
        """The rows of the tables with such a column."""
        return [
            row for table in self.tables if any(cell.startswith(head) for cell in table[0]) for row in table[1:]
        ]  # fmt: skip


def cells(line):
    return tuple(re.split(r" {2,}", line.strip()))


class ReportPage(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-report-page-")
        cls.addClassCleanup(scratch.cleanup)
        cls.good = pathlib.Path(scratch.name) / "good"
        cls.good.mkdir()
        for name, plan in SWEEPS.items():
            (cls.good / f"{name}.toml").write_text(plan, encoding="utf-8")
            for words in (f"sweep {name}.toml -o {name}", f"sweep merge {name} -o {name}.h5"):
                subprocess.run([PROGRAM, *words.split()], cwd=cls.good, check=True, capture_output=True)

    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-report-page-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name) / "f"
        shutil.copytree(self.good, self.folder)

    def plunge(self, *words, expect=0, columns="10000", **more):
        done = subprocess.run(
            [PROGRAM, *map(str, words)], cwd=self.folder, capture_output=True, check=False,
            env={**os.environ, "COLUMNS": columns}, **more,
        )  # fmt: skip
        self.assertEqual(expect, done.returncode, done.stderr)
        return done

    def report(self, sweep, *asked, **more):
        return self.plunge("sweep", "report", f"{sweep}.h5", *asked, **more)

    def page(self, sweep, *asked):
        """The page, and what is printed beside it."""
        done = self.report(sweep, *asked, "-o", "a.html")
        self.assertIn(b"page: a.html", done.stderr)
        return Page((self.folder / "a.html").read_text(encoding="utf-8")), done.stdout.decode()

    def test_all_that_is_printed_stands_in_the_page(self):
        for sweep in SWEEPS:
            for asked in QUESTIONS:
                if sweep == "sample" and "--where" in asked:
                    continue  # part of a pick-freeze design
                with self.subTest(sweep=sweep, asked=asked):
                    page, printed = self.page(sweep, *asked)
                    self.assertEqual(self.report(sweep, *asked).stdout.decode(), printed)
                    rows, words = page.rows(), {" ".join(text.split()) for text in page.words}
                    found = collections.Counter()
                    for line in filter(None, printed.splitlines()):
                        if " ".join(line.split()) in words:
                            continue
                        if cells(line) in rows:
                            found[cells(line)] += 1
                            continue
                        self.assertLessEqual(set(line.split()), page.heads, line)
                    self.assertGreater(len(found), 5)
                    self.assertLessEqual(found, rows)
                    if sweep != "choices":  # of which the page lists all
                        self.assertEqual(found, rows)

    def test_numbers_are_those_of_the_json_in_workshop_units(self):
        asked = [*LIMITS, *BEST, *FRONT]
        page, _ = self.page("choices", *asked)
        told = json.loads(self.report("choices", "--json", *asked).stdout)["report"]
        said = {"travel_max": (1e3, 1), "travel_use": (1e2, 1), "hand_force_max": (1.0, 0)}
        labels = {"travel_max": "travel used", "travel_use": "share of travel",
                  "hand_force_max": "hand force peak"}  # fmt: skip
        extremes = {row[0]: row for row in page.tables_named("least")}
        for name, (factor, decimals) in said.items():
            spread = told["metrics"][name]
            row = extremes[labels[name]]
            self.assertEqual(
                [f"{spread[key] * factor:.{decimals}f}" for key in ("least", "median", "most")],
                [row[2], row[4], row[5]],
            )
            self.assertEqual([str(spread["least_in"]), str(spread["most_in"])], [row[3], row[6]])
        choices = page.tables_named("within limits")
        self.assertEqual(len(told["best"]) + len(told["front"]) + len(told["choices"]), len(choices))
        for row, choice in zip(choices, told["best"] + told["front"] + told["choices"]):
            force = choice["metrics"]["hand_force_max"]
            self.assertEqual(f"{choice['set']['fork.spacers']:.0f}", row[0])
            self.assertEqual(f"{100 * choice['within_share']:.1f}", row[2])
            self.assertIn(f"{force['median']:.0f} / {force['nine_in_ten']:.0f}", row)

    def test_the_answer_comes_first(self):
        asked = [*LIMITS, *BEST, *FRONT]
        page, _ = self.page("choices", *asked)
        told = json.loads(self.report("choices", "--json", *asked).stdout)["report"]
        best = told["best"][0]
        for words in (
            "12 choices of fork.spacers (3), fork.pressure (4); each in 3 rides: scene (1), rider (3).",
            f"{told['within_limits']} of 12 choices within the limits",
            f"Best by least hand force peak: fork.spacers {best['set']['fork.spacers']:.0f}, fork.pressure ",
            f"no worse than {best['metrics']['hand_force_max']['nine_in_ten']:.0f} N",
            f"The limits hold in {100 * best['within_share']:.1f} % of its rides.",
            f"{len(told['front'])} choices that no other one beats in both, from ",
            " does most to hand force peak (",
        ):
            self.assertIn(words, page.answer)
        self.assertGreaterEqual(page.tags["details"], 6)
        self.assertGreaterEqual(page.tags["svg"], 4)
        page, _ = self.page("choices", "--limit", "travel_use<=1%", *BEST)
        self.assertIn("no choice is within the limits", page.answer)
        page, _ = self.page("grid", *BEST)
        self.assertRegex(page.answer, r"Best by least hand force peak: ride \d+, fork.spacers \d, "
                                      r"fork.pressure \d+ psi\. It has \d+ N of hand force peak\.")  # fmt: skip
        text = "".join(self.page("grid")[0].everything)
        self.assertIn("share of the variance [%]", text)

    def test_a_page_asks_for_nothing_and_runs_nothing(self):
        page, _ = self.page("choices", *LIMITS, *BEST, *FRONT, "--map",
                            "travel_use:fork.pressure,fork.spacers")  # fmt: skip
        text = (self.folder / "a.html").read_text(encoding="utf-8")
        self.assertEqual([("link", "data:,")], page.loads)
        self.assertEqual((POLICY, 0, []), (page.policy, page.tags["script"], page.handlers))
        self.assertEqual({"http://www.w3.org/2000/svg"}, set(re.findall(r"\w+://[^\s\"'<]*", text)))
        for word in ("url(", "@import"):
            self.assertNotIn(word, text)
        self.assertIn("mean over", "".join(page.everything))  # the map

    def test_names_are_text_whatever_is_in_them(self):
        name = "</title><script>alert(1)</script>&amp;\"' \u202egnp" + "very " * 3 + "long" * 900
        scene = '<img src=x onerror="alert(2)">'
        shutil.copy(SCENARIOS / "scenes" / "drop-to-flat.toml", self.folder / f"{scene}.toml")
        for part in ("forks", "riders", "bikes", "terrain"):
            (self.folder.parent / part).symlink_to(SCENARIOS / part)
        plan = GRID.replace("spacers and pressure", name.replace('"', '\\"')).replace(
            f'"{SCENARIOS}/scenes/drop-to-flat.toml"',
            f"'{scene}.toml', \"{SCENARIOS}/scenes/drop-to-flat.toml\"",
        )
        (self.folder / "hostile.toml").write_text(plan, encoding="utf-8")
        self.plunge("sweep", "hostile.toml", "-o", "hostile")
        merged = "<b onclick=alert(3)>\u2067.h5"
        self.plunge("sweep", "merge", "hostile", "-o", merged)
        for asked in ([], [*BEST, *FRONT]):
            self.plunge("sweep", "report", merged, *asked, "-o", "a.html", "--replace")
            text = (self.folder / "a.html").read_text(encoding="utf-8")
            page = Page(text)
            everything = "".join(page.everything)
            for tag in ("script", "img", "b"):
                self.assertEqual(0, page.tags[tag])
            self.assertEqual([], page.handlers)
            self.assertEqual([("link", "data:,")], page.loads)
            for hidden in "\u202e\u2067":
                self.assertNotIn(hidden, text)
            for shown in (name.replace("\u202e", "\\u202e"), scene, "<b onclick=alert(3)>\\u2067.h5"):
                self.assertIn(shown, everything)

    def test_the_same_report_is_the_same_bytes(self):
        asked = [*LIMITS, *BEST, *FRONT]
        for sweep in SWEEPS:
            self.report(sweep, *asked, "-o", "a.html")
            self.report(sweep, *asked, "-o", "deep/b.html", "--json", columns="40")
            first = (self.folder / "a.html").read_bytes()
            self.assertEqual(first, (self.folder / "deep" / "b.html").read_bytes())
            piped = self.report(sweep, *asked, "-o", "-")
            self.assertEqual(first, piped.stdout)
            self.assertEqual(self.report(sweep, *asked).stdout, piped.stderr.split(b"page: ")[0])
            self.assertIn(b"page: the standard output", piped.stderr)

    def test_a_plot_stands_beside_a_page(self):
        self.report("grid", *FRONT, "--plot", "alone.svg")
        self.report("grid", *FRONT, "--plot", "both.svg", "-o", "a.html")
        alone = (self.folder / "alone.svg").read_bytes()
        self.assertEqual(alone, (self.folder / "both.svg").read_bytes())
        # Both draw the same dots, though the title of the page's stands above it.
        dots = re.compile(rb'stroke="#[0-9a-f]+" stroke-width="[\d.]+" d="M[^"]*h0')
        page = (self.folder / "a.html").read_bytes()
        self.assertEqual(len(dots.findall(alone)), len(dots.findall(page)))
        self.assertGreater(len(dots.findall(alone)), 0)

    def test_what_is_not_ridden_is_said_at_the_top(self):
        (self.folder / "grid" / "shard-00000001.h5").unlink()
        self.plunge("sweep", "merge", "grid", "-o", "part.h5", "--partial")
        page, _ = self.page("part")
        self.assertIn("4 not ridden: their shards were missing", page.answer)

    def contents(self):
        return {path: path.read_bytes() for path in self.folder.rglob("*") if path.is_file()}

    def refused(self, *words, says, expect=2, **more):
        before = self.contents()
        with self.subTest(words=words):
            done = self.plunge("sweep", "report", *words, expect=expect, **more)
            self.assertIn(says, done.stderr.decode())
            self.assertEqual(before, self.contents())

    def test_refusals(self):
        (self.folder / "link.html").symlink_to("grid.h5")
        os.link(self.folder / "grid" / "shard-00000000.h5", self.folder / "hard.html")
        (self.folder / "mine.html").write_text("mine")
        for name, says in (
            ("a.htm", "must end in .html"), ("a.pdf", "must end in .html"),
            ("grid.h5", "must end in .html"), ("link.html", "that is read here"),
            ("mine.html", "--replace"), ("grid/a.html/b.html/", "must end in .html"),
        ):  # fmt: skip
            self.refused("grid.h5", "-o", name, says=says)
        self.refused("grid.h5", "-o", "link.html", "--replace", says="that is read here")
        self.refused("grid.h5", "-o", "-", "--json", says="is where --json goes")
        self.refused("grid.h5", "-o", "a.html", "--plot", "a.html", says=".png, .svg or .pdf")
        self.refused("grid.h5", "--map", "travel_use:fork.pressure,fork.spacers", says="-o FILE.html")
        self.refused("grid.h5", "-o", "a.html", "--best", "travel", says="did you mean")
        self.refused(
            "grid.h5", "-o", "a.html", says="cannot write", expect=1,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)),
        )  # fmt: skip
        self.report("grid", "-o", "mine.html", "--replace")
        (self.folder / "mine.html").chmod(0o604)
        self.report("grid", "-o", "mine.html")
        self.assertEqual(0o604, (self.folder / "mine.html").stat().st_mode & 0o777)
        with open(self.folder / "mine.html", "ab") as file:
            file.write(b" ")
        self.refused("grid.h5", "-o", "mine.html", says="--replace")


if __name__ == "__main__":
    unittest.main()
