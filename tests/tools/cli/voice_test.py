"""What the program says, wherever it says it: outputs that cannot be written, names that would work
on a terminal, help, widths, and pictures.

Needs PLUNGE_PROGRAM, the built program. The commands are the examples of the help itself, so that
every verb is among them."""

import fcntl
import json
import os
import pathlib
import pty
import re
import shlex
import shutil
import struct
import subprocess
import tempfile
import termios
import unittest
import xml.etree.ElementTree

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
DROP = "scenarios/scenes/drop-to-flat.toml"
# Bytes of a text that work on a terminal: all controls but the end of a line, in one byte or two.
CONTROLS = re.compile(rb"[\x00-\x09\x0b-\x1f\x7f]|\xc2[\x80-\x9f]")


def run(arguments, folder, program=PROGRAM, columns=None, **more):
    environment = {**os.environ, "LC_ALL": "C.UTF-8", **more.pop("env", {})}
    environment.pop("COLUMNS", None)
    if columns:
        environment["COLUMNS"] = str(columns)
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **more}
    return subprocess.run(
        [program, *arguments], cwd=folder, env=environment, timeout=300, check=False, **streams
    )


def help_of(verb, columns=None):
    return run([*verb.split(), "--help"], ROOT, columns=columns).stdout.decode()


def verbs_in(text):
    return re.findall(r"^  (\w+)", text.split("\nVerbs:\n")[1].split("\n\n")[0], re.M)


def all_verbs():
    verbs = []
    for verb in verbs_in(help_of("")):
        verbs.append(verb)
        if "\nVerbs:\n" in help_of(verb):
            verbs += [f"{verb} {inner}" for inner in verbs_in(help_of(verb))]
    return verbs


def examples_of(verb):
    """Commands of a verb's help, each as the words behind the program."""
    lines = help_of(verb).split("\nExamples:\n")[1].splitlines()
    return [line.strip() for line in lines if line.startswith("  plunge ")]


VERBS = all_verbs()


class Scratch(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-voice-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        (self.folder / "scenarios").symlink_to(ROOT / "scenarios")

    def plunge(self, *arguments, expect=0, **more):
        done = run(arguments, self.folder, **more)
        self.assertEqual(expect, done.returncode, (arguments, done.stderr))
        return done


def shell(command, folder, tail="", stdout=subprocess.PIPE):
    """Runs an example as a shell does, with redirections behind it."""
    command = re.sub(r"^plunge", shlex.quote(PROGRAM), command)
    return subprocess.run(
        ["bash", "-c", command + tail], cwd=folder, timeout=300, stdout=stdout,
        stderr=subprocess.PIPE, check=False, env={**os.environ, "LC_ALL": "C.UTF-8"},
    )  # fmt: skip


def pipe_without_reader():
    """The end of a pipe whose reader has gone."""
    reader, writer = os.pipe()
    os.close(reader)
    return writer


class Outputs(unittest.TestCase):
    """Every example, with outputs that cannot be written."""

    @classmethod
    def setUpClass(cls):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-voice-")
        cls.addClassCleanup(scratch.cleanup)
        cls.folder = pathlib.Path(scratch.name)
        (cls.folder / "scenarios").symlink_to(ROOT / "scenarios")
        every = [example for verb in VERBS for example in examples_of(verb)]
        # The page is built apart from the program (target page); where it is not, there is none to write.
        if not (pathlib.Path(os.environ["PLUNGE_PROGRAM"]).resolve().parent / "page/page.html").is_file():
            every = [example for example in every if not example.startswith("plunge page")]
        # A search takes seconds, and minutes under sanitizers: it is run once, and into a full disk.
        cls.searches = [example for example in every if example.startswith("plunge suggest")]
        if "PLUNGE_BRIEFS" in os.environ:
            cls.searches = []
        cls.examples = [example for example in every if not example.startswith("plunge suggest")]
        cls.done = {example: shell(example, cls.folder) for example in cls.examples + cls.searches}

    def test_every_example_of_the_help_works(self):
        for verb in VERBS:
            self.assertGreaterEqual(len(examples_of(verb)), 2, verb)
        for example, done in self.done.items():
            self.assertEqual(0, done.returncode, (example, done.stderr))
            self.assertNotEqual(b"", done.stdout, example)

    def each(self, tail, says, stdout=subprocess.PIPE, examples=None):
        """Every example again, which must fail with exit code 1 and say so."""
        for example in examples or self.examples:
            done = shell(example, self.folder, tail, stdout)
            self.assertEqual(1, done.returncode, (example, tail, done.stderr))
            self.assertIn(says, done.stderr, (example, tail))
            for name in re.findall(r"-o (\S+\.h5)", example):
                if example.startswith("plunge ride"):
                    self.assertIn(f"; {name} is written".encode(), done.stderr, (example, tail))
                    self.assertEqual(0, run(["compare", name], self.folder).returncode, example)

    def test_a_closed_standard_output_is_told(self):
        self.each(" >&-", b"cannot write to the standard output: Bad file descriptor")

    def test_a_full_standard_output_is_told(self):
        self.each(" >/dev/full", b"cannot write to the standard output: No space left on device",
                  examples=self.examples + self.searches)  # fmt: skip

    def test_a_reader_that_goes_is_told(self):
        writer = pipe_without_reader()
        self.addCleanup(os.close, writer)
        self.each("", b"cannot write to the standard output: Broken pipe", writer)

    def test_a_standard_error_that_is_closed_or_full_loses_no_result(self):
        for tail in (" 2>&-", " 2>/dev/full"):
            for example in self.examples:
                said = self.done[example]
                done = shell(example, self.folder, tail)
                # What could not be told: notes.
                self.assertEqual(1 if said.stderr else 0, done.returncode, (example, tail))
                self.assertEqual(b"", done.stderr)
                # Those say how long they took, a log grows, and a page may be built meanwhile.
                if not re.search(r"sweep|plans/|plunge log|plunge page", example):
                    self.assertEqual(said.stdout, done.stdout, (example, tail))
                quiet = shell(example + " -q", self.folder, tail)
                self.assertEqual(0, quiet.returncode, (example, tail))

    def test_nothing_that_is_opened_lands_on_a_closed_descriptor(self):
        for example in self.examples:
            done = shell(example, self.folder, " <&- >&- 2>&-")
            self.assertEqual(1, done.returncode, example)
        for name in ("spacers.h5", "soft.h5"):
            self.assertEqual(0, run(["compare", name], self.folder).returncode)
        self.assertEqual(0, run(["sweep", "report", "drop.h5"], self.folder).returncode)
        for name, magic in (("soft.png", b"\x89PNG\r\n"), ("curve.pdf", b"%PDF-")):
            self.assertEqual(magic, (self.folder / name).read_bytes()[: len(magic)])

    def test_quiet_says_nothing_but_results(self):
        for example in self.examples:
            done = shell(example + " --quiet", self.folder)
            self.assertEqual((0, b""), (done.returncode, done.stderr), example)
            self.assertNotEqual(b"", done.stdout, example)
        self.assertIn(b"plunge: none.toml: does not exist",
                      run(["ride", "none.toml", "-q"], self.folder).stderr)  # fmt: skip


NAMES = [
    b"it's", b'say "it"', b"a\nb", b"a\x1b[2Jb", b"caf\xe9", b"\xc2\x9b1m", b"two words", b"$HOME",
    b"`touch x`", b"back\\slash", b"'Ello trail", b"\'\'\'", b"end'", b'"begin', b"end\\", b"\\060",
    b"a\x7fb", bytes(range(1, 32)), "".join(map(chr, range(0x80, 0xA0))).encode(), b"#@x$y{",
    b"\xff\xfe\xed\xa0\x80", b"\xef\xbf\xbe\xef\xbf\xbf", b"100 %d %", b"<&>", b"_^",
    b"\xe2\x80\xaeabc", b"R\xc3\xb6hre", b"{x}^2_@a", b"%s%n",
]  # fmt: skip


class Names(Scratch):
    """Names that a shell, a terminal, JSON or a picture may take for something else."""

    def clean(self, done, expect=0):
        self.assertEqual(expect, done.returncode, done.stderr)
        for text in (done.stdout, done.stderr):
            self.assertNotRegex(text, CONTROLS)
            self.assertNotIn(b"\xe2\x80\xae", text)
            text.decode("utf-8")
        return done

    def test_names_of_files_are_shown_in_every_verb_and_make_valid_json(self):
        shutil.copytree(ROOT / "scenarios", self.folder / "own")
        for name in NAMES:
            path = os.fsencode(self.folder)
            scene = b"own/scenes/" + name + b".toml"
            plan = b"own/plans/" + name.replace(b"\n", b"") + b".toml"
            shutil.copy(ROOT / DROP, os.path.join(path, scene))
            with open(os.path.join(path, plan), "w", encoding="utf-8") as file:
                file.write('type = "plan"\nformat = [1, 0]\nname = "p"\n'
                           'scenes = ["../scenes/drop-to-flat.toml"]\n'
                           '[[axis]]\nname = "fork.spacers"\nvalues = "0..1"\n')  # fmt: skip
            picture = name + b".svg"
            h5 = name + b".h5"
            merged = b"m" + name + b".h5"
            for verb in (
                [b"ride", scene, b"-o", h5, b"--plot", picture],
                [b"curve", scene, b"--plot", picture],
                [b"compare", h5, h5, b"--plot", picture],
                [b"modes", scene],
                [b"check", scene, plan],
                [b"sweep", plan, b"-o", b"d" + name],
                [b"sweep", b"status", b"d" + name],
                [b"sweep", b"merge", b"d" + name, b"-o", merged],
                [b"sweep", b"report", merged],
                [b"sweep", b"gather", b"g" + name, b"d" + name],
            ):
                self.clean(run(verb, self.folder))
                json.loads(self.clean(run([*verb, b"--json"], self.folder)).stdout)
            json.loads(self.clean(run([b"table", merged, b"--json"], self.folder)).stdout)
            xml.etree.ElementTree.parse(os.path.join(path, picture))
            self.clean(run([b"ride", b"no" + name], self.folder), 2)
            self.clean(run([b"compare", scene], self.folder), 2)
            self.clean(run([name], self.folder), 2)
            self.clean(run([b"ride", scene, b"--" + name], self.folder), 2)
            self.clean(run([b"ride", scene, b"--set", name + b"=1"], self.folder), 2)
            self.clean(run([b"help", name], self.folder), 2)
        self.assertFalse((self.folder / "x").exists())

    def test_names_inside_files_are_shown_in_every_verb_and_every_picture(self):
        shutil.copytree(ROOT / "scenarios", self.folder / "own")
        scene = self.folder / "own" / "scenes" / "drop-to-flat.toml"
        fork = self.folder / "own" / "forks" / "teasel-150.toml"
        rider = self.folder / "own" / "riders" / "hazel.toml"
        plan = self.folder / "own" / "plans" / "named.toml"
        whole = {path: path.read_text(encoding="utf-8") for path in (scene, fork, rider)}
        for name in NAMES:
            try:
                written = json.dumps(name.decode("utf-8"))  # TOML has the same escapes
            except UnicodeDecodeError:
                continue  # no text that a file may hold
            written = written.replace("\x7f", "\\u007f")
            written = re.sub(r"\\u....", lambda code: "\\u" + code.group()[2:].upper(), written)
            for path, text in whole.items():
                path.write_text(re.sub(r'(?m)^name = .*', lambda _: f"name = {written}", text),
                                encoding="utf-8")  # fmt: skip
            plan.write_text(
                f'type = "plan"\nformat = [1, 0]\nname = {written}\n'
                'scenes = ["../scenes/drop-to-flat.toml"]\n'
                '[[axis]]\nname = "fork.spacers"\nvalues = "0..1"\n', encoding="utf-8",
            )  # fmt: skip
            for verb in (
                ["ride", scene, "-o", "a.h5"], ["curve", scene], ["modes", scene],
                ["compare", "a.h5", "a.h5"], ["sweep", plan, "-o", "d"],
                ["sweep", "merge", "d", "-o", "d.h5"], ["sweep", "report", "d.h5"],
            ):  # fmt: skip
                self.clean(run(verb, self.folder))
                json.loads(self.clean(run([*verb, "--json"], self.folder)).stdout)
            table = self.clean(run(["table", "a.h5", "--json"], self.folder)).stdout
            self.assertEqual(name.decode("utf-8"), json.loads(table)["table"]["title"])
            self.clean(run(["ride", scene, "--plot", "a.svg"], self.folder))
            shown = [text.text for text in xml.etree.ElementTree.parse(self.folder / "a.svg").iter()
                     if text.text]  # fmt: skip
            if name.isascii() and not CONTROLS.search(name.replace(b"\n", b"\t")):
                self.assertIn(name.decode(), shown)
            self.assertFalse([text for text in shown if CONTROLS.search(text.replace("\t", " ").encode())])
            shutil.rmtree(self.folder / "d")
        self.assertFalse((self.folder / "x").exists())
        for suffix, magic in ((".png", b"\x89PNG\r\n"), (".pdf", b"%PDF-")):
            self.clean(run(["ride", scene, "--plot", "a" + suffix], self.folder))
            self.assertEqual(magic, (self.folder / ("a" + suffix)).read_bytes()[: len(magic)])

    def test_nothing_but_the_voice_moves_the_cursor(self):
        for path in sorted((ROOT / "tools").rglob("*.[ch]pp")):
            text = path.read_text(encoding="utf-8")
            if path.name not in ("voice.cpp",):
                self.assertNotRegex(text, r"\\x1b|\\033|\\r(?!\\n)", path)
            if path.parent.name == "cli" and path.name != "json_number.cpp":
                self.assertNotRegex(text, r"\.dump\(|\bstd::c(out|err)\b", path)


class Help(Scratch):
    def test_help_and_the_flag_say_the_same_with_the_whole_verb(self):
        self.assertIn("sweep merge", VERBS)
        for verb in VERBS:
            page = help_of(verb)
            self.assertEqual(page, self.plunge("help", *verb.split()).stdout.decode())
            self.assertEqual(f"plunge {verb}", page.split(":")[0])
            self.assertRegex(page, rf"\nusage: plunge {verb}[ \n]")
        self.assertEqual(help_of(""), self.plunge("help").stdout.decode())
        self.assertEqual(self.plunge("-V").stdout, self.plunge("--version").stdout)

    def test_the_usage_names_what_is_needed(self):
        self.assertIn("usage: plunge ride SCENE [OPTION ...]\n", help_of("ride"))
        self.assertIn("usage: plunge sweep PLAN -o DIR [OPTION ...]\n", help_of("sweep"))
        self.assertIn("usage: plunge sweep merge DIR -o FILE [OPTION ...]\n", help_of("sweep merge"))
        self.assertIn("usage: plunge VERB [OPTION ...]\n", help_of(""))

    def test_no_line_of_help_is_wider_than_the_terminal(self):
        for verb in ("", *VERBS):
            for columns in (40, 80, 200):
                text = help_of(verb, columns)
                # An example stays in one piece, to be taken as it is.
                lines = [line for line in text.splitlines()
                         if not line.startswith("  plunge ") and len(line.split()) > 1]  # fmt: skip
                self.assertLessEqual(max(map(len, lines)), columns, (verb, columns))
                words = re.sub(r"\s+", " ", text)
                self.assertEqual(re.sub(r"\s+", " ", help_of(verb)), words, (verb, columns))

    def test_cautions_stand_on_the_main_page_and_in_the_readme(self):
        page = re.sub(r"\s+", " ", help_of(""))
        readme = re.sub(r"\s+", " ", (ROOT / "README.md").read_text(encoding="utf-8")).lower()
        for caution in ("let all air out before you open", "pressure or spacer limit",
                        "qualified mechanic when in doubt", "no safety certificate"):  # fmt: skip
            self.assertIn(caution, page.lower())
            self.assertIn(caution, readme)

    def test_a_wrong_command_line_is_told_in_words_of_our_own(self):
        for words, says in (
            ("", "a verb is needed: ride, "),
            ("rdie x", 'there is no verb "rdie"; did you mean "ride"?; try: plunge help'),
            ("sweep mrege x -o y", 'there is no verb "sweep mrege"; did you mean "sweep merge"?'),
            ("help sweep mrege", 'there is no verb "sweep mrege"; did you mean "sweep merge"?'),
            ("ride", "ride needs SCENE: plunge ride SCENE [OPTION ...]; try: plunge help ride"),
            ("sweep p", "sweep needs -o DIR: plunge sweep PLAN -o DIR"),
            ("sweep merge", "sweep merge needs DIR and -o FILE: "),
            ("ride a b", '"b" is one too many: plunge ride SCENE'),
            ("ride a --polt x", 'ride has no option "--polt"; did you mean "--plot"?'),
            ("ride a --polt=x", 'ride has no option "--polt"; did you mean "--plot"?'),
            ("ride a --spacers 0..4", 'no option "--spacers"; it belongs to "plunge curve"'),
            ("modes a --vary x", 'modes has no option "--vary"; it belongs to "plunge ride"'),
            ("--json ride a", "--json belongs behind the verb: plunge ride --json"),
            ("ride a --hold", "--hold needs a value: --hold WHAT"),
            ("ride a --hold sag=1% --hold sag=2%", "--hold is given 2 times: give it once"),
            ("ride a -o x -oy", "--output is given 2 times: give it once"),
            ("ride a --json=0", "--json takes no value"),
            ("sweep p -o d --threads two", "--threads = two: is no whole number"),
        ):
            done = self.plunge(*words.split(), expect=2)
            self.assertIn("plunge: " + says if not says.startswith("no") else says,
                          done.stderr.decode(), words)  # fmt: skip
            self.assertEqual(1, done.stderr.count(b"\n"), words)
            self.assertEqual(b"", done.stdout)

    def test_an_empty_name_is_no_default(self):
        for words, name in (
            (["ride", ""], "SCENE"),
            (["ride", DROP, "-o", ""], "--output"),
            (["curve", DROP, "--plot", ""], "--plot"),
            (["compare", "a.h5", ""], "FILE..."),
            (["sweep", "", "-o", "d"], "PLAN"),
            (["sweep", "status", ""], "DIR"),
            (["sweep", "gather", "d", ""], "FROM..."),
        ):
            done = self.plunge(*words, expect=2)
            self.assertEqual(f'plunge: {name} = "": is no name of a file\n', done.stderr.decode())

    def test_an_empty_value_is_no_default(self):
        tried = 0
        for verb in VERBS:
            for option, kind in re.findall(r"^  (?:-\w, )?(--[a-z-]+) ([A-Z]\S*)", help_of(verb), re.M):
                if kind in ("FILE", "DIR"):
                    continue
                done = self.plunge(*verb.split(), option, "", expect=2)
                self.assertIn(f"plunge: {option} is empty: give it as {option} {kind}",
                              done.stderr.decode(), (verb, option))  # fmt: skip
                done = self.plunge(*verb.split(), option + "=", expect=2)
                self.assertIn(f"plunge: {option} needs a value", done.stderr.decode())
                tried += 1
        self.assertGreater(tried, 20)


def numbers_in(text):
    return sorted(re.findall(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?![\w.])", text))


class Widths(Scratch):
    def test_tables_break_into_blocks_that_hold_every_number(self):
        vary = ["ride", DROP, "--vary", "fork.spacers=0..4", "--hold", "sag=22%"]
        self.plunge(*vary, "-o", "a.h5")
        for command in (
            vary,
            ["curve", DROP, "--spacers", "0..4"],
            ["compare", "a.h5"],
            ["curve", DROP, "--damper"],
            ["modes", DROP],
            ["ride", DROP],
        ):
            wide = self.plunge(*command, columns=400).stdout.decode()
            for columns in (40, 44, 60, 80, 200):
                text = self.plunge(*command, columns=columns).stdout.decode()
                self.assertLessEqual(max(map(len, text.splitlines())), columns, (command, columns))
                # First cells come again in each block: "2 spacers".
                found, whole = numbers_in(text), numbers_in(wide)
                self.assertEqual(set(whole), set(found), (command, columns))
        narrow = self.plunge(*vary, columns=40).stdout.decode()
        self.assertGreater(narrow.count("\n2 spacers "), 1)

    def on_terminal(self, *arguments, columns):
        """What a terminal of a width shows of a command's standard output and standard error."""
        leader, follower = pty.openpty()
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        environment = {key: value for key, value in os.environ.items() if key != "COLUMNS"}
        process = subprocess.Popen([PROGRAM, *arguments], cwd=self.folder, stdout=follower,
                                   stderr=follower, env=environment)  # fmt: skip
        os.close(follower)
        shown = b""
        while True:
            try:
                part = os.read(leader, 65536)
            except OSError:
                break
            if not part:
                break
            shown += part
        os.close(leader)
        self.assertEqual(0, process.wait())
        return shown.decode().replace("\r\n", "\n")

    def test_a_terminal_is_asked_for_its_width(self):
        for columns in (50, 120):
            text = self.on_terminal("help", "ride", columns=columns)
            lines = [line for line in text.splitlines() if not line.startswith("  plunge ")]
            self.assertLessEqual(max(map(len, lines)), columns)
            self.assertGreater(max(map(len, lines)), columns // 2)

    def test_progress_is_for_terminals_and_never_in_quiet(self):
        many = ["ride", DROP, "--vary", "fork.spacers=0..4", "-o", "a.h5"]
        self.assertIn("of 5 rides", self.on_terminal(*many, columns=80))
        self.assertNotIn("of 5 rides", self.on_terminal(*many, "-q", columns=80))
        self.assertNotIn(b"of 5 rides", self.plunge(*many).stderr)
        # No colour, which NO_COLOR could turn off.
        self.assertNotIn("\x1b", self.on_terminal(*many, "-q", columns=80))
        self.assertNotIn("\x1b[3", self.on_terminal(*many, columns=80))


class Drawing(Scratch):
    def test_the_environment_changes_no_picture(self):
        self.plunge("curve", DROP, "--plot", "a.svg")
        plain = (self.folder / "a.svg").read_bytes()
        for name, value in (("LC_ALL", "de_DE.UTF-8"), ("COLUMNS", "40"), ("TERM", "dumb")):
            self.plunge("curve", DROP, "--plot", "a.svg", env={name: value})
            self.assertEqual(plain, (self.folder / "a.svg").read_bytes())

    def test_a_plot_that_fails_costs_no_result_and_no_summary(self):
        self.plunge("ride", DROP, "-o", "kept.h5")
        self.plunge("sweep", "scenarios/plans/drop.toml", "-o", "d", "--lanes", "portable")
        self.plunge("sweep", "merge", "d", "-o", "d.h5")
        (self.folder / "fonts.conf").write_text(
            '<?xml version="1.0"?>\n<fontconfig><cachedir>.</cachedir></fontconfig>\n')
        for command in (
            ["ride", DROP, "-o", "a.h5", "--plot", "a"],
            ["curve", DROP, "--plot", "a"],
            ["compare", "kept.h5", "--plot", "a"],
            ["sweep", "report", "d.h5", "--plot", "a"],
        ):
            for suffix in (".png", ".pdf"):
                for more in ([], ["--json"]):
                    good = self.plunge(*command[: command.index("--plot")], *more)
                    done = self.plunge(*command[:-1], "a" + suffix, *more, expect=1,
                                       env={"FONTCONFIG_FILE": str(self.folder / "fonts.conf")})  # fmt: skip
                    self.assertIn(b"the font DejaVu Serif Condensed is not installed (on Debian: "
                                  b"apt-get install fonts-dejavu-extra)", done.stderr)  # fmt: skip
                    self.assertEqual(good.stdout, done.stdout, command)
                    self.assertFalse((self.folder / ("a" + suffix)).exists())
        self.plunge("compare", "a.h5")


if __name__ == "__main__":
    unittest.main()
