"""What verbs may write: never an input, never what plunge did not write, nothing half.

Needs PLUNGE_PROGRAM, the built program."""

import hashlib
import os
import pathlib
import pty
import resource
import shutil
import stat
import subprocess
import tempfile
import unittest

SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "scenarios"
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])

PLAN = """
type = "plan"
format = [1, 0]
scenes = ["scene"]
[set]
"ride.duration" = "0.2 s"
[[axis]]
name = "fork.spacers"
values = "0..2"
[sweep]
shard = 2
"""


class Outputs(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        """A scene, all that it names, its results, and a sweep of it, none by a name with an ending."""
        scratch = tempfile.TemporaryDirectory(prefix="plunge-outputs-")
        cls.addClassCleanup(scratch.cleanup)
        cls.good = pathlib.Path(scratch.name) / "good"
        cls.good.mkdir()
        text = (SCENARIOS / "scenes" / "drop-to-flat.toml").read_text(encoding="utf-8")
        for part in ("forks/teasel-150", "riders/hazel", "bikes/trail", "terrain/drop-to-flat"):
            name = part.split("/")[0].rstrip("s")
            shutil.copy(SCENARIOS / f"{part}.toml", cls.good / name)
            assert f'"../{part}.toml"' in text
            text = text.replace(f'"../{part}.toml"', f'"{name}"')
        (cls.good / "scene").write_text(text, encoding="utf-8")
        (cls.good / "plan").write_text(PLAN, encoding="utf-8")
        cls.parts = ["scene", "fork", "rider", "bike", "terrain"]
        for words in ("ride scene -o r.h5 --plot r.png", "sweep plan -o sweep",
                      "sweep merge sweep -o m.h5"):  # fmt: skip
            subprocess.run([PROGRAM, *words.split()], cwd=cls.good, check=True, capture_output=True)

    def setUp(self):
        scratch = tempfile.TemporaryDirectory(prefix="plunge-outputs-")
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name) / "f"
        shutil.copytree(self.good, self.folder)

    def plunge(self, *words, expect=0, **more):
        done = subprocess.run([PROGRAM, *map(str, words)], cwd=self.folder,
                              capture_output=True, check=False, **more)  # fmt: skip
        self.assertEqual(expect, done.returncode, done.stderr)
        return done

    def contents(self):
        return {
            path.relative_to(self.folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in self.folder.rglob("*")
            if path.is_file()
        }

    def refused(self, *words, says, expect=2):
        before = self.contents()
        with self.subTest(command=words):
            done = self.plunge(*words, expect=expect)
            self.assertIn(says, done.stderr.decode())
            self.assertEqual(b"", done.stdout)
            self.assertEqual(before, self.contents())

    def test_a_ride_writes_over_none_of_the_files_that_it_reads(self):
        for part in self.parts:
            (self.folder / f"link-{part}.png").symlink_to(part)
            os.link(self.folder / part, self.folder / f"hard-{part}")
            for name in (part, f"./{part}", f"hard-{part}", f"link-{part}.png",
                         self.folder / "sweep" / ".." / part):  # fmt: skip
                self.refused("ride", "scene", "-o", name, "--replace", says="that is read here")
            self.refused("ride", "scene", "--plot", f"link-{part}.png", "--replace",
                         says="that is read here")  # fmt: skip
            if part in ("fork", "rider"):
                self.refused("curve", "fork", "--rider", "rider", "--replace", "--plot",
                             f"link-{part}.png", says="that is read here")  # fmt: skip

    def test_results_that_are_read_are_not_drawn_over(self):
        for results, verb in (("r.h5", ["compare"]), ("m.h5", ["sweep", "report"])):
            (self.folder / "link.svg").unlink(missing_ok=True)
            (self.folder / "link.svg").symlink_to(results)
            self.refused(*verb, results, "--plot", "link.svg", says="that is read here")

    def test_a_merge_writes_over_nothing_of_its_sweep(self):
        inside = sorted(path.relative_to(self.folder) for path in (self.folder / "sweep").rglob("*"))
        self.assertGreater(len(inside), 6)
        for path in inside:
            if not (self.folder / path).is_dir():
                says = "has the name of an input" if path.suffix == ".toml" else "part of the sweep"
                self.refused("sweep", "merge", "sweep", "-o", path, "--replace", says=says)
                # A ride knows nothing of the sweep, and yet.
                self.refused("ride", "scene", "-o", path, "--replace", says=says)
        (self.folder / "link").symlink_to("sweep/resolved-plan.txt")
        os.link(self.folder / "sweep" / "shard-00000000.h5", self.folder / "hard.h5")
        self.refused("sweep", "merge", "sweep", "-o", "link", says="part of the sweep")
        self.refused("sweep", "merge", "sweep", "-o", "hard.h5", says="that is read here")
        for name in ("plan", "scene", "rider"):
            self.refused("sweep", "merge", "sweep", "-o", name, says="name another")
        self.plunge("sweep", "merge", "sweep", "-o", "sweep.h5")

    def test_a_file_of_somebody_else_is_replaced_only_when_asked(self):
        (self.folder / "mine.h5").write_bytes(b"mine")
        (self.folder / "mine.png").write_bytes(b"mine")
        (self.folder / "scene.h5").write_bytes(b"mine")
        for words in (
            ["ride", "scene", "-o", "mine.h5"], ["ride", "scene", "--plot", "mine.png", "-o", "x.h5"],
            ["ride", "scene"], ["curve", "fork", "--plot", "mine.png"],
            ["compare", "r.h5", "--plot", "mine.png"], ["sweep", "merge", "sweep", "-o", "mine.h5"],
            ["sweep", "report", "m.h5", "--plot", "mine.png"],
        ):  # fmt: skip
            self.refused(*words, says="--replace")
            self.plunge(*words, "--replace")
            self.plunge(*words)  # plunge's own by now
            (self.folder / "mine.h5").write_bytes(b"mine")
            (self.folder / "mine.png").write_bytes(b"mine")

    def test_results_that_were_worked_on_are_somebody_else_s(self):
        for name in ("r.h5", "r.png"):
            with open(self.folder / name, "ab") as file:
                file.write(b"more")
        self.refused("ride", "scene", "-o", "r.h5", says="--replace")
        self.refused("ride", "scene", "--plot", "r.png", says="--replace")

    def test_the_usual_name_that_is_there_is_told(self):
        self.assertNotIn(b"replaces", self.plunge("ride", "scene").stderr)
        self.assertIn(b"replaces scene.h5", self.plunge("ride", "scene").stderr)
        self.assertNotIn(b"replaces", self.plunge("ride", "scene", "-o", "scene.h5").stderr)

    def test_modes_are_kept_and_read_only_files_stay(self):
        (self.folder / "r.h5").chmod(0o604)
        self.plunge("ride", "scene", "-o", "r.h5")
        self.assertEqual(0o604, stat.S_IMODE((self.folder / "r.h5").stat().st_mode))
        self.plunge("ride", "scene", "-o", "new.h5", umask=0o027)
        self.assertEqual(0o640, stat.S_IMODE((self.folder / "new.h5").stat().st_mode))
        for name, words in (("r.h5", ["ride", "scene", "-o", "r.h5"]),
                            ("r.png", ["curve", "fork", "--plot", "r.png"]),
                            ("m.h5", ["sweep", "merge", "sweep", "-o", "m.h5"])):  # fmt: skip
            (self.folder / name).chmod(0o444)
            self.refused(*words, "--replace", says="marked as read-only", expect=1)

    def test_a_folder_without_permission_is_refused(self):
        nobody = {}
        if os.geteuid() == 0:  # root may write anywhere
            nobody = {"user": 65534, "group": 65534, "extra_groups": []}
            self.folder.parent.chmod(0o755)
            try:
                self.plunge("--version", **nobody)
            except PermissionError:
                self.skipTest("only root may run the program here")
        (self.folder / "closed").mkdir()
        (self.folder / "closed").chmod(0o555)
        (self.folder / "mine.h5").touch()
        (self.folder / "mine.h5").chmod(0o444 if os.geteuid() else 0o644)
        (self.folder / "open").mkdir()
        (self.folder / "open").chmod(0o777)
        for name, says in (("closed/r.h5", "Permission denied"),
                           ("closed/a/r.h5", "Permission denied"),
                           ("mine.h5", "")):  # fmt: skip
            done = self.plunge("ride", "scene", "-o", name, expect=1, **nobody)
            self.assertIn(says, done.stderr.decode())
            self.assertIn("cannot ", done.stderr.decode())
        self.assertEqual([], list((self.folder / "closed").iterdir()))
        self.assertEqual(0, (self.folder / "mine.h5").stat().st_size)
        self.plunge("ride", "scene", "-o", "open/r.h5", **nobody)
        # One in which names may be made and not read.
        (self.folder / "open").chmod(0o333)
        self.plunge("ride", "scene", "-o", "open/r.h5", **nobody)
        self.plunge("ride", "scene", "-o", "open/new.h5", **nobody)
        self.assertEqual(2, len(list((self.folder / "open").iterdir())))

    def test_folders_are_made(self):
        self.plunge("ride", "scene", "-o", "a/b/r.h5", "--plot", "c/d/r.png")
        self.plunge("sweep", "plan", "-o", "e/f/sweep")
        self.plunge("sweep", "merge", "e/f/sweep", "-o", "g/m.h5")
        for name in ("a/b/r.h5", "c/d/r.png", "g/m.h5"):
            self.assertTrue((self.folder / name).is_file(), name)

    def test_results_go_to_the_standard_output_and_words_to_standard_error(self):
        ride = self.plunge("ride", "scene", "-o", "-")
        self.assertEqual((self.folder / "r.h5").read_bytes(), ride.stdout)
        self.assertIn(b"travel used", ride.stderr)
        self.assertIn(b"results: the standard output", ride.stderr)
        merge = self.plunge("sweep", "merge", "sweep", "-o", "-")
        self.assertEqual((self.folder / "m.h5").read_bytes(), merge.stdout)
        self.assertNotIn(b"next: ", merge.stderr)
        self.assertFalse((self.folder / "-").exists())
        self.plunge("ride", "scene", "-o", "./-")  # a file of that name
        self.assertEqual(ride.stdout, (self.folder / "-").read_bytes())

    def test_the_standard_output_takes_one_thing_and_is_no_terminal(self):
        self.refused("ride", "scene", "-o", "-", "--json", says="where --json goes")
        self.refused("sweep", "merge", "sweep", "-o", "-", "--json", says="where --json goes")
        self.refused("ride", "scene", "--plot", "-", says="must end in .png, .svg or .pdf")
        primary, secondary = pty.openpty()
        done = subprocess.run([PROGRAM, "ride", "scene", "-o", "-"], cwd=self.folder,
                              stdout=secondary, stderr=subprocess.PIPE, check=False)  # fmt: skip
        os.close(secondary)
        os.close(primary)
        self.assertEqual(2, done.returncode)
        self.assertIn(b"is a terminal", done.stderr)

    def test_results_pass_through_memory_where_there_is_no_folder_for_what_is_passing(self):
        without = {**os.environ, "TMPDIR": str(self.folder / "none")}
        ride = self.plunge("ride", "scene", "-o", "-", env=without)
        self.assertEqual((self.folder / "r.h5").read_bytes(), ride.stdout)

    def test_a_standard_output_that_fails_is_told(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([PROGRAM, "ride", "scene", "-o", "-"], cwd=self.folder,
                                  stdout=full, stderr=subprocess.PIPE, check=False)  # fmt: skip
        self.assertEqual(1, done.returncode)
        self.assertIn(b"cannot write to the standard output: No space left on device", done.stderr)

    def test_the_standard_output_may_be_no_other_output(self):
        with open(self.folder / "p.png", "wb") as plot:
            done = subprocess.run([PROGRAM, "ride", "scene", "-o", "-", "--plot", "p.png"],
                                  cwd=self.folder, stdout=plot, stderr=subprocess.PIPE, check=False)  # fmt: skip
        self.assertEqual(2, done.returncode, done.stderr)
        self.assertIn(b"must not be the file of --output", done.stderr)
        self.assertEqual(0, (self.folder / "p.png").stat().st_size)

    def test_the_standard_output_may_be_no_input(self):
        before = (self.folder / "scene").read_bytes()
        with open(self.folder / "scene", "ab") as scene:
            done = subprocess.run([PROGRAM, "ride", "scene", "-o", "-"], cwd=self.folder,
                                  stdout=scene, stderr=subprocess.PIPE, check=False)  # fmt: skip
        self.assertEqual(2, done.returncode, done.stderr)
        self.assertIn(b"that is read here", done.stderr)
        self.assertEqual(before, (self.folder / "scene").read_bytes())

    def appended(self, name, *words):
        with open(self.folder / name, "ab") as file:
            return subprocess.run([PROGRAM, *map(str, words)], cwd=self.folder, check=False,
                                  stdout=file, stderr=subprocess.PIPE)  # fmt: skip

    def test_words_are_not_written_into_a_file_that_is_read(self):
        shutil.copytree(self.folder / "sweep", self.folder / "other")
        (self.folder / "faulty").write_text("type = 1\n")
        shard = "shard-00000000.h5"
        for command, names in (
            ("ride scene -o new.h5", self.parts),
            ("ride scene -o r.h5 --plot r.png --json", [*self.parts, "r.h5", "r.png"]),
            ("curve scene", self.parts), ("curve fork --rider rider", ["fork", "rider"]),
            ("curve fork --plot r.png", ["fork", "r.png"]),
            ("modes scene", self.parts), ("modes scene --json", self.parts),
            ("check faulty scene", ["faulty", *self.parts]),
            ("check plan --json", ["plan", *self.parts]),
            ("compare r.h5", ["r.h5"]), ("compare m.h5 r.h5 --json", ["m.h5", "r.h5"]),
            ("table r.h5", ["r.h5"]), ("table m.h5 --json", ["m.h5"]),
            ("table m.h5 -o t.csv", ["m.h5"]),
            ("sweep plan -o sweep", ["plan", *self.parts, f"sweep/{shard}"]),
            ("sweep status sweep", [f"sweep/{shard}", "sweep/resolved-plan.txt"]),
            ("sweep gather sweep other", [f"sweep/{shard}", f"other/{shard}"]),
            ("sweep merge sweep -o m.h5", [f"sweep/{shard}", "m.h5"]),
            ("sweep report m.h5", ["m.h5"]), ("sweep report m.h5 --plot r.png", ["m.h5", "r.png"]),
            ("sweep report m.h5 -o m.html", ["m.h5"]),
        ):  # fmt: skip
            for name in names:
                before = self.contents()
                with self.subTest(command=command, onto=name):
                    done = self.appended(name, *command.split())
                    self.assertEqual(2, done.returncode, done.stderr)
                    self.assertIn(b"plunge: the standard output goes to ", done.stderr)
                    self.assertEqual(before, self.contents())

    def test_words_may_go_into_a_file_beside_the_inputs(self):
        for command, name in (("ride scene -o r.h5", "log"), ("check scene", "log"),
                              ("sweep plan -o sweep", "sweep/log"), ("table r.h5", "r.csv"),
                              ("sweep status sweep", "sweep/log"),
                              ("sweep merge sweep -o m.h5", "sweep/log")):  # fmt: skip
            done = self.appended(name, *command.split())
            self.assertEqual(0, done.returncode, (command, done.stderr))
            self.assertGreater((self.folder / name).stat().st_size, 0)

    def test_a_file_that_may_grow_no_more_is_told(self):
        def little():
            resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

        before = self.contents()
        for words in (["ride", "scene", "-o", "r.h5"], ["ride", "scene", "-o", "-"],
                      ["sweep", "merge", "sweep", "-o", "m.h5"],
                      ["table", "r.h5", "--traces", "travel", "-o", "t.csv"]):  # fmt: skip
            done = self.plunge(*words, expect=1, preexec_fn=little)
            self.assertRegex(done.stderr.decode(), r"plunge: cannot write .*(large|ulimit -f)", words)
            self.assertEqual(before, self.contents())


if __name__ == "__main__":
    unittest.main()
