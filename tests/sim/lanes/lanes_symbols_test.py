"""The lanes for wider registers share no function with the rest of the program.

The linker keeps one copy of a function that several files bring. Were one of them compiled for
AVX-512 only, a processor without it would stop there.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import unittest

BUILD = pathlib.Path(os.environ["PLUNGE_BUILD"])


class Symbols(unittest.TestCase):
    def test_shared_functions_are_of_one_instruction_set(self):
        for name, mark in ("avx2", "avx2"), ("avx512", "avx512"):
            found = list(BUILD.glob(f"CMakeFiles/**/lanes_{name}.cpp.o"))
            self.assertEqual(len(found), 1, f"no object of sim/lanes_{name}.cpp below {BUILD}")
            text = subprocess.run(["nm", "--defined-only", found[0]], capture_output=True,
                                  text=True, check=True).stdout  # fmt: skip
            shared = [line.split()[-1] for line in text.splitlines() if re.search(r" [WVu] ", line)]
            unmarked = [s for s in shared if mark not in s and not s.startswith("DW.ref.")]
            self.assertEqual(unmarked, [])
            self.assertTrue(any(mark in line for line in text.splitlines()))


if __name__ == "__main__":
    cache = (BUILD / "CMakeCache.txt").read_text()
    if "CMAKE_BUILD_TYPE:STRING=Release" not in cache or shutil.which("nm") is None:
        print("only an optimized build is shipped: nothing to look at here")
        sys.exit(0)
    unittest.main()
