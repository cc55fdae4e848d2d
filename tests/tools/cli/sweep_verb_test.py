"""`plunge sweep` as people call it: what it prints, keeps and returns.

Needs PLUNGE_PROGRAM, the built program."""

import sys
import json
import os
import pathlib
import pty
import resource
import signal
import subprocess
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2]))
import sweep_plan  # noqa: E402


class Verb(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="plunge-sweep-")
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.plan = sweep_plan.write_plan(self.folder / "plan.toml", clicks="4, 8")
        self.long = sweep_plan.write_long_plan(self.folder / "long.toml")
        self.out = self.folder / "out"

    def run_plunge(self, *arguments, expect=0, **more):
        done = subprocess.run(
            [sweep_plan.PROGRAM, *map(str, arguments)],
            cwd=self.folder, capture_output=True, text=True, check=False, **more,
        )  # fmt: skip
        self.assertEqual(expect, done.returncode, done.stdout + done.stderr)
        return done

    def when_some_are_done(self, process, before):
        sweep_plan.when_some_are_done(self, process, self.out, before + 2)

    def test_a_summary_says_how_it_went_and_what_is_next(self):
        done = self.run_plunge("sweep", "plan.toml", "-o", "out")
        self.assertIn("80 of 80 rides done, 20 of 20 shards", done.stdout)
        self.assertIn("none failed", done.stdout)
        self.assertIn("rides/s", done.stdout)
        self.assertIn("next: plunge sweep merge out -o out.h5", done.stdout)
        again = self.run_plunge("sweep", "plan.toml", "-o", "out")
        self.assertNotIn("ridden now", again.stdout)
        status = self.run_plunge("sweep", "status", "out").stdout
        self.assertIn("80 of 80 rides done (100 %), 20 of 20 shards", status)

    def test_what_is_proposed_next_is_not_refused(self):
        self.run_plunge("sweep", "plan.toml", "-o", "./-out, 'mine'")
        for taken in ("-out, 'mine'.h5", "-out, 'mine'-2.h5"):
            (self.folder / taken).mkdir()
        said = self.run_plunge("sweep", "status", "./-out, 'mine'").stdout
        self.assertIn("-out, '\\''mine'\\''-3.h5", said)
        line = next(line for line in said.splitlines() if line.startswith("next: "))
        command = line.removeprefix("next: ").replace("plunge", sweep_plan.PROGRAM, 1)
        subprocess.run(["bash", "-c", command], cwd=self.folder, check=True, capture_output=True)
        self.assertTrue((self.folder / "-out, 'mine'-3.h5").is_file())

    def test_merge_into_the_folder_itself_is_refused_before_any_work(self):
        self.run_plunge("sweep", "plan.toml", "-o", "out")
        (self.folder / "out" / "shard-00000007.h5").unlink()  # what work would come upon
        for name in ("out", "./out/", str(self.out)):
            done = self.run_plunge("sweep", "merge", "out", "-o", name, expect=2)
            self.assertIn("is the folder of the sweep itself; name a file, such as", done.stderr)

    def test_json_says_the_same(self):
        sweep = json.loads(
            self.run_plunge("sweep", "plan.toml", "-o", "out", "--json").stdout
        )["sweep"]
        self.assertTrue(sweep["finished"])
        self.assertEqual((80, 80, 20, 0), (sweep["rides"], sweep["ridden"], sweep["shards_done"],
                                           sweep["failed"]))  # fmt: skip
        status = json.loads(self.run_plunge("sweep", "status", "out", "--json").stdout)["status"]
        for key in ("rides", "rides_done", "shards", "shards_done", "failed", "redone", "finished"):
            self.assertEqual(sweep[key], status[key], key)

    def test_an_interrupt_keeps_what_is_finished_and_says_how_to_go_on(self):
        expected = {}
        for word in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            process = sweep_plan.start(self.long, self.out, "--threads", 2)
            self.when_some_are_done(process, len(expected))
            process.send_signal(word)
            summary, complaint = process.communicate()
            self.assertEqual(1, process.returncode, complaint)
            kept = 4 * len(sweep_plan.shards(self.out))
            self.assertIn(
                f"interrupted after {kept} of 56080 rides; they are kept, go on with: "
                f"plunge sweep {self.long} -o {self.out} --threads 2",
                complaint,
            )
            self.assertIn(f"{kept} of 56080 rides done", summary)
            self.assertEqual([], sweep_plan.leftovers(self.out))
            # The second run kept what the first one did.
            self.assertLessEqual(expected.items(), sweep_plan.shards(self.out).items())
            expected = sweep_plan.shards(self.out)

    # The plan is one shard of 56 080 rides, which nobody here waits for.
    def test_an_interrupt_is_heard_inside_a_shard_which_is_dropped(self):
        plan = sweep_plan.write_long_plan(self.folder / "slow.toml", shard=100_000)
        for word in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            process = sweep_plan.start(plan, self.out, "--threads", 1)
            while not (self.out / "work" / "worker-0.txt").exists() and process.poll() is None:
                time.sleep(0.01)
            process.send_signal(word)
            _, complaint = process.communicate()
            self.assertEqual(1, process.returncode, complaint)
            self.assertIn("interrupted after 0 of 56080 rides", complaint)
            self.assertIn("1 shard under way was dropped; its rides are ridden again", complaint)
            self.assertEqual({}, sweep_plan.shards(self.out))
            self.assertEqual([], sweep_plan.leftovers(self.out))

    def test_usr1_finishes_what_runs(self):
        process = sweep_plan.start(self.long, self.out, "--threads", 2)
        self.when_some_are_done(process, 0)
        process.send_signal(signal.SIGUSR1)
        _, complaint = process.communicate()
        self.assertEqual(1, process.returncode, complaint)
        self.assertIn("of 56080 rides; they are kept", complaint)
        self.assertNotIn("dropped", complaint)

    def test_two_processes_share_the_work(self):
        team = [sweep_plan.start(self.plan, self.out, "--json") for _ in range(3)]
        ridden = 0
        for process in team:
            summary, complaint = process.communicate()
            self.assertEqual(0, process.returncode, complaint)
            sweep = json.loads(summary)["sweep"]
            self.assertEqual(80, sweep["rides_done"])
            ridden += sweep["ridden"]
        self.assertEqual(80, ridden)
        sweep_plan.finish(self.plan, self.folder / "alone", "--threads", 1)
        self.assertEqual(sweep_plan.shards(self.folder / "alone"), sweep_plan.shards(self.out))
        self.assertEqual([], sweep_plan.leftovers(self.out))

    def test_the_parts_of_a_job_array_make_the_whole(self):
        for part in (1, 3, 2):
            done = self.run_plunge("sweep", "plan.toml", "-o", "out", "--shard", f"{part}/3")
            self.assertIn(f"part {part}/3 of a sweep in out", done.stdout)
            if part != 2:
                self.assertIn("see: plunge sweep status out", done.stdout)
        self.assertIn("next: plunge sweep merge", done.stdout)
        sweep_plan.finish(self.plan, self.folder / "alone")
        self.assertEqual(sweep_plan.shards(self.folder / "alone"), sweep_plan.shards(self.out))

    def test_a_changed_plan_is_refused_with_the_difference(self):
        self.run_plunge("sweep", "plan.toml", "-o", "out")
        before = sweep_plan.shards(self.out)
        sweep_plan.write_plan(self.plan, clicks="4, 9")
        complaint = self.run_plunge("sweep", "plan.toml", "-o", "out", expect=2).stderr
        self.assertIn("out: holds a sweep of another plan", complaint)
        self.assertIn("fork.rebound.clicks: was 4, 8, is 4, 9", complaint)
        for line in complaint.splitlines():
            self.assertTrue(line.startswith("plunge: "), line)
        self.assertEqual(before, sweep_plan.shards(self.out))

    def test_a_damaged_shard_is_named_and_done_again(self):
        self.run_plunge("sweep", "plan.toml", "-o", "out")
        before = sweep_plan.shards(self.out)
        path = self.out / "shard-00000007.h5"
        data = bytearray(path.read_bytes())
        data[1000] ^= 1
        path.write_bytes(data)
        done = self.run_plunge("sweep", "plan.toml", "-o", "out")
        self.assertIn("out/shard-00000007.h5: is damaged: its check sum differs; set aside as "
                      "shard-00000007.h5.damaged, its rides are ridden again", done.stderr)  # fmt: skip
        self.assertIn("4 ridden now", done.stdout)
        self.assertEqual(bytes(data), (self.out / "shard-00000007.h5.damaged").read_bytes())
        (self.out / "shard-00000007.h5.damaged").unlink()
        self.assertEqual(before, sweep_plan.shards(self.out))

    # As a full disk: past this size nothing can be written. Compare SmallDisk in sweep_test.
    def test_what_cannot_be_written_stops_it_and_is_done_later(self):
        plan = sweep_plan.write_plan(self.folder / "wide.toml", clicks="4", shard=16)
        self.run_plunge("sweep", "wide.toml", "-o", "room")

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (12_000, 12_000))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # as a full disk, which sends none

        more = {"preexec_fn": limit, "restore_signals": False}
        done = self.run_plunge("sweep", "wide.toml", "-o", "out", expect=1, **more)
        self.assertRegex(done.stderr, r"cannot write out/shard-\d+\.h5: File too large")
        self.assertEqual({}, sweep_plan.shards(self.out))
        self.assertEqual([], sweep_plan.leftovers(self.out))
        # Half way: what is there stays, and is told.
        (self.out / "shard-00000001.h5").write_bytes(
            (self.folder / "room" / "shard-00000001.h5").read_bytes()
        )
        done = self.run_plunge("sweep", "wide.toml", "-o", "out", expect=1, **more)
        self.assertIn("16 of 40 rides are done and kept; when that is mended, go on with: "
                      "plunge sweep wide.toml -o out", done.stderr)  # fmt: skip
        sweep_plan.finish(plan, self.out)
        self.assertEqual(sweep_plan.shards(self.folder / "room"), sweep_plan.shards(self.out))

    def test_failed_rides_are_counted_with_their_reason(self):
        text = self.plan.read_text(encoding="utf-8").replace("95 psi:5 psi", "395 psi:5 psi")
        (self.folder / "hard.toml").write_text(text, encoding="utf-8")
        done = self.run_plunge("sweep", "hard.toml", "-o", "out")
        self.assertRegex(done.stdout, r"\d+ failed \(\d+ %\):")
        self.assertRegex(done.stdout, r"\d+  such as ride \d+: .*fork\.pressure")

    def test_a_terminal_shows_one_line_that_moves(self):
        try:
            ours, theirs = pty.openpty()
        except OSError as error:
            self.skipTest(f"no terminal to be had: {error}")
        process = subprocess.Popen(
            sweep_plan.command(self.long, self.out), stdout=subprocess.DEVNULL, stderr=theirs
        )
        os.close(theirs)
        shown = b""
        while b"rides/s" not in shown and process.poll() is None:
            try:
                shown += os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
        process.kill()
        process.wait()
        os.close(ours)
        self.assertRegex(shown.decode(), r"\r\x1b\[K\d+ of 56080 rides \(.*%\), .*rides/s, about .* left")
        self.assertNotIn(b"\n", shown)

    def test_a_plan_named_like_a_verb_is_reached_by_its_path(self):
        (self.folder / "status").write_bytes(self.plan.read_bytes())
        self.run_plunge("sweep", "./status", "-o", "out")
        self.assertIn("80 of 80", self.run_plunge("sweep", "status", "out").stdout)

    def test_a_moved_folder_needs_no_plan(self):
        alone = self.folder / "alone"
        sweep_plan.finish(self.plan, alone)
        self.run_plunge("sweep", "plan.toml", "-o", "out", "--shard", "1/2")
        (self.folder / "plan.toml").unlink()
        (self.folder / "far").mkdir()
        self.out.rename(self.folder / "far" / "moved")
        status = self.run_plunge("sweep", "status", "far/moved").stdout
        self.assertIn("40 of 80 rides done", status)
        self.assertIn("go on with: plunge sweep far/moved", status)
        done = self.run_plunge("sweep", "far/moved")
        self.assertIn("80 of 80 rides done", done.stdout)
        self.assertEqual(sweep_plan.shards(alone), sweep_plan.shards(self.folder / "far/moved"))
        for name in ("alone", "far/moved"):
            self.run_plunge("sweep", "merge", name, "-o", f"{name}.h5")
        self.assertEqual((self.folder / "alone.h5").read_bytes(),
                         (self.folder / "far/moved.h5").read_bytes())  # fmt: skip
        complaint = self.run_plunge("sweep", "alone", "-o", "far/moved", expect=2).stderr
        self.assertIn("the sweep in alone goes on in there", complaint)

    def test_parts_without_a_common_disk_are_gathered(self):
        sweep_plan.finish(self.plan, self.folder / "alone")
        for part in (1, 2, 3):
            self.run_plunge("sweep", "plan.toml", "-o", f"part{part}", "--shard", f"{part}/3")
        done = self.run_plunge("sweep", "gather", "all", "part1", "part3")
        self.assertIn("all: 13 shards copied; 13 of 20 shards there now", done.stdout)
        self.assertIn("ride the rest here: plunge sweep all", done.stdout)
        damaged = self.folder / "part2" / "shard-00000001.h5"
        damaged.write_bytes(damaged.read_bytes()[:-9])
        done = self.run_plunge("sweep", "gather", "all", "part2", "nowhere", "--json", expect=1)
        gather = json.loads(done.stdout)["gather"]
        self.assertEqual((6, 19, False), (gather["copied"], gather["shards_done"], gather["finished"]))
        self.assertEqual(2, len(gather["refused"]))
        self.assertIn("left out: nowhere: does not exist", done.stderr)
        self.assertIn("left out: part2/shard-00000001.h5: is damaged", done.stderr)
        self.run_plunge("sweep", "all")
        done = self.run_plunge("sweep", "gather", "all", "part1")
        self.assertIn("next: plunge sweep merge all", done.stdout)
        for name in ("alone", "all"):
            self.run_plunge("sweep", "merge", name, "-o", f"{name}.h5")
        self.assertEqual((self.folder / "alone.h5").read_bytes(),
                         (self.folder / "all.h5").read_bytes())  # fmt: skip

    def test_wrong_command_lines_are_told_what_is_wrong(self):
        (self.folder / "empty").mkdir()
        (self.folder / "file").write_text("a file")
        cases = [
            (["sweep"], "sweep needs PLAN and -o DIR"),
            (["sweep", "plan.toml"], " needs -o "),
            (["sweep", "no.toml", "-o", "out"], "no.toml: does not exist"),
            (["sweep", "plan.toml", "-o", "file"], "--output = file: is a file; a sweep needs a folder"),
            (["sweep", "plan.toml", "-o", "out.h5"], "--output = out.h5: has the name of a file; a "
             "sweep needs a folder, such as out"),
            (["sweep", "plan.toml", "-o", "."], "holds other files and no sweep"),
            (["sweep", "plan.toml", "-o", "out", "--shard", "4/3"], "--shard = 4/3: must be I/N"),
            (["sweep", "plan.toml", "-o", "out", "--shard", "1"], "--shard = 1: must be I/N"),
            (["sweep", "plan.toml", "-o", "out", "--lanes", "wide"], "must be portable, avx2"),
            (["sweep", "plan.toml", "-o", "out", "--threads", "-1"], "--threads = -1: must be"),
            (["sweep", "empty"], "empty: holds no sweep"),
            (["sweep", "gather", "out"], "sweep gather needs FROM"),
            (["sweep", "gather", "out", "empty"], "out: is not begun: there is nothing to gather"),
            (["sweep", "status"], "sweep status needs DIR"),
            (["sweep", "status", "no"], "no: does not exist"),
            (["sweep", "status", "file"], "file: is not a folder"),
            (["sweep", "status", "empty"], "empty: holds no sweep"),
            (["sweep", "merge", "empty"], " needs -o "),
        ]
        before = sorted(path.name for path in self.folder.iterdir())
        for arguments, words in cases:
            with self.subTest(arguments=arguments):
                done = self.run_plunge(*arguments, expect=2)
                self.assertIn(words, done.stderr)
                self.assertTrue(done.stderr.startswith("plunge: "))
                self.assertEqual("", done.stdout)
        self.assertEqual(before, sorted(path.name for path in self.folder.iterdir()))


if __name__ == "__main__":
    unittest.main()
