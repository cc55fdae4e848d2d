"""The table of outside checks (record.hpp says what a line is): record() adds to it from Python,
and run as a program this prints the file that PLUNGE_CHECK_TABLE names."""

import os


def record(check, source, expected, got, tolerance):
    """Adds a line, and raises AssertionError where |got - expected| <= tolerance does not hold."""
    table = os.environ.get("PLUNGE_CHECK_TABLE")
    if table:
        with open(table, "a", encoding="utf-8") as file:
            file.write(f"{check}\t{source}\t{expected!r}\t{got!r}\t{tolerance!r}\n")
    if not abs(got - expected) <= tolerance:
        raise AssertionError(f"{check} ({source}): {got!r}, not {expected!r} +- {tolerance!r}")


def lines_of(text):
    """The printed table: aligned columns, one line for each check, sorted by name."""
    rows = []
    for line in sorted(set(text.splitlines())):
        check, source, *numbers = line.split("\t")
        expected, got, tolerance = (float(number) for number in numbers)
        holds = "ok" if abs(got - expected) <= tolerance else "FAILED"
        rows.append(
            [check, source, f"{expected:.9g}", f"{got:.9g}", f"{got - expected:+.1e}",
             f"{tolerance:.1e}", holds]
        )
    rows.insert(0, ["outside check", "source", "expected", "plunge", "difference", "allowed", ""])
    widths = [max(len(row[column]) for row in rows) for column in range(7)]
    for row in rows:
        cells = [
            cell.ljust(width) if column < 2 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths))
        ]
        yield "  ".join(cells).rstrip()


if __name__ == "__main__":
    with open(os.environ["PLUNGE_CHECK_TABLE"], encoding="utf-8") as table_file:
        for printed in lines_of(table_file.read()):
            print(printed)
