"""A list of old jobs in a file: its encoding, separator and columns found, its rows as texts."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from io import StringIO

from tubside.errors import HistoryError

LARGEST, MOST_LINES = 20_000_000, 200_000
SEPARATORS: Mapping[str, str] = {";": "semicolon", ",": "comma", "\t": "tab", "|": "bar"}
LOOKED_AT, LONG = 30, 5000
"""So many lines tell the separator, by so many letters of each."""
SPREADSHEETS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How the files of spreadsheets begin, new and old."""


@dataclass(frozen=True, slots=True)
class OldList:
    """What a file holds: how it is written, its columns, and each row with its line."""

    encoding: str
    separator: str
    """Its name: semicolon, comma, tab or bar."""
    columns: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]


def read_old_list(content: bytes) -> OldList:
    """Read a table with a first line of names.

    Raises
    ------
    HistoryError
        When it is too large, no table, or has two columns of one name; with what to do.
    """
    if len(content) > LARGEST:
        msg = "the list has more than 20 million bytes; bring it in year by year"
        raise HistoryError(msg)
    _check_kind(content)
    encoding, text = _decoded(content)
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        msg = f"line {line} holds what is no text; save the list as CSV again"
        raise HistoryError(msg)
    first, text = _said_first(text)
    separator = _separator(text)
    names, rows = _cells(text, separator, first)
    if not rows or len(rows) > MOST_LINES:
        msg = f"the list has {len(rows)} rows below its first line; bring 1 to {MOST_LINES} at once"
        raise HistoryError(msg)
    return OldList(
        encoding, SEPARATORS[separator], tuple(name for name in names if name), tuple(rows)
    )


def lines_alike(sheet: OldList) -> tuple[int, ...]:
    """Lines that say in every column what one before them says: typed or exported twice, maybe."""
    seen: set[tuple[str, ...]] = set()
    found = []
    for line, row in sheet.rows:
        told = tuple(row.values())
        if told in seen:
            found.append(line)
        seen.add(told)
    return tuple(found)


def _check_kind(content: bytes) -> None:
    """Refuse a spreadsheet's own file, whatever it is called."""
    if content.startswith(SPREADSHEETS):
        msg = "this is a spreadsheet's own file, not CSV; open it there and save it as CSV"
        raise HistoryError(msg)


def _said_first(text: str) -> tuple[int, str]:
    """How many lines come before the names: one where a spreadsheet says the separator."""
    start, _, rest = text.partition("\n")
    if re.fullmatch(r"sep=.\r?", start, re.IGNORECASE):
        return 1, rest
    return 0, text


def _cells(
    text: str, separator: str, before: int
) -> tuple[list[str], list[tuple[int, dict[str, str]]]]:
    """The names, and the rows below them with their lines; quotes that are never closed fail."""
    table = csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, dict[str, str]]] = []
    line = before + 1
    try:
        names = [" ".join(cell.split()) for cell in next(table, [])]
        _check(names)
        line = before + table.line_num + 1
        for cells in table:
            told = [" ".join(cell.split()) for cell in cells]
            if any(told):
                row = dict(zip(names, told, strict=False))
                rows.append((line, {name: row.get(name, "") for name in names}))
            line = before + table.line_num + 1
    except csv.Error as wrong:
        msg = f"line {line} cannot be read: {wrong}; mend it, or save the list as CSV again"
        raise HistoryError(msg) from None
    return names, rows


def _decoded(content: bytes) -> tuple[str, str]:
    """The name of the encoding, and the text."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        tries = [("utf-16", "utf-16")]
    elif content[1:200:2].count(0) > len(content[1:200:2]) // 2:
        tries = [("utf-16", "utf-16-le")]
    else:
        tries = [("utf-8", "utf-8-sig"), ("cp1252", "cp1252")]
    for name, codec in tries:
        try:
            return name, content.decode(codec)
        except UnicodeDecodeError:
            continue
    msg = "the list is neither in UTF-8, UTF-16 nor Windows-1252; save it as CSV in UTF-8"
    raise HistoryError(msg)


def _separator(text: str) -> str:
    """The one that parts most lines into as many cells as the first, and into most."""
    lines = [line[:LONG] for line in text[: LOOKED_AT * LONG].splitlines()[:LOOKED_AT]]

    def goodness(mark: str) -> tuple[int, int]:
        widths = [len(cells) for cells in csv.reader(lines, delimiter=mark) if cells]
        common = Counter(widths).most_common(1)
        width = widths[0] if widths else 0
        return (sum(w == width for w in widths) if common and width > 1 else 0, width)

    return max(SEPARATORS, key=goodness)


def _check(names: list[str]) -> None:
    named = [name for name in names if name]
    if len(named) < 2:
        msg = "the first line does not name two columns or more; a line of names comes first"
        raise HistoryError(msg)
    twice = [name for name, times in Counter(named).items() if times > 1]
    if twice:
        msg = f"two columns are called {twice[0]!a}; give each a name of its own"
        raise HistoryError(msg)
