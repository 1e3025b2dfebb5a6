"""Serial numbers compared: in runs of digits and runs of letters, from left to right."""

from __future__ import annotations

import re

_RUN = re.compile(r"[0-9]+|[^\W\d_]+")
HOW = (
    "Serial numbers are compared run by run from the left, digits as numbers and letters by the "
    "alphabet; spaces, hyphens and capitals do not count. Two with letters and digits in "
    "different places cannot be compared."
)


def runs(serial: str) -> tuple[int | str, ...]:
    """The runs of digits (as numbers) and of letters (in small letters) of a serial number.

    >>> runs("B 0042-ab7")
    ('b', 42, 'ab', 7)
    """
    found = _RUN.findall(serial)
    return tuple(int(run) if run.isdigit() else run.casefold() for run in found)


def compared(one: str, other: str) -> int | None:
    """-1, 0 or 1 as ``one`` is before, at or after ``other``; None where it cannot be said.

    It cannot where a letter would stand against a digit, where one ends before they
    differ, or where one has neither letters nor digits.

    Examples
    --------
    >>> compared("A99", "A100"), compared("a-7", "A 7"), compared("A7", "77")
    (-1, 0, None)
    """
    here, there = runs(one), runs(other)
    if not here or not there:
        return None
    for mine, yours in zip(here, there, strict=False):
        if type(mine) is not type(yours):
            return None
        if mine != yours:
            return -1 if _before(mine, yours) else 1
    return 0 if len(here) == len(there) else None


def _before(one: int | str, other: int | str) -> bool:
    if isinstance(one, int) and isinstance(other, int):
        return one < other
    return str(one) < str(other)


def within(serial: str, low: str | None, high: str | None) -> bool | None:
    """Whether a serial number lies in a range, its ends counted; None where unknown.

    >>> within("A150", "A100", "A200"), within("A50", "A100", None), within("B?", "7", None)
    (True, False, None)
    """
    told = True
    for end, side in ((low, -1), (high, 1)):
        order = None if end is None else compared(serial, end)
        if order == side:
            return False
        if end is not None and order is None:
            told = False
    return True if told else None
