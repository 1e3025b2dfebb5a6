"""A log of shaking from a file: any separator, decimal comma or point, any order of columns."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.shake.log_words import (
    SHOWN,
    Column,
    column_of,
    pull_name,
    pull_unit,
    roles_without_words,
    time_unit,
)
from tubside.recordings.shake.stamps import mended

Array = NDArray[np.float64]
LARGEST = 16 * 2**20
"""Bytes."""
MOST_ROWS = 400_000
FEWEST_ROWS, SHORTEST_S, LONGEST_S = 30, 0.8, 3600.0
SEPARATORS = (";", "\t", "|", ",", None)
MISSING = ("", "nan", "null", "none", "na", "-")
CLOCK = re.compile(r"(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d+)?)")
WANTED = "a log has a heading such as time,x,y,z and one line for each sample"


@dataclass(frozen=True, slots=True)
class ShakeLog:
    """Times [s] from 0 shape (n,), accelerations [m/s²] shape (n, axes), NaN where missing.

    ``units`` says in words how the numbers were taken, ``notes`` what was mended.
    """

    times_s: Array
    axes: Array
    names: tuple[str, ...]
    units: str
    notes: tuple[str, ...]

    @property
    def rate_hz(self) -> float:
        """Samples a second, gaps left out of account."""
        return float(1.0 / np.median(np.diff(self.times_s)))


def read_log(path: Path, name: str = "") -> ShakeLog:
    """Read a log; ``name`` is what the file is called in errors.

    Raises
    ------
    RecordingError
        Naming file and line of what cannot be read.
    """
    if path.stat().st_size > LARGEST:
        msg = f"{name or path.name}: more than {LARGEST // 2**20} MiB; send one push alone"
        raise RecordingError(msg)
    return parse_log(path.read_bytes(), name or path.name)


def parse_log(content: bytes, name: str = "log.csv") -> ShakeLog:
    r"""Like :func:`read_log`, from bytes.

    >>> rows = b"".join(b"%d;0,0;9,8;%d,1\n" % (10 * n, n % 2) for n in range(100))
    >>> log = parse_log(b"t (ms);x;y;z\n" + rows)
    >>> log.units, log.names, round(log.rate_hz)
    ('time in ms, acceleration in m/s² (guessed)', ('x', 'y', 'z'), 100)
    """
    lines = _text(content, name).splitlines()
    first, cells = _table(lines, name)
    separator, comma, columns = cells
    heading = _heading(lines[:first], separator, columns)
    table = _numbers(lines, first, cells, name)
    return _log(table, heading, f"{name}:{first + 1}", comma=comma)


def _text(content: bytes, name: str) -> str:
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return content.decode("utf-16", errors="replace")
    if b"\x00" in content[:4096]:
        msg = f"{name} is no text; {WANTED}"
        raise RecordingError(msg)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


Cells = tuple[str | None, bool, int]
"""Separator, whether a comma is the decimal point, number of columns."""


def _table(lines: Sequence[str], name: str) -> tuple[int, Cells]:
    """Where the rows of numbers begin, and how they are written."""
    for number, line in enumerate(lines[:200]):
        for separator in SEPARATORS:
            for comma in (False, True):
                cells = _cells(line, separator)
                ahead = [_cells(one, separator) for one in lines[number + 1 : number + 9]]
                alike = [one for one in ahead if len(one) == len(cells)]
                if (
                    len(cells) >= 2
                    and len(alike) >= 5
                    and all(_is_row(one, comma=comma) for one in [cells, *alike])
                ):
                    later = separator != "," and any("," in one for one in lines[number:])
                    return number, (separator, comma or later, len(cells))
    where = next((n for n, line in enumerate(lines, 1) if line.strip()), 1)
    msg = f"{name}:{where}: no rows of numbers begin here or below; {WANTED}"
    raise RecordingError(msg)


def _cells(line: str, separator: str | None) -> list[str]:
    if separator is None:
        return line.split()
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]
    cells = [cell.strip() for cell in line.split(separator)]
    return cells[:-1] if len(cells) > 2 and not cells[-1] else cells


def _is_row(cells: Sequence[str], *, comma: bool) -> bool:
    found = [_number(cell, comma=comma) for cell in cells]
    return None not in found and sum(value == value for value in found) >= 2  # noqa: PLR0124  # not NaN


def _number(cell: str, *, comma: bool) -> float | None:
    """A cell as a number, NaN where it is missing, None where it is none."""
    text = cell.strip('"')
    if text.casefold() in MISSING:
        return float("nan")
    if comma:
        if "." in text and "," not in text and not text[:4].isdigit():
            return None
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        return _moment(text)
    return value if abs(value) < 1e300 else None


def _moment(text: str) -> float | None:
    """A date with time, or a time of the day, in seconds."""
    clock = CLOCK.fullmatch(text)
    if clock is not None:
        seconds = float(clock[3].replace(",", "."))
        return 3600.0 * int(clock[1]) + 60.0 * int(clock[2]) + seconds
    if len(text) < 16 or not text[:4].isdigit():
        return None
    try:
        return datetime.fromisoformat(text).timestamp()
    except ValueError:
        return None


def _heading(above: Sequence[str], separator: str | None, columns: int) -> list[Column]:
    """The columns as the nearest line above names them; [] where none does."""
    for line in reversed(above):
        cells = _cells(line.lstrip("#% "), separator)
        if len(cells) >= columns and any(column_of(cell).role for cell in cells):
            return [column_of(cell) for cell in cells[:columns]]
    return []


def _numbers(lines: Sequence[str], first: int, cells: Cells, name: str) -> Array:
    """All rows; empty lines are passed over, a last line cut short is left out."""
    separator, comma, columns = cells
    last = max(n for n, line in enumerate(lines) if line.strip())
    if last - first > MOST_ROWS:
        msg = f"{name}:{first + MOST_ROWS}: more than {MOST_ROWS} rows; send one push alone"
        raise RecordingError(msg)
    rows: list[list[float]] = []
    for number in range(first, last + 1):
        if not lines[number].strip():
            continue
        found = _cells(lines[number], separator)
        values = [_number(cell, comma=comma) for cell in found]
        if number == last and (len(found) < columns or None in values):
            break
        if len(found) < columns:
            msg = f"{name}:{number + 1}: {len(found)} columns in place of {columns}; {WANTED}"
            raise RecordingError(msg)
        if None in values[:columns]:
            wrong = found[values.index(None)][:40]
            msg = f"{name}:{number + 1}: '{wrong}' is no number; {WANTED}"
            raise RecordingError(msg)
        rows.append([float("nan") if value is None else value for value in values[:columns]])
    return np.array(rows)


def _log(table: Array, heading: Sequence[Column], where: str, *, comma: bool) -> ShakeLog:
    roles = [column.role for column in heading] or list(roles_without_words(table))
    if "time" not in roles:
        msg = f"{where}: no column rises like a time; {WANTED}"
        raise RecordingError(msg)
    names = tuple(axis for axis in "xyz" if axis in roles)
    if not names:
        msg = f"{where}: no column is called x, y or z; {WANTED}"
        raise RecordingError(msg)
    table = table[np.isfinite(table[:, roles.index("time")])]
    stamps, axes = table[:, roles.index("time")], table[:, [roles.index(a) for a in names]]
    told = {column.role: column.unit for column in heading}
    seconds = told.get("time") or time_unit(stamps)
    if not seconds:
        msg = f"{where}: the steps between the stamps fit no unit of time; {WANTED}"
        raise RecordingError(msg)
    pull, guessed = told.get(names[0]), ""
    shown = pull_name(pull) if pull else ""
    if pull is None:
        pull, shown = pull_unit(axes[np.isfinite(axes).all(axis=1)])
        guessed = " (guessed)"
    units = f"time in {SHOWN[seconds]}{'' if told.get('time') else ' (guessed)'}"
    found = mended(stamps * seconds, axes * pull)
    _check(found.times_s, where)
    notes = list(found.notes)
    if missing := int((~np.isfinite(axes)).any(axis=1).sum()):
        notes.append(f"{missing} samples missing")
    if comma:
        notes.append("decimal commas")
    units = f"{units}, acceleration in {shown}{guessed}"
    return ShakeLog(found.times_s, found.axes, names, units, tuple(notes))


def _check(times_s: Array, where: str) -> None:
    length = float(times_s[-1])
    if len(times_s) < FEWEST_ROWS or length < SHORTEST_S:
        msg = f"{where}: only {len(times_s)} samples in {length:.2g} s; record for ten seconds"
        raise RecordingError(msg)
    if length > LONGEST_S:
        msg = f"{where}: the log lasts {length / 3600.0:.1f} hours; send one push alone"
        raise RecordingError(msg)
    if 1.0 / float(np.median(np.diff(times_s))) < 10.0:
        msg = f"{where}: fewer than 10 samples a second; record with the phone's fastest setting"
        raise RecordingError(msg)
