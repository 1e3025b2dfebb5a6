"""Days as old lists write them: year first, or day and month in either order."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Literal

Order = Literal["day-month", "month-day"]
ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
PARTS = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?!\d)")
LAST_OF_CENTURY = 69
"""Years of two digits from here on are of the century before, as POSIX has it."""


def day_of(text: str, order: Order) -> date | None:
    """The day of a text, a time behind it left out.

    >>> day_of("2.3.2024", "day-month"), day_of("3/2/24 10:15", "month-day")
    (datetime.date(2024, 3, 2), datetime.date(2024, 3, 2))
    >>> day_of("31.12.99", "day-month"), day_of("31.2.2024", "day-month")
    (datetime.date(1999, 12, 31), None)
    """
    if found := ISO.match(text):
        year, month, day = (int(part) for part in found.groups())
    elif found := PARTS.match(text):
        first, second, year = (int(part) for part in found.groups())
        day, month = (first, second) if order == "day-month" else (second, first)
        if year < 100:
            year += 1900 if year >= LAST_OF_CENTURY else 2000
    else:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def order_of(texts: Iterable[str]) -> Order | None:
    """Whether the day or the month stands first, where some date tells; None where none does.

    >>> order_of(["2/3/2024", "2/13/2024"]), order_of(["2/3/2024"])
    ('month-day', None)
    """
    for text in texts:
        if found := PARTS.match(text):
            first, second = int(found[1]), int(found[2])
            if first > 12 >= second:
                return "day-month"
            if second > 12 >= first:
                return "month-day"
    return None
