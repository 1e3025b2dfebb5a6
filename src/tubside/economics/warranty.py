"""Whether a return still falls under what the shop promised: by dates alone.

A shop answers for its work and for the parts for different times. A day is covered up to
and with the last one. What the law gives the customer stands above any of this.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

LABOUR_DAYS, PART_DAYS = 90, 365
"""What a shop promises where it says nothing else: work 30 to 90 days, parts 90 days to a
year (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Terms:
    """Days on work and on parts, from the day on which the job was closed."""

    labour_days: int = LABOUR_DAYS
    part_days: int = PART_DAYS


@dataclass(frozen=True, slots=True)
class Cover:
    """The last day on which each is covered, and whether a day is."""

    labour_until: date
    part_until: date
    labour: bool
    part: bool


def cover(closed: date, terms: Terms, day: date) -> Cover:
    """What is covered on a day, of a job closed on another.

    Examples
    --------
    >>> found = cover(date(2026, 3, 2), Terms(90, 365), date(2026, 6, 1))
    >>> found.labour_until.isoformat(), found.labour, found.part
    ('2026-05-31', False, True)
    """
    labour = closed + timedelta(days=terms.labour_days)
    part = closed + timedelta(days=terms.part_days)
    return Cover(labour, part, closed <= day <= labour, closed <= day <= part)
