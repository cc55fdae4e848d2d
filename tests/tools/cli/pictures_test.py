"""What the program draws looks as its reference pictures do, and what a reader would miss is noticed.

Each picture is drawn as PNG, the bench sheet as PDF, and held at half its size against the one of its name in
tests/tools/cli/pictures/. Both are blurred by a pixel, so that letters may be smoothed in
another way; what then still differs must be small, no longer than two or three digits, and little in all.
Where it is more, the picture expected, the one drawn and their difference are put into build/pictures/.

With --write the reference pictures are made anew: look at each before it is committed.
Needs PLUNGE_PROGRAM, the built program, pdftoppm (poppler-utils), SciPy, and Pillow, which comes with
Matplotlib."""

import functools
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

import numpy
import scipy.ndimage
from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parents[3]
REFERENCES = pathlib.Path(__file__).resolve().parent / "pictures"
FAILED = pathlib.Path(os.environ.get("PLUNGE_BUILD", ROOT / "build")) / "pictures"
PROGRAM = os.path.abspath(os.environ.get("PLUNGE_PROGRAM", ROOT / "build" / "plunge"))
SCENES = ROOT / "scenarios" / "scenes"
FORKS = ROOT / "scenarios" / "forks"
RIDER = ROOT / "scenarios" / "riders" / "hazel.toml"
DROP = SCENES / "drop-to-landing.toml"

SCALE = 2  # pixels of a drawn PNG to one of a reference
# All chosen, on the changes of Changes.test_* and on the picture of another machine's letters.
BLUR = 1.2  # pixels
LEVEL = 15.0  # of 255, by which a colour must differ to count
LONGEST = 28  # pixels, of what differs: three digits of 6.5 and the blur around them
JOINED = 7  # pixels across, within which what differs is one
MOST = 600  # pixels in all
NEAR = (8.0, 10.0, 12.0, 14.0)  # of 255, within which a reference has one colour for two

PLAN = f"""
type = "plan"
format = [1, 0]
name = "Kestrel Hollow, spacers, pressure and rebound"
scenes = ["{SCENES / "drop-to-flat.toml"}"]
[[axis]]
name = "fork.spacers"
values = "0..4"
[[axis]]
name = "fork.pressure"
values = "60 psi..80 psi:5 psi"
[[axis]]
name = "fork.rebound.clicks"
values = "2..14:4"
[keep]
metrics = ["travel_max", "travel_use", "hand_force_max"]
"""

# Name: the command without its output, which ends it.
DRAWN = {
    "ride-variants": ["ride", DROP, "--vary", "fork.spacers=0..4", "--hold", "sag=22%", "--plot"],
    "ride-alone": ["ride", SCENES / "braking-bumps.toml", "--plot"],
    "ride-long": ["ride", SCENES / "descent.toml", "--plot"],
    "ride-long-three": ["ride", SCENES / "descent.toml", "--set", "ride.duration=60s", "--vary",
                        "fork.rebound.clicks=2,14,8", "--plot"],
    "curve": ["curve", FORKS / "teasel-150.toml", "--rider", RIDER, "--spacers", "0..4", "--plot"],
    "damper": ["curve", FORKS / "bracken-200.toml", "--damper", "--plot"],
    "compare": ["compare", "a.h5", "b.h5", "--plot"],
    "report": ["sweep", "report", "all.h5", "--plot"],
    "report-front": ["sweep", "report", "all.h5", "--front", "hand_force_max,travel_use:max", "--plot"],
    "report-map": ["sweep", "report", "all.h5", "--map", "travel_max:fork.spacers,fork.pressure",
                   "--plot"],
    "sheet": ["sheet", FORKS / "teasel-150.toml", "--rider", RIDER, "--spacers", "3", "--sag", "22%", "-o"],
}  # fmt: skip
# What they draw from.
BEFORE = [
    ["ride", DROP, "--set", "fork.spacers=0", "-o", "a.h5"],
    ["ride", DROP, "--set", "fork.spacers=3", "--set", "fork.rebound.clicks=12", "-o", "b.h5"],
    ["sweep", "plan.toml", "-o", "out", "--lanes", "portable"],
    ["sweep", "merge", "out", "-o", "all.h5"],
]


def plunge(folder, *arguments):
    done = subprocess.run([PROGRAM, *map(str, arguments)], cwd=folder, capture_output=True,
                          text=True, check=False)  # fmt: skip
    if done.returncode != 0:
        raise AssertionError((arguments, done.stderr))


def halved(picture):
    """Red, green and blue of a picture at half its size, from 0 to 255."""
    pixels = numpy.asarray(picture.convert("RGB"), dtype=float)
    height, width = (side // SCALE * SCALE for side in pixels.shape[:2])
    blocks = pixels[:height, :width].reshape(height // SCALE, SCALE, width // SCALE, SCALE, 3)
    return blocks.mean(axis=(1, 3))


@functools.cache
def drawn(folder, name):
    """The picture of that name as the program draws it now."""
    if name == "sheet":
        plunge(folder, *DRAWN[name], "sheet.pdf", "--replace")
        subprocess.run(["pdftoppm", "-png", "-r", "192", "-singlefile", "sheet.pdf", "sheet"],
                       cwd=folder, check=True)  # fmt: skip
    else:
        plunge(folder, *DRAWN[name], f"{name}.png")
    with Image.open(folder / f"{name}.png") as picture:
        return halved(picture)


def reference(name):
    with Image.open(REFERENCES / f"{name}.png") as picture:
        return numpy.asarray(picture.convert("RGB"), dtype=float)


def image(pixels):
    return Image.fromarray(numpy.clip(numpy.rint(pixels), 0, 255).astype(numpy.uint8))


def difference(expected, got):
    """By how much each pixel differs in the colour that differs most, after the blur."""
    blurred = scipy.ndimage.gaussian_filter(got - expected, (BLUR, BLUR, 0))
    return numpy.abs(blurred).max(axis=2)


def fault(expected, got):
    """What a reader would miss, in words; empty: nothing."""
    if expected.shape != got.shape:
        size = "is {} by {} pixels, not {} by {}"
        return size.format(*(side for pixels in (got, expected) for side in pixels.shape[1::-1]))
    differs = difference(expected, got) > LEVEL
    # What lies within the blur of one another is one.
    joined, _ = scipy.ndimage.label(scipy.ndimage.binary_dilation(differs, numpy.ones((JOINED, JOINED))))
    for place in scipy.ndimage.find_objects(joined):
        down, across = place
        if max(down.stop - down.start, across.stop - across.start) > LONGEST:
            return (f"differs from ({across.start}, {down.start}) "
                    f"to ({across.stop}, {down.stop})")  # fmt: skip
    if differs.sum() > MOST:
        return f"differs in {differs.sum()} pixels"
    return ""


def keep(name, expected, got):
    """Puts what there is to look at into the build folder; says where."""
    FAILED.mkdir(exist_ok=True)
    image(expected).save(FAILED / f"{name}-expected.png")
    image(got).save(FAILED / f"{name}-got.png")
    if expected.shape == got.shape:
        away = 255.0 - numpy.minimum(255.0, 4.0 * difference(expected, got))
        image(numpy.repeat(away[:, :, None], 3, axis=2)).save(FAILED / f"{name}-difference.png")
    return f"{FAILED / name}-expected.png, -got.png, -difference.png"


def prepare(folder):
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    for step in BEFORE:
        plunge(folder, *step)


@functools.cache
def folder_of_all():
    """Where every test of this file draws, made ready once."""
    scratch = tempfile.TemporaryDirectory(prefix="plunge-pictures-")
    unittest.addModuleCleanup(scratch.cleanup)
    prepare(pathlib.Path(scratch.name))
    return pathlib.Path(scratch.name)


class Pictures(unittest.TestCase):
    def test_each_looks_as_its_reference(self):
        for name in DRAWN:
            with self.subTest(name=name):
                expected, got = reference(name), drawn(folder_of_all(), name)
                words = fault(expected, got)
                if words:
                    self.fail(f"{name} {words}: {keep(name, expected, got)}")

    def test_there_is_a_reference_for_each_picture_and_for_no_other(self):
        self.assertEqual(sorted(DRAWN), sorted(path.stem for path in REFERENCES.iterdir()))
        self.assertLess(sum(path.stat().st_size for path in REFERENCES.iterdir()), 600_000)


# Of an SVG of the program: where it is, in pixels of a reference.
LINE = re.compile(r'<path stroke="#(\w{6})" stroke-width="1.5"[^>]* d="(M[^"]*)"')
TEXT = re.compile(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"([^>]*)>([^<]*)</text>')


class Line:
    """A curve of a picture: its colour and the box around it."""

    def __init__(self, colour, path):
        self.colour = numpy.array([int(colour[at : at + 2], 16) for at in (0, 2, 4)], dtype=float)
        x, y, xs, ys = 0.0, 0.0, [], []
        for stroke in path.split("M")[1:]:
            start, *steps = re.split("[lh]", stroke)
            x, y = (float(part) for part in start.split())
            numbers = [float(part) for part in " ".join(steps).split()]
            xs.append(x)
            ys.append(y)
            for right, down in zip(numbers[::2], numbers[1::2]):
                x, y = x + right, y + down
                xs.append(x)
                ys.append(y)
        self.box = (slice(int(min(ys)) - 2, int(max(ys)) + 3), slice(int(min(xs)) - 2, int(max(xs)) + 3))
        self.height = max(ys) - min(ys)

    def cover(self, pixels):
        """How much of each pixel in the box it covers: paper is white, and so is what it is mixed with."""
        part = 255.0 - pixels[self.box]
        ink = 255.0 - self.colour
        cover = numpy.clip((part @ ink) / (ink @ ink), 0.0, 1.0)
        # What is of another colour.
        cover[numpy.abs(part - cover[:, :, None] * ink).max(axis=2) > 40.0] = 0.0
        cover[cover < 0.2] = 0.0
        return cover[:, :, None]


def around(box):
    """A box with what the blur reaches around it."""
    return tuple(slice(max(side.start - 16, 0), side.stop + 16) for side in box)


class Changes(unittest.TestCase):
    """The comparison notices what it is for, and passes what it is to pass."""

    @classmethod
    def setUpClass(cls):
        folder = folder_of_all()
        cls.svg = {}
        cls.png = {}
        for name in ("ride-variants", "curve", "damper", "compare"):
            plunge(folder, *DRAWN[name], f"{name}.svg")
            cls.svg[name] = (folder / f"{name}.svg").read_text(encoding="utf-8")
            cls.png[name] = drawn(folder, name)

    def lines(self, name):
        """Curves that are more than a stretch along an axis."""
        return [line for line in (Line(*found) for found in LINE.findall(self.svg[name]))
                if line.height > 30]  # fmt: skip

    def texts(self, name):
        """Texts of four letters and more with the boxes around them."""
        for x, y, size, more, text in TEXT.findall(self.svg[name]):
            if len(text) < 4 or "rotate" in more:
                continue
            x, y, size = float(x), float(y), float(size)
            # A letter is half as wide as it is high, about.
            width = 0.62 * size * len(text)
            left = x - width * ("end" in more) - 0.5 * width * ("middle" in more)
            yield text, (slice(int(y - size), int(y + 0.4 * size)), slice(max(int(left), 0), int(left + width)))

    def noticed(self, name, got, box):
        box = around(box)
        self.assertNotEqual("", fault(self.png[name][box], got[box]))

    def test_a_curve_that_moved_is_noticed(self):
        for name in self.png:
            found = self.lines(name)
            self.assertGreater(len(found), 1, name)
            for number, line in enumerate(found):
                # By 6 pixels of the picture, 3 of the reference.
                for axis in (0, 1):
                    with self.subTest(name=name, number=number, axis=axis):
                        got = self.png[name].copy()
                        part = got[line.box]
                        cover = line.cover(got)
                        part += cover * (255.0 - line.colour)
                        moved = numpy.roll(cover, 6 // SCALE, axis)
                        part -= moved * (part - line.colour)
                        self.noticed(name, got, line.box)

    def test_a_curve_that_is_missing_or_of_another_colour_is_noticed(self):
        for name in self.png:
            found = self.lines(name)
            others = [line.colour for line in found] + [numpy.array([183.0, 153.0, 9.0])]
            for number, line in enumerate(found):
                cover = line.cover(self.png[name])
                other = max(others, key=lambda colour, line=line: abs(colour - line.colour).max())
                for colour in (numpy.full(3, 255.0), other):
                    with self.subTest(name=name, number=number, colour=colour):
                        got = self.png[name].copy()
                        got[line.box] += cover * (colour - line.colour)
                        self.noticed(name, got, line.box)

    def test_a_text_that_is_missing_or_moved_is_noticed(self):
        for name, before in self.png.items():
            found = list(self.texts(name))
            self.assertGreater(len(found), 4, name)
            for text, box in found:
                with self.subTest(name=name, text=text):
                    got = before.copy()
                    got[box] = 255.0
                    self.noticed(name, got, box)
                    moved = (box[0], slice(box[1].start + 4, box[1].stop + 4))
                    part = got[moved]
                    part[:] = numpy.minimum(part, before[box][:, : part.shape[1]])
                    self.noticed(name, got, box)

    def test_a_picture_of_another_size_is_noticed(self):
        before = self.png["curve"]
        self.assertIn("is 900 by", fault(before, before[:-1]))

    def test_smoother_letters_shifts_of_a_fraction_and_last_digits_pass(self):
        for name, before in self.png.items():
            with self.subTest(name=name):
                for got in (
                    scipy.ndimage.gaussian_filter(before, (0.4, 0.4, 0)),
                    scipy.ndimage.shift(before, (0.15, 0.15, 0), order=1, mode="nearest"),
                    numpy.clip(before + 6.0 * numpy.sin(numpy.arange(before.size)).reshape(before.shape), 0, 255),
                ):
                    self.assertEqual("", fault(before, got))
        # Another last digit: what a digit of the title row covers, taken from its neighbour.
        before = self.png["ride-variants"]
        got = before.copy()
        x, y, size, more, text = next(found for found in TEXT.findall(self.svg["ride-variants"])
                                      if re.fullmatch(r"\d\d\.\d", found[4]) and "end" in found[3])  # fmt: skip
        rows = slice(int(float(y) - float(size)), int(float(y)) + 2)
        digit = 0.57 * float(size)
        last, first = (slice(int(float(x) - at * digit), int(float(x) - at * digit) + 7) for at in (1, 3.5))
        got[rows, last] = before[rows, first]
        self.assertFalse(numpy.array_equal(before, got))
        self.assertEqual("", fault(before, got))


def most_used(colours, near):
    """Of colours in the order of their use those farther than `near` from the ones before."""
    chosen = numpy.empty((0, 3), dtype=int)
    for colour in colours:
        if len(chosen) == 0 or numpy.abs(chosen - colour).max(axis=1).min() > near:
            chosen = numpy.vstack([chosen, colour])
    return chosen


def few_colours(pixels):
    """The picture in 256 colours that it has most of, the others as the nearest of them."""
    height, width, _ = pixels.shape
    steps = numpy.rint(pixels / 4.0).astype(int).reshape(-1, 3)
    found, where, counts = numpy.unique(steps, axis=0, return_inverse=True, return_counts=True)
    found = numpy.minimum(4 * found, 255)
    by_use = found[numpy.argsort(-counts, kind="stable")]
    chosen = next(few for few in (most_used(by_use, near) for near in NEAR) if len(few) <= 256)
    nearest = numpy.abs(found[:, None, :] - chosen[None, :, :]).max(axis=2).argmin(axis=1)
    picture = Image.fromarray(nearest[where].astype(numpy.uint8).reshape(height, width), "P")
    picture.putpalette(chosen.astype(numpy.uint8).tobytes())
    return picture


def write():
    REFERENCES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="plunge-pictures-") as folder:
        folder = pathlib.Path(folder)
        prepare(folder)
        for name in DRAWN:
            few_colours(drawn(folder, name)).save(REFERENCES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    if "--write" in sys.argv:
        write()
    else:
        unittest.main()
