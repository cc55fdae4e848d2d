"""The examples of the documents are true: each command that they show prints what they show.

The commands of a document run in order, in one folder, so that one may use what another wrote. A line of only
`…` in an output stands for lines that were left out. How long a sweep took is not compared, and what
rides in lanes does so in the portable ones, which give every processor the same digits.

With --write the outputs are made anew, each cut where it was cut before.
"""

import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[3]
README = ROOT / "README.md"
DOCUMENTS = [README, ROOT / "scenarios" / "how-to.md"]
BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)```", re.S)
PLAN_LINES = re.compile(r"```toml\n(.*?)```", re.S)
CUT = "…\n"
TOOK = re.compile(r"(?<= ridden now in ).*")
RIDES = re.compile(r"plunge (sweep|suggest) \S+\.toml")


class Examples:
    """Runs the commands of a document where their outputs can do no harm."""

    def __init__(self, folder):
        self.folder = folder
        self.wanted = set()
        os.makedirs(os.path.join(folder, "out"))
        os.symlink(ROOT / "scenarios", os.path.join(folder, "scenarios"))

    def run(self, command):
        words = shlex.split(command)
        program = os.environ.get("PLUNGE_PROGRAM", str(ROOT / "build" / "plunge"))
        lanes = ["--lanes", "portable"] if RIDES.search(command) else []
        done = subprocess.run(
            [program] + words[1:] + lanes,
            cwd=self.folder, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode != 0:
            sys.exit(f"$ {command}\n{done.stderr}")
        made = set(os.listdir(os.path.join(self.folder, "out")))
        self.wanted |= {os.path.basename(word) for word in words if word.startswith("out/")}
        if made != self.wanted:
            sys.exit(f"$ {command}\nleaves {sorted(made)}, not {sorted(self.wanted)}")
        return done.stdout


def cut_as(shown, output):
    """The output without the lines that are left out where it is shown."""
    if CUT not in shown:
        return output
    before, after = (part.count("\n") for part in shown.split(CUT))
    lines = output.splitlines(keepends=True)
    if before + after >= len(lines):
        return output
    return "".join(lines[:before]) + CUT + "".join(lines[len(lines) - after :])


def renewed(shown, output):
    """What a document is to show: what it shows, where only the time that it took is another."""
    output = cut_as(shown, output)
    return shown if TOOK.sub("", shown) == TOOK.sub("", output) else output


def demand_plan_lines(text):
    """The lines of a plan that the README shows are those of the plan."""
    plan = (ROOT / "scenarios" / "plans" / "drop.toml").read_text(encoding="utf-8").split("\n")
    shown = "".join(PLAN_LINES.findall(text)).split("\n")
    if len(shown) < 3 or set(shown) - set(plan):
        sys.exit(f"not in scenarios/plans/drop.toml: {set(shown) - set(plan)}")


def look_at(document, write):
    text = document.read_text(encoding="utf-8")
    blocks = list(BLOCK.finditer(text))
    if len(blocks) < 2:
        sys.exit(f"{document.name} shows fewer than two examples")
    if document == README:
        demand_plan_lines(text)
    with tempfile.TemporaryDirectory() as folder:
        examples = Examples(folder)
        outputs = [renewed(block["output"], examples.run(block["command"])) for block in blocks]
    if write:
        fresh = iter(outputs)
        document.write_text(
            BLOCK.sub(lambda m: f"```console\n$ {m['command']}\n{next(fresh)}```", text),
            encoding="utf-8",
        )
        return
    for block, output in zip(blocks, outputs):
        if output != block["output"]:
            sys.exit(f"$ {block['command']}\n{document.name}:\n{block['output']}\nnow:\n{output}")


def main():
    for document in DOCUMENTS:
        look_at(document, "--write" in sys.argv)


if __name__ == "__main__":
    main()
