"""Printed values from the literature, one table per source, and the page that lists them.

A table stands in ``tests/published/<source>.csv`` with the columns

``item``
    what was printed, in our words; unique within the table
``value``, ``tolerance``
    as printed, and half the last printed digit unless a note says why not
``ours``
    what this project computes
``source``, ``page``
    author, title, year; page, section or table
``mark``
    *printed* (the value was read in the source), *recomputed* (the input was read there, the
    value is worked out from it), *second hand* (read in another's account of the source),
    *from memory*, *own* (own numbers for a published rule), or *does not reproduce* (printed,
    and off by more than the tolerance)
``note``
    what else a reader needs
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "published"
MARKS = {"printed", "recomputed", "second hand", "from memory", "own", "does not reproduce"}

HEAD = """\
# Examples checked

Every published value below is computed again by a test in `tests/published/`; the tables it
is read from stand there, one for each source. This page is written from them by
`python tests/plugins/printed.py`, and a test fails when it is out of date.

The marks say how well a value is known: *printed*: read in the source; *recomputed*: the
input was read there and the value worked out from it; *second hand*: read in another's
account of the source; *from memory*: not seen; *own*: own numbers for a published rule;
*does not reproduce*: printed, and off by more than the tolerance. The tolerance is half the
last printed digit, or 1e-09 where the value is exact, unless the note says otherwise.
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One value of a table."""

    table: str
    item: str
    value: float
    tolerance: float
    ours: float
    source: str
    page: str
    mark: str
    note: str

    def __str__(self) -> str:
        return f"{self.table}: {self.item}"


def tables() -> list[str]:
    """Return the names of all tables."""
    return sorted(path.stem for path in FOLDER.glob("*.csv"))


def rows(*names: str) -> list[Row]:
    """Return the rows of the named tables, in order."""
    return [row for name in names for row in _read(name)]


def _read(name: str) -> list[Row]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return [
            Row(
                table=name,
                item=row["item"],
                value=float(row["value"]),
                tolerance=float(row["tolerance"]),
                ours=float(row["ours"]),
                source=row["source"],
                page=row["page"],
                mark=row["mark"],
                note=row["note"],
            )
            for row in csv.DictReader(file)
        ]


def page() -> str:
    """Return the page of all tables, in Markdown."""
    return "\n".join([HEAD, *(_section(rows(name)) for name in tables())])


def _section(found: list[Row]) -> str:
    lines = [f"## {found[0].source}", "", f"Table `{found[0].table}`.", ""]
    lines += ["| value | page | printed | ours | tolerance | mark | note |", "| --- " * 7 + "|"]
    lines += [
        f"| {_cell(row.item)} | {_cell(row.page)} | {row.value:g} | {row.ours:.6g} "
        f"| {row.tolerance:g} | {row.mark} | {_cell(row.note)} |"
        for row in found
    ]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def check(row: Row, ours: float) -> None:
    """Fail unless ``ours`` is what the table says we compute, and near the printed value.

    A value marked as not reproducing must really be off, so that the mark cannot hide a
    value that has come right.
    """
    assert math.isclose(ours, row.ours, rel_tol=1e-6, abs_tol=1e-9), (ours, row.ours)
    near = abs(ours - row.value) <= row.tolerance + 1e-12
    assert near == (row.mark != "does not reproduce"), (ours, row.value, row.tolerance)


if __name__ == "__main__":
    (FOLDER.parents[1] / "docs" / "examples-checked.md").write_text(page(), encoding="utf-8")
