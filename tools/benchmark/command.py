"""Time of a whole `plunge ride` of one drop scene against the start of Python with NumPy.

Run from the repository's root; both are timed in turn, the median of 15 tells.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time

RUNS = 15


def seconds(command):
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - start


def main():
    with tempfile.TemporaryDirectory() as folder:
        ride = [
            "build/plunge", "ride", "scenarios/scenes/drop-to-landing.toml",
            "-o", os.path.join(folder, "drop.h5"),
        ]  # fmt: skip
        numpy = [sys.executable, "-c", "import numpy"]
        times = {"ride": [], "numpy": []}
        for _ in range(RUNS):
            times["ride"].append(seconds(ride))
            times["numpy"].append(seconds(numpy))
    ride_time = statistics.median(times["ride"])
    numpy_time = statistics.median(times["numpy"])
    print(f"plunge ride      {1e3 * ride_time:7.1f} ms")
    print(f"python3, NumPy   {1e3 * numpy_time:7.1f} ms, {numpy_time / ride_time:.2f} times plunge")


if __name__ == "__main__":
    main()
