"""The README's examples are true: each command that it shows prints what it shows.

With --write the outputs in README.md are made anew.
"""

import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)```", re.S)


def run(command):
    """What a command of the README prints, run where its outputs can do no harm."""
    words = shlex.split(command)
    program = os.environ.get("PLUNGE_PROGRAM", str(ROOT / "build" / "plunge"))
    with tempfile.TemporaryDirectory() as folder:
        os.makedirs(os.path.join(folder, "out"))
        os.symlink(ROOT / "scenarios", os.path.join(folder, "scenarios"))
        done = subprocess.run(
            [program] + words[1:], cwd=folder, capture_output=True, text=True, check=False
        )
        made = sorted(os.listdir(os.path.join(folder, "out")))
    if done.returncode != 0:
        sys.exit(f"$ {command}\n{done.stderr}")
    wanted = [os.path.basename(word) for word in words if word.startswith("out/")]
    if made != sorted(wanted):
        sys.exit(f"$ {command}\nwrote {made}, not {wanted}")
    return done.stdout


def main():
    text = README.read_text(encoding="utf-8")
    blocks = list(BLOCK.finditer(text))
    if len(blocks) < 2:
        sys.exit("README.md shows fewer than two examples")
    if "--write" in sys.argv:
        README.write_text(
            BLOCK.sub(lambda m: f"```console\n$ {m['command']}\n{run(m['command'])}```", text),
            encoding="utf-8",
        )
        return
    for block in blocks:
        output = run(block["command"])
        if output != block["output"]:
            sys.exit(f"$ {block['command']}\nREADME.md:\n{block['output']}\nnow:\n{output}")


if __name__ == "__main__":
    main()
