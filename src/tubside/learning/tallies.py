"""Counts of one family sorted for learning: by what they speak of, in jobs.

What decided a cause says nothing of itself. So a finding's rows are learned only from jobs
whose cause a remedy or a re-run showed, and a remedy's chance to clear only from jobs whose
cause somebody saw or measured: else a remedy that is called the cure because it cured would
always cure, and of a check that convinces by one outcome only the others would be left.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import TypeVar

from tubside.learning.counts import Counts, Key
from tubside.learning.history import MILLION
from tubside.learning.proposal import Whose

BY_WORKING = frozenset({"re-run", "remedy-worked"})
"""Made sure by what a remedy did: speaks of checks."""
BY_LOOKING = frozenset({"seen", "measured"})
"""Made sure by a look or a reading: speaks of remedies."""

A = TypeVar("A", bound=Hashable)
B = TypeVar("B", bound=Hashable)
Place = tuple[str, str]
Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Tally:
    """Jobs [fractions added] under what they speak of."""

    called: dict[Place, dict[Pair, float]] = field(default_factory=dict)
    """(shop, model) -> (complaint, origin) -> jobs whose cause is certain."""
    unsure: dict[Place, dict[Pair, float]] = field(default_factory=dict)
    """(shop, model) -> (complaint, what was told) -> jobs in doubt."""
    outcomes: dict[Pair, dict[Pair, float]] = field(default_factory=dict)
    """(check, cause) -> (outcome@observer, how made sure) -> jobs."""
    cures: dict[Pair, dict[str, float]] = field(default_factory=dict)
    """(remedy, cause) -> yes or no -> jobs."""
    several: dict[str, dict[str, float]] = field(default_factory=dict)
    """Empty -> yes or no -> jobs."""
    ages: dict[str, dict[int, float]] = field(default_factory=dict)
    """Cause -> whole years -> jobs."""
    minutes: dict[str, dict[int, float]] = field(default_factory=dict)
    """Check or remedy -> minutes -> jobs."""
    prices: dict[str, dict[int, float]] = field(default_factory=dict)
    """Part kind -> cents -> jobs."""
    sure: dict[str, dict[str, float]] = field(default_factory=dict)
    """Cause -> how it was made sure -> jobs."""
    phone: dict[str, dict[str, float]] = field(default_factory=dict)
    """Cause -> yes or no, cleared without a visit -> jobs."""
    callbacks: dict[str, dict[str, float]] = field(default_factory=dict)
    """Cause -> yes or no, a return -> jobs."""
    months: dict[str, dict[str, float]] = field(default_factory=dict)
    """Cause -> year and month -> jobs."""


def tallied(counts: Counts, whose: Whose) -> Tally:
    """The counts of one family.

    Calls are kept for every shop and model; what machines do (outcomes, cures, ages, second
    faults) is taken from all shops; what people do (minutes, prices, phone, callbacks, months)
    only from the shop and model that are named.
    """
    tally = Tally()
    for key, millionths in counts.by_key.items():
        if key.family != whose.family:
            continue
        jobs = millionths / MILLION
        _calls(tally, key, jobs)
        _machines(tally, key, jobs)
        if is_own(key.shop, key.model, whose):
            _people(tally, key, jobs)
    return tally


def is_own(shop: str, model: str, whose: Whose) -> bool:
    """Whether a count belongs to the shop and model that are named."""
    return whose.shop in {"", shop} and whose.model in {"", model}


def by_remedy_only(how: dict[str, float]) -> float:
    """The share of jobs whose cause rests on a remedy that happened to work.

    >>> by_remedy_only({"seen": 3.0, "remedy-worked": 1.0})
    0.25
    """
    total = sum(how.values())
    return how.get("remedy-worked", 0.0) / total if total else 0.0


def _calls(tally: Tally, key: Key, jobs: float) -> None:
    place = (key.shop, key.model)
    if key.what == "cause":
        _add(tally.called, place, (key.of, key.value), jobs)
    elif key.what == "doubt":
        _add(tally.called, place, (key.of, key.value), -jobs)
    elif key.what == "unsure":
        _add(tally.unsure, place, (key.of, key.given), jobs)


def _machines(tally: Tally, key: Key, jobs: float) -> None:
    if key.what == "outcome" and key.sure in BY_WORKING:
        _add(tally.outcomes, (key.of, key.given), (key.value, key.sure), jobs)
    elif key.what == "cure" and key.sure in BY_LOOKING:
        _add(tally.cures, (key.of, key.given), key.value, jobs)
    elif key.what == "age":
        _add(tally.ages, key.of, int(key.value), jobs)
    elif key.what == "several":
        _add(tally.several, "", key.value, jobs)


def _people(tally: Tally, key: Key, jobs: float) -> None:
    words = {
        "sure": tally.sure,
        "phone": tally.phone,
        "callback": tally.callbacks,
        "month": tally.months,
    }
    numbers = {"minutes": tally.minutes, "price": tally.prices}
    if key.what in words:
        _add(words[key.what], key.of, key.value, jobs)
    elif key.what in numbers:
        _add(numbers[key.what], key.of, int(key.value), jobs)


def _add(table: dict[A, dict[B, float]], of: A, what: B, jobs: float) -> None:
    under = table.setdefault(of, {})
    under[what] = under.get(what, 0.0) + jobs
