"""Sealing, unsealing and changing HDF5 files of plunge, for tests that play foul."""

import ctypes
import os
import random
import struct

SEAL = b"plunge check sum 2 "
SEAL_SIZE = len(SEAL) + 34
PRIME = 2**61 - 1
BASE = 0x0FE1F3B5A7C9D2E5


def check_sum(part):
    """As scenarios/results.md has it: the words of four bytes, each times a power of its place."""
    words = struct.unpack(f"<{(len(part) + 3) // 4}I", part + bytes(-len(part) % 4))
    total = 0
    for word in reversed(words):
        total = (total * BASE + word) % PRIME
    return total


def sealed(part):
    return part + SEAL + f"{len(part):016x} {check_sum(part):016x}\n".encode()


def part_of(path):
    """The HDF5 part of a sealed file."""
    whole = path.read_bytes()
    assert whole[-SEAL_SIZE:].startswith(SEAL)
    return whole[:-SEAL_SIZE]


def mutated(part, dice):
    """The part with one kind of damage, mostly near its beginning, where the structure is."""
    data = bytearray(part)
    size = len(data)

    def place():
        return dice.randrange(size if dice.random() < 0.4 else min(size, 20_000))

    kind = dice.choice(("bit", "byte", "int", "cut", "copy", "zero", "splice", "many"))
    at = place()
    if kind == "bit":
        data[at] ^= 1 << dice.randrange(8)
    elif kind == "byte":
        data[at] = dice.choice((0, 1, 0x7F, 0x80, 0xFF, dice.randrange(256)))
    elif kind == "int":
        number = dice.choice((0, 1, 0xFFFFFFFF, 0x7FFFFFFF, 0x80000000, dice.getrandbits(32)))
        data[at & ~3 : (at & ~3) + 4] = struct.pack("<I", number)
    elif kind == "cut":
        del data[at:]
    elif kind == "copy":
        start = place()
        data[at : at + 64] = data[start : start + 64]
    elif kind == "zero":
        length = dice.choice((8, 512, 4096))
        data[at : at + length] = bytes(min(length, size - at))
    elif kind == "splice":
        data[at : at + 8] = struct.pack("<Q", place())
    else:
        for _ in range(dice.randrange(2, 30)):
            data[place()] ^= 1 << dice.randrange(8)
    return bytes(data[:size])


def mutations(part, count, seed):
    dice = random.Random(seed)
    while count > 0:
        other = mutated(part, dice)
        if other != part:
            count -= 1
            yield other


class Watch:
    """Tells whether files were opened, by whatever process."""

    IN_OPEN = 0x20

    def __init__(self, paths):
        libc = ctypes.CDLL(None, use_errno=True)
        self.queue = libc.inotify_init1(os.O_NONBLOCK | os.O_CLOEXEC)
        assert self.queue >= 0, os.strerror(ctypes.get_errno())
        for path in paths:
            watched = libc.inotify_add_watch(self.queue, os.fsencode(path), self.IN_OPEN)
            assert watched >= 0, os.strerror(ctypes.get_errno())

    def opened(self):
        try:
            return len(os.read(self.queue, 65536)) > 0
        except BlockingIOError:
            return False

    def close(self):
        os.close(self.queue)
