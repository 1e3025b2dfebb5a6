"""How long steps took at a machine, from the moments of their facts.

A step lasts from the fact before it, arriving included, to its own. It is left out where
another phone wrote the fact before, where both were written at once (the day told in the
evening), and where the gap is too long for one step.
"""

from __future__ import annotations

from collections.abc import Sequence

from tubside.service.coding import NOT_DONE
from tubside.service.records import (
    CheckDone,
    ConditionAsked,
    Place,
    ReadingDone,
    RemedyDone,
)
from tubside.service.views import Entry

SHORTEST, LONGEST = 0.5, 180.0
"""[minutes]; common practice, no source."""

_TIMED = Place | CheckDone | ReadingDone | RemedyDone | ConditionAsked


def minutes_at_machine(entries: Sequence[Entry]) -> dict[str, int]:
    """Check or remedy -> whole minutes of its last time at the machine, of those that can be told.

    Parameters
    ----------
    entries : sequence of Entry
        Of one job, in their order.
    """
    found: dict[str, int] = {}
    before: Entry | None = None
    for entry in entries:
        body = entry.body
        if entry.retracted_by is not None or entry.doubtful or not isinstance(body, _TIMED):
            continue
        step = _step(body)
        if before is not None and step is not None and before.device == entry.device:
            minutes = (entry.at - before.at).total_seconds() / 60.0
            if SHORTEST <= minutes <= LONGEST:
                found[step] = max(round(minutes), 1)
        if isinstance(body, Place):
            before = entry if body.where == "site" else None
        elif before is not None:
            before = entry
    return found


def _step(body: _TIMED) -> str | None:
    """The step that a fact ended, if it was one of a pack that was done."""
    match body:
        case CheckDone() | ReadingDone():
            return body.check
        case RemedyDone() if body.outcome not in NOT_DONE:
            return body.remedy
        case _:
            return None
