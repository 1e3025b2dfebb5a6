"""Travel times from a table that the shop keeps: ``from,to,minutes,km``, one pair a line."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import replace
from io import StringIO

import numpy as np

from tubside.day.problem import KILOMETRE, MINUTE, Floats, Travel
from tubside.errors import Problem, TravelFileError

HEAD = ("from", "to", "minutes", "km")
SHOWN = 20
"""Missing pairs are named up to here."""


def read_travel(text: str, names: Sequence[str], file: str = "travel.csv") -> Travel:
    """Read the travel between all named places, in their order.

    Every ordered pair of different places has its line: there and back may differ. Places
    that are not named are passed over, so one table may serve every day. Names of one place
    that comes twice (start and end) are given twice and need no line between them.

    Parameters
    ----------
    text
        The table, its first line ``from,to,minutes,km``.
    names
        What the places of the day are called in it.
    file
        What to call it in messages.

    Raises
    ------
    TravelFileError
        With every fault and its line.
    """
    problems: list[Problem] = []
    found = _pairs(text, file, problems)
    ordered = dict.fromkeys(names)
    missing = [(a, b) for a in ordered for b in ordered if a != b and (a, b) not in found]
    if not problems:
        problems += [
            Problem(file, 1, f"no line from {a} to {b}", "add one, with minutes and km")
            for a, b in missing[:SHOWN]
        ]
        if len(missing) > SHOWN:
            more = f"{len(missing) - SHOWN} more pairs are missing"
            problems.append(Problem(file, 1, more, "add a line for each"))
    if problems:
        raise TravelFileError(problems)
    return Travel(_table(found, names, 0), _table(found, names, 1), source=file)


def travel_over(
    text: str, names: Sequence[str], otherwise: Travel, file: str = "travel.csv"
) -> tuple[Travel, Floats]:
    """Return the travel of the table where it has it, and another's elsewhere.

    Parameters
    ----------
    text
        The table, as for :func:`read_travel`.
    names
        What the places of the day are called in it, in their order; "" for one without name.
    otherwise
        Travel between the same places, taken for pairs that the table lacks.
    file
        What to call it in messages.

    Returns
    -------
    tuple
        The travel, and (places, places) 1.0 where it is the table's.

    Raises
    ------
    TravelFileError
        With every fault and its line.
    """
    problems: list[Problem] = []
    found = _pairs(text, file, problems)
    if problems:
        raise TravelFileError(problems)
    seconds, metres = otherwise.seconds.copy(), otherwise.metres.copy()
    known = np.zeros_like(seconds)
    for row, a in enumerate(names):
        for column, b in enumerate(names):
            if a and a == b:
                seconds[row, column] = metres[row, column] = 0.0
                known[row, column] = 1.0
            elif (a, b) in found:
                seconds[row, column], metres[row, column] = found[a, b]
                known[row, column] = 1.0
    return replace(otherwise, seconds=seconds, metres=metres), known


def _pairs(
    text: str, file: str, problems: list[Problem]
) -> dict[tuple[str, str], tuple[float, float]]:
    reader = csv.reader(StringIO(text, newline=""), strict=True)
    found: dict[tuple[str, str], tuple[float, float]] = {}
    try:
        head = tuple(cell.strip() for cell in next(reader, []))
        if head != HEAD:
            problems.append(
                Problem(file, 1, "the first line is another", f"write {','.join(HEAD)}")
            )
            return found
        for row in reader:
            if row:
                _take(row, Problem(file, reader.line_num, "", ""), found, problems)
    except csv.Error as error:
        problems.append(Problem(file, reader.line_num, f"{error}", "close every quotation mark"))
    return found


def _take(
    row: list[str],
    where: Problem,
    found: dict[tuple[str, str], tuple[float, float]],
    problems: list[Problem],
) -> None:
    cells = [cell.strip() for cell in row]
    if len(cells) != len(HEAD):
        said, mend = f"{len(cells)} cells", f"write four: {','.join(HEAD)}"
    elif not cells[0] or not cells[1]:
        said, mend = "a place has no name", "name both places"
    elif (cells[0], cells[1]) in found:
        said, mend = f"{cells[0]} to {cells[1]} is there already", "keep one of the lines"
    elif (numbers := _numbers(cells[2:])) is None:
        said, mend = (
            f"{cells[2]!r} and {cells[3]!r} are not minutes and km",
            "write digits with a point, none below nought",
        )
    else:
        found[cells[0], cells[1]] = numbers
        return
    problems.append(Problem(where.file, where.line, said, mend))


def _numbers(cells: list[str]) -> tuple[float, float] | None:
    try:
        minutes, kilometres = (float(cell) for cell in cells)
    except ValueError:
        return None
    if not (math.isfinite(minutes) and math.isfinite(kilometres)) or min(minutes, kilometres) < 0:
        return None
    return minutes * MINUTE, kilometres * KILOMETRE


def _table(
    found: dict[tuple[str, str], tuple[float, float]], names: Sequence[str], which: int
) -> Floats:
    rows = [[0.0 if a == b else found[a, b][which] for b in names] for a in names]
    return np.array(rows, dtype=np.float64).reshape(len(names), len(names))
