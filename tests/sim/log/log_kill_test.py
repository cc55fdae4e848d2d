"""Two programs write into one log and are killed at any moment: what they said they had added is
there, what they had not said is there whole or not at all, and the file is sound.

Needs PLUNGE_PROGRAM, the built program. PLUNGE_KILLS is how often one of them is killed (25)."""

import json
import os
import pathlib
import random
import signal
import sqlite3
import subprocess
import tempfile
import time
import unittest

PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "scenarios"
KILLS = int(os.environ.get("PLUNGE_KILLS", "25"))
LONG = "x" * 9000  # so that an entry takes several pages


class Kills(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-log-kills-")
        self.addCleanup(scratch.cleanup)
        self.log = pathlib.Path(scratch.name) / "a.plunge-log"
        self.said = {}  # number by the text of what was added, as the program said it

    def start(self, *words):
        return subprocess.Popen([PROGRAM, "log", *words, "--log", self.log, "--json"],
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE)  # fmt: skip

    def finish(self, *words):
        process = self.start(*words)
        told, complaint = process.communicate()
        self.assertEqual(0, process.returncode, complaint)
        return json.loads(told)["log"]

    def hear(self, text, process):
        """What a writer says counts, however it ends."""
        told, complaint = process.communicate()
        if process.returncode != -signal.SIGKILL:
            self.assertEqual((0, b""), (process.returncode, complaint))
        if told:
            entry = json.loads(told)["log"]["entry"]
            self.assertTrue(entry["text"].startswith(text + " "))
            self.said[text] = entry["number"]

    def judge(self, begun):
        """The file as SQLite sees it, and as plunge does."""
        # A reader rolls back what a killed writer left in the journal.
        database = sqlite3.connect(self.log)
        self.assertEqual([("ok",)], database.execute("PRAGMA integrity_check").fetchall())
        self.assertEqual([], database.execute("PRAGMA foreign_key_check").fetchall())
        notes = {number: text for number, text in database.execute("SELECT number, text FROM note")}
        halves = database.execute(
            "SELECT count(*) FROM entry WHERE kind = 'note' AND number NOT IN (SELECT number FROM note)"
        ).fetchone()  # fmt: skip
        database.close()
        self.assertEqual((0,), halves)
        for text, number in self.said.items():
            self.assertEqual(f"{text} {LONG}", notes.get(number), f"{text} was said to be added")
        texts = [text.split(" ")[0] for text in notes.values()]
        self.assertEqual(len(texts), len(set(texts)), "each is there once")
        self.assertLessEqual(set(texts), begun)
        return texts

    def test_nothing_that_was_said_to_be_added_is_lost(self):
        dice = random.Random(20_261)
        self.finish("add", "fork", "teasel", f"file={SCENARIOS}/forks/teasel-150.toml")
        began = time.monotonic()
        self.finish("add", "note", f"first {LONG}")
        whole = time.monotonic() - began
        begun = {"first"}
        killed = {"first": 0, "second": 0}
        for kill in range(KILLS):
            names = [f"{kill}-{which}" for which in killed]
            begun.update(names)
            writers = [self.start("add", "note", f"{name} {LONG}", "about=teasel") for name in names]
            time.sleep(dice.uniform(0.0, 1.5 * whole))
            victim = dice.randrange(2)
            writers[victim].send_signal(signal.SIGKILL)
            for name, writer in zip(names, writers):
                self.hear(name, writer)
            killed[list(killed)[victim]] += writers[victim].returncode == -signal.SIGKILL
            self.assertIn(names[1 - victim], self.said, "the other one is not held up")
            texts = self.judge(begun)
        if os.environ.get("PLUNGE_SHOW"):
            print(f"{sum(killed.values())} of {KILLS} killed; {len(self.said)} said, "
                  f"{len(texts) - 1 - len(self.said)} more there of {2 * KILLS} begun")  # fmt: skip
        self.assertGreater(sum(killed.values()), KILLS // 4)
        self.assertGreaterEqual(len(self.said), KILLS)
        self.assertEqual(len(texts), len(self.finish("list", "notes")["entries"]))
        # The next writer goes on, and no journal is left.
        self.finish("add", "note", "afterwards")
        self.assertEqual(["a.plunge-log"], [path.name for path in self.log.parent.iterdir()])

    def test_killed_as_it_begins_a_log(self):
        dice = random.Random(20_262)
        for kill in range(KILLS):
            self.log.unlink(missing_ok=True)
            pathlib.Path(f"{self.log}-journal").unlink(missing_ok=True)
            self.said = {}
            writers = [self.start("add", "note", f"{name} {LONG}") for name in "ab"]
            time.sleep(dice.uniform(0.0, 0.06))
            writers[kill % 2].send_signal(signal.SIGKILL)
            for name, writer in zip("ab", writers):
                self.hear(name, writer)
            self.assertIn("ba"[kill % 2], self.said)
            self.judge({"a", "b"})
            self.finish("add", "note", f"after {LONG}")

    def test_an_import_that_is_killed_is_there_whole_or_not_at_all(self):
        dice = random.Random(20_263)
        for number in range(20):
            self.finish("add", "note", f"{number} {LONG}")
        export = self.log.with_suffix(".json")
        self.finish("export", "-o", export)
        whole = self.log
        seen = set()
        for kill in range(KILLS):
            self.log = whole.with_name(f"{kill}.plunge-log")
            self.finish("add", "note", f"own {LONG}")
            process = self.start("import", export)
            time.sleep(dice.uniform(0.0, 0.12))
            process.send_signal(signal.SIGKILL)
            told, _ = process.communicate()
            count = len(self.finish("list", "notes")["entries"])
            self.assertIn(count, (1, 21))
            self.assertTrue(not told or count == 21)
            seen.add(count)
            self.assertEqual(21 - count, self.finish("import", export)["added"])
        self.assertIn(1, seen)

    def test_a_backup_that_is_killed_leaves_the_old_one(self):
        dice = random.Random(20_264)
        for number in range(20):
            self.finish("add", "note", f"{number} {LONG}")
        copy = self.log.with_name("copy")
        self.finish("backup", "-o", copy)
        self.finish("add", "note", f"later {LONG}")
        for _ in range(KILLS):
            process = self.start("backup", "-o", copy, "--replace")
            time.sleep(dice.uniform(0.0, 0.06))
            process.send_signal(signal.SIGKILL)
            process.communicate()
            database = sqlite3.connect(copy)
            self.assertEqual([("ok",)], database.execute("PRAGMA integrity_check").fetchall())
            self.assertIn(database.execute("SELECT count(*) FROM note").fetchone()[0], (20, 21))
            database.close()
        self.finish("backup", "-o", copy, "--replace")
        self.assertEqual([], [path.name for path in copy.parent.iterdir() if path.name[0] == "."])


if __name__ == "__main__":
    unittest.main()
