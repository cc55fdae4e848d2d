"""A small plan for tests of `plunge sweep`, and what they do with its folder."""

import hashlib
import os
import pathlib
import subprocess
import time

ROOT = pathlib.Path(__file__).resolve().parents[1]
PROGRAM = os.path.abspath(os.environ["PLUNGE_PROGRAM"])
SCENE = ROOT / "scenarios" / "scenes" / "drop-to-flat.toml"


def grid_plan(*metrics):
    """3 spacer counts and 4 pressures, 12 rides, of which these metrics are kept as well."""
    kept = ", ".join(f'"{name}"' for name in ("travel_max", "travel_use", "metal_contacts", "hand_force_max", *metrics))
    return f"""
type = "plan"
format = [1, 0]
name = "spacers and pressure"
scenes = ["{SCENE}"]
[[axis]]
name = "fork.spacers"
values = "0..2"
[[axis]]
name = "fork.pressure"
values = "60 psi..90 psi:10 psi"
[keep]
metrics = [{kept}]
[sweep]
shard = 4
"""


def write_plan(path, clicks="2..16:2", step="5 psi", most="95 psi", duration="0.2 s", shard=4):
    """5 spacer counts, the pressures (8) and the clicks (8: 320 rides) off the loading ramp."""
    path.write_text(
        f"""type = "plan"
format = [1, 0]
name = "small"
scenes = ["{SCENE}"]

[set]
"ride.duration" = "{duration}"

[[axis]]
name = "fork.spacers"
values = "0..4"

[[axis]]
name = "fork.pressure"
values = "60 psi..{most}:{step}"

[[axis]]
name = "fork.rebound.clicks"
values = "{clicks}"

[sweep]
shard = {shard}
""",
        encoding="utf-8",
    )
    return path


def write_long_plan(path, shard=4):
    """5 spacer counts, 701 pressures, 16 clicks: 56 080 rides, more than a test waits for."""
    return write_plan(path, clicks="1..16", step="0.05 psi", duration="1 s", shard=shard)


def command(plan, folder, *more):
    return [PROGRAM, "sweep", str(plan), "-o", str(folder), *map(str, more)]


def start(plan, folder, *more):
    return subprocess.Popen(
        command(plan, folder, *more), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def finish(plan, folder, *more):
    done = subprocess.run(
        command(plan, folder, *more), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done


def when_some_are_done(test, process, folder, more):
    """Waits until a folder has more shards than that; fails where the sweep ends before."""
    while process.poll() is None:
        if folder.exists() and len(shards(folder)) > more:
            return
        time.sleep(0.01)
    test.fail("it ended before it could be disturbed: " + process.communicate()[1])


def shards(folder):
    """The digest of every shard by its name."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in pathlib.Path(folder).iterdir()
        if path.name.startswith("shard-")
    }


def leftovers(folder):
    """What is in a folder of a finished sweep that should not be."""
    known = {"plan.toml", "plan-path.txt", "resolved-plan.txt", "work", "locks", "tallies", "files"}
    return sorted(
        path.name
        for path in pathlib.Path(folder).rglob("*")
        if path.name not in known
        and (path.parent.name != "files" or path.name.startswith("."))
        and not (path.name.startswith("shard-") and path.suffix == ".h5")
    )
