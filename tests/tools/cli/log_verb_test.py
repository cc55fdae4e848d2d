"""plunge log as people and programs call it.

Needs PLUNGE_PROGRAM, the built program."""

import concurrent.futures
import csv
import hashlib
import io
import json
import os
import pathlib
import re
import shutil
import sqlite3
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[3]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
CONTROLS = re.compile(rb"[\x00-\x09\x0b-\x1f\x7f]|\xc2[\x80-\x9f]|\xe2\x80\xae")
PSI = 6894.757293168361  # [Pa]: lbf/in2, exact inch, pound and g

TEXTS = ["it's", 'say "it"', "a\nb", "a\x1b[2Jb", "two words", "$HOME", "`touch x`", "back\\slash",
         "'); DROP TABLE note; --", "\u202eabc", "Röhre", "日本", "%s%n {x}", "=1+1", "-1", "@x",
         "\x9b1m", "\x7f", "a,b", "x" * 9999]  # fmt: skip


class Log(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-log-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        (self.folder / "scenarios").symlink_to(ROOT / "scenarios")
        self.log = self.folder / "workshop.plunge-log"

    def plunge(self, *words, expect=0, env=None, **more):
        environment = {**os.environ, "LC_ALL": "C.UTF-8", "COLUMNS": "200", **(env or {})}
        if env is None:
            environment.pop("PLUNGE_LOG", None)
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **more}
        done = subprocess.run([PROGRAM, *map(str, words)], cwd=self.folder, env=environment,
                              check=False, **streams)  # fmt: skip
        self.assertEqual(expect, done.returncode, (words, done.stderr))
        return done

    def said(self, *words, **more):
        return self.plunge("log", *words, **more).stdout.decode()

    def json(self, *words, **more):
        return json.loads(self.said(*words, "--json", **more))["log"]

    def refused(self, *words, expect=2):
        """What is told; nothing is said and no byte in the folder changes."""
        before = self.contents()
        done = self.plunge("log", *words, expect=expect)
        self.assertEqual(b"", done.stdout)
        self.assertEqual(before, self.contents())
        return done.stderr.decode()

    def contents(self):
        return {path.name: hashlib.sha256(path.read_bytes()).hexdigest()
                for path in self.folder.iterdir() if path.is_file()}  # fmt: skip

    def fill(self):
        self.said("add", "fork", "teasel", "file=scenarios/forks/teasel-150.toml")
        self.said("add", "rider", "hazel", "mass=76kg", "front_share=40%")
        self.said("add", "setting", "fork=teasel", "rider=hazel", "fork.pressure=72psi",
                  "fork.spacers=1")  # fmt: skip
        self.said("add", "ride", "3", "ring=141mm", "bottom_outs=1", "remarks=harsh")


class Commands(Log):
    def test_the_log_stands_where_it_is_said_to(self):
        elsewhere = self.folder / "elsewhere"
        self.assertEqual("workshop.plunge-log is begun\nnote 1 is added: a\n", self.said("add", "note", "a"))
        self.assertEqual("note 2 is added: b\n", self.said("add", "note", "b"))
        self.said("add", "note", "c", env={"PLUNGE_LOG": "elsewhere"})
        self.assertTrue(elsewhere.exists())
        self.said("add", "note", "d", env={"PLUNGE_LOG": ""})
        self.assertEqual(1, self.json("list", env={"PLUNGE_LOG": "elsewhere"})["entries"][0]["number"])
        self.assertEqual(3, len(self.json("list", "--log", "workshop.plunge-log",
                                          env={"PLUNGE_LOG": "elsewhere"})["entries"]))  # fmt: skip
        # What reads begins none.
        self.assertEqual("none: no log yet; plunge log add begins it\n", self.said("--log", "none"))
        self.assertEqual(0, self.json("--log", "none")["entries"]["fork"])
        for words in (["list"], ["show", "1"], ["undo"], ["redo"], ["export"], ["backup", "-o", "b"]):
            self.assertIn("none: does not exist; plunge log add begins a log",
                          self.refused(*words, "--log", "none"))  # fmt: skip

    def test_numbers_go_in_with_units_and_come_out_in_si(self):
        self.fill()
        entries = self.json("list")["entries"]
        self.assertEqual(["fork", "rider", "setting", "ride"], [entry["kind"] for entry in entries])
        self.assertEqual({"rider.mass": 76.0, "rider.front_share": 0.4}, entries[1]["numbers"])
        self.assertAlmostEqual(72 * PSI, entries[2]["numbers"]["fork.pressure"], 6)
        self.assertEqual(entries[0]["key"], entries[2]["fork"])
        self.assertEqual(0.141, entries[3]["ring"])
        self.assertIn("fork.pressure  72 psi", self.said("show", "3"))
        self.assertIn("fork.pressure  4.964 bar", self.said("show", "3", "--bar"))
        self.assertRegex(self.said("list", "rides"), r"ring +bottom_outs +remarks\n +mm\n4 .* 141 +1 +harsh")

    def test_what_is_wrong_is_told_with_name_value_and_rule(self):
        self.fill()
        for words, says in (
            (["add", "ride", "3", "ring=141"], 'ring = "141": needs a length such as'),
            (["add", "ride", "3", "ring=3m"], "ring = 3000 mm: must be 0 mm to 2000 mm"),
            (["add", "ride", "9"], 'setting = "9": is no name and no number of a setting in the log'),
            (["add", "setting", "parent=3", "fork.spacers=6"],
             "fork.spacers = 6: must be 0 to 5 (fork.spacer_limit)"),
            (["add", "setting", "parent=3", "fork.pressure=160psi"],
             "fork.pressure = 160 psi: must be at most 150 psi (fork.pressure_limit)"),
            (["add", "setting", "parent=3", "fork.presure=70psi"], 'did you mean "fork.pressure"?'),
            (["add", "fork", "teasel", "travel=150mm"], "is the name of another fork of the log, number 1"),
            (["add", "fork", "x", "file=scenarios/riders/hazel.toml"], 'type = rider: must be "fork"'),
            (["add", "rdie"], 'kind = rdie: is no kind of entry; did you mean "ride"?'),
            (["add", "undo", "entry=3"], "is not added: plunge log undo does it"),
            (["show", "teesel"], 'did you mean "teasel"?'),
            (["list", "riedrs"], "is no kind of entry"),
            (["lsit"], 'there is no verb "log lsit"; did you mean "log list"?'),
            (["redo"], "has no undo to take back"),
        ):  # fmt: skip
            self.assertIn(says, self.refused(*words), words)

    def test_a_prediction_is_held_against_the_ring(self):
        self.fill()
        self.plunge("ride", "scenarios/scenes/drop-to-flat.toml", "--set", "fork.pressure=72psi",
                    "--vary", "fork.spacers=0..2", "-o", "drop.h5")  # fmt: skip
        ride = json.loads(self.plunge("ride", "scenarios/scenes/drop-to-flat.toml", "--json", "--set",
                                      "fork.pressure=72psi", "--set", "fork.spacers=1", "-o", "b.h5",
                                      ).stdout)["rides"][0]["metrics"]  # fmt: skip
        kept = self.json("add", "prediction", "setting=3", "file=drop.h5")["entry"]["numbers"]
        self.assertAlmostEqual(ride["travel_max"], kept["travel_max"], 12)
        self.said("add", "ride", "3", "ring=105mm")
        self.said("add", "ride", "3", "ring=103mm")
        account = self.json()["account"]
        self.assertEqual([False, True, True], [row["foretold"] for row in account["rides"]])
        error = 0.104 - ride["travel_max"]
        self.assertAlmostEqual(error, account["foretold"]["mean_error"], 12)
        self.assertAlmostEqual(0.001 * 2**0.5, account["foretold"]["spread"], 12)
        self.assertIn(f"2 rides foretold: the ring read {1e3 * error:.1f} mm more on average, "
                      "spread 1.4 mm\n", self.said())  # fmt: skip
        self.assertIn("2 rides foretold", self.said("list", "predictions"))
        self.assertEqual(account, self.json("list", "predictions")["account"])
        # Not what was ridden with another pressure, and not a file that is damaged.
        self.said("add", "setting", "parent=3", "fork.pressure=60psi")
        self.assertIn("fork.pressure = 72 psi: of ride 1 must be 60 psi, as setting 8 says",
                      self.refused("add", "prediction", "setting=8", "file=drop.h5"))  # fmt: skip
        with open(self.folder / "drop.h5", "ab") as file:
            file.write(b"x")
        self.refused("add", "prediction", "setting=3", "file=drop.h5")
        self.said("add", "prediction", "setting=3", "file=drop.h5", "--unsealed")

    def test_undo_and_redo_mark_and_remove_nothing(self):
        self.fill()
        self.assertIn("ride 4 is undone: setting 3", self.said("undo"))
        self.assertEqual(3, len(self.json("list")["entries"]))
        self.assertIn("no ride in the log", self.said("list", "rides"))
        self.assertIn("undone", self.said("list", "rides", "--all"))
        self.assertIn(", undone\n", self.said("show", "4"))
        self.assertIn("ride 4 is back in the log", self.said("redo"))
        self.assertEqual(4, len(self.json("list")["entries"]))
        self.assertEqual(6, len(self.json("list", "--all")["entries"]))

    def test_what_is_exported_is_imported_the_same(self):
        self.fill()
        self.said("undo")
        text = self.said("export")
        self.assertEqual("a.json: 1 rider, 1 fork, 1 setting of workshop.plunge-log\n",
                         self.said("export", "-o", "a.json"))  # fmt: skip
        self.assertEqual(text, (self.folder / "a.json").read_text(encoding="utf-8"))
        self.assertIn("5 entries added", self.said("import", "a.json", "--log", "b.plunge-log"))
        self.assertEqual(text, self.said("export", "--log", "b.plunge-log"))
        self.assertEqual(0, self.json("import", "a.json")["added"])
        broken = text.replace('"ring": 0.141', '"ring": 141.0')
        self.assertNotEqual(text, broken)
        (self.folder / "c.json").write_text(broken, encoding="utf-8")
        self.assertIn("with other contents", self.refused("import", "c.json"))
        (self.folder / "c.json").write_text(text[:-5], encoding="utf-8")
        self.assertIn("c.json:", self.refused("import", "c.json", "--log", "none"))
        self.assertIn("does not exist", self.refused("import", "none.json"))

    def test_csv_is_for_spreadsheets(self):
        self.fill()
        rows = list(csv.DictReader(io.StringIO(self.said("export", "--csv", "rides"), newline=""),
                                   strict=True))  # fmt: skip
        self.assertEqual([("4", "141", "1", "harsh")],
                         [(row["number"], row["ring [mm]"], row["bottom_outs"], row["remarks"]) for row in rows])
        row = next(csv.DictReader(io.StringIO(self.said("export", "--csv", "settings", "--bar"))))
        self.assertEqual("teasel", row["fork"])
        self.assertAlmostEqual(72 * PSI / 1e5, float(row["fork.pressure [bar]"]), 6)

    def test_a_backup_is_a_log(self):
        self.fill()
        self.assertEqual("b: a copy of workshop.plunge-log\n", self.said("backup", "-o", "b"))
        self.assertEqual(self.said("export"), self.said("export", "--log", "b"))
        self.assertIn("is there already", self.refused("backup", "-o", "b"))
        self.said("add", "note", "later")
        self.said("backup", "-o", "b", "--replace")
        self.assertEqual(self.said("export"), self.said("export", "--log", "b"))

    def test_nothing_is_written_over_the_log(self):
        self.fill()
        os.link(self.log, self.folder / "hard")
        (self.folder / "soft").symlink_to(self.log.name)
        for name in ("workshop.plunge-log", "./workshop.plunge-log", "hard", "soft"):
            for words in (["backup"], ["export"], ["export", "--csv", "rides"]):
                self.assertIn("that is read here", self.refused(*words, "-o", name, "--replace"))
        # Nor is what is said.
        before = self.contents()
        for words in (["list"], ["show", "1"], ["add", "note", "a"], ["undo"], ["export"], []):
            with open(self.log, "ab") as file:
                self.assertIn(b"is read here", self.plunge("log", *words, expect=2, stdout=file).stderr)
        self.assertEqual(before, self.contents())
        (self.folder / "mine").write_bytes(b"mine")
        self.assertIn("--replace", self.refused("export", "-o", "mine"))
        self.assertIn("--replace", self.refused("backup", "-o", "mine"))

    def test_a_file_that_is_no_log_stays_as_it_is(self):
        database = sqlite3.connect(self.folder / "other")
        database.execute("CREATE TABLE entry (number)")
        database.commit()
        database.close()
        self.fill()
        whole = self.log.read_bytes()
        (self.folder / "damaged").write_bytes(whole[:8192] + b"\x5a" * 4096 + whole[12288:])
        (self.folder / "cut").write_bytes(whole[: len(whole) // 2])
        shutil.copy(self.log, self.folder / "newer")
        database = sqlite3.connect(self.folder / "newer")
        database.execute("PRAGMA user_version = 99")
        database.close()
        for name, says in (
            ("scenarios/forks/teasel-150.toml", "is no log of plunge, and no SQLite file"),
            ("other", "is a SQLite file of another program"),
            ("damaged", "is a damaged log"),
            ("cut", "is a damaged log"),
            ("newer", "is a log of format 99: a newer plunge wrote it"),
        ):
            for words in (["list"], ["add", "note", "a"], ["undo"], ["export"], ["backup", "-o", "x"], []):
                self.assertIn(says, self.refused(*words, "--log", name), (name, words))

    def test_two_writers_take_turns(self):
        self.said("add", "note", "first")
        with concurrent.futures.ThreadPoolExecutor(4) as pool:
            told = list(pool.map(lambda i: self.json("add", "note", f"n{i}")["entry"]["number"], range(40)))
        self.assertEqual(set(range(2, 42)), set(told))
        self.assertEqual(41, len(self.json("list", "notes")["entries"]))

    def test_texts_of_any_kind_are_kept_and_shown(self):
        for text in TEXTS:
            self.said("add", "note", f"text={text}")
        notes = self.json("list", "notes")["entries"]
        self.assertEqual(TEXTS, [note["text"] for note in notes])
        for words in (["list"], ["list", "notes"], ["show", "4"], ["export"], ["export", "--csv", "notes"],
                      ["undo"], ["redo"], []):  # fmt: skip
            told = self.plunge("log", *words)
            for stream in (told.stdout.replace(b"\r\n", b"\n"), told.stderr):
                self.assertNotRegex(stream, CONTROLS, words)
                stream.decode("utf-8")
        rows = list(csv.reader(io.StringIO(self.said("export", "--csv", "notes"), newline=""), strict=True))
        self.assertFalse([cell for row in rows for cell in row if cell[:1] in "=+@" and cell])
        self.assertFalse((self.folder / "x").exists())
        for name in (b"caf\xe9", b"\xff\xfe", b"a\x1b[2Jb", b"a\nb"):
            done = self.plunge("log", "add", "rider", b"name=".decode() + os.fsdecode(name), expect=2)
            self.assertNotRegex(done.stderr, CONTROLS)

    def test_names_of_logs_are_shown(self):
        for name in (b"it's", b"a\nb", b"a\x1b[2Jb", b"caf\xe9", b":memory:", b"file:x?mode=memory", b"-x y"):
            path = b"./" + name
            for words in (["add", "note", "a"], ["list"], ["export", "--csv", "notes"], ["undo"]):
                told = self.plunge("log", *words, "--log=" + os.fsdecode(path))
                self.assertNotRegex(told.stdout.replace(b"\r\n", b"\n") + told.stderr, CONTROLS)
                if words[0] != "export":
                    self.json(*words, "--log=" + os.fsdecode(path))
            self.assertTrue(os.path.exists(os.path.join(os.fsencode(self.folder), name)))

    def test_a_full_disk_is_told(self):
        self.fill()
        size = self.log.stat().st_size
        before = self.contents()
        done = subprocess.run(
            ["bash", "-c", f"ulimit -f {size // 1024 + 4}; exec {PROGRAM} log add note {'x' * 9000}"],
            cwd=self.folder, capture_output=True, check=False,
        )  # fmt: skip
        self.assertEqual(1, done.returncode)
        self.assertIn(b"workshop.plunge-log", done.stderr)
        self.assertEqual(b"", done.stdout)
        self.assertEqual(before, self.contents())
        self.said("add", "note", "room again")


if __name__ == "__main__":
    unittest.main()
