"""The released program is hardened: checked copies, watched stacks, nothing writable that the loader
filled in, loaded at no fixed place. Builds under sanitizers watch more by other means.

Needs PLUNGE_PROGRAM and PLUNGE_BUILD."""

import os
import pathlib
import re
import subprocess
import unittest

PROGRAM = os.environ["PLUNGE_PROGRAM"]
CACHE = (pathlib.Path(os.environ["PLUNGE_BUILD"]) / "CMakeCache.txt").read_text(encoding="utf-8")
RELEASED = "PLUNGE_SANITIZE:BOOL=OFF" in CACHE and "CMAKE_BUILD_TYPE:STRING=Debug" not in CACHE


def told(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


@unittest.skipUnless(RELEASED, "not a release build")
class Hardening(unittest.TestCase):
    def test_copies_are_checked_and_stacks_watched(self):
        called = told("nm", "--dynamic", "--undefined-only", PROGRAM)
        self.assertRegex(called, r"__stack_chk_fail\b")
        self.assertRegex(called, r"__mem\w+_chk\b")

    def test_what_the_loader_fills_in_is_read_only_and_filled_in_at_once(self):
        self.assertRegex(told("readelf", "--wide", "--segments", PROGRAM), r"GNU_RELRO")
        self.assertRegex(told("readelf", "--dynamic", PROGRAM), r"\bBIND_NOW\b")

    def test_it_is_loaded_anywhere_and_its_stack_does_not_run(self):
        self.assertRegex(told("readelf", "--file-header", PROGRAM), r"Type: +DYN")
        stack = re.search(r"GNU_STACK.*", told("readelf", "--wide", "--segments", PROGRAM))
        self.assertRegex(stack[0], r" RW +0x")

    def test_the_step_of_the_lanes_pays_nothing(self):
        library = pathlib.Path(os.environ["PLUNGE_BUILD"]) / "libplunge_sim_lanes.a"
        listed = told("nm", "--undefined-only", str(library))
        members = dict(re.findall(r"^(lanes_\w+)\.cpp\.o:\n((?: .*\n)*)", listed, re.MULTILINE))
        self.assertIn("lanes_portable", members)
        for name, symbols in members.items():
            self.assertNotIn("__stack_chk_fail", symbols, name)
        self.assertIn("__stack_chk_fail", listed)


if __name__ == "__main__":
    unittest.main()
