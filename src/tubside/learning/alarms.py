"""Causes and models that are suddenly met more often than the shop's own shares let expect.

Each month the cumulative sum that is to find a doubling is held against what it would be if the
jobs met so far had come in any order (:mod:`tubside.learning.rises`): exact for any share and for
months that are unlike, so that a busy month is no alarm. In a month in which nothing changed all
watches of a family together alarm with a chance of one in ``QUIET_MONTHS`` at most. A month knows
nothing of those after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tubside.errors import HistoryError
from tubside.learning.counts import Counts
from tubside.learning.drift import poisson_run_length, watch
from tubside.learning.proposal import Whose
from tubside.learning.rises import Cells, chance_of_rise, level
from tubside.learning.tables import Tables, tables_of
from tubside.learning.tallies import tallied
from tubside.learning.worth import USUAL, Worth
from tubside.pack.schema import Pack

QUIET_MONTHS = 24.0
RATIO = 2.0
LEAST_MET = 3.0
"""A cause met less often than that in all is not watched."""
LEAST_OF_MODEL = 20.0
LEAST_MONTHS = 3


@dataclass(frozen=True, slots=True)
class Alarm:
    """A cause, of one model where that is named, above expectation since a month."""

    cause: str
    model: str
    since: str
    at: str
    met: float
    """Jobs from ``since`` to ``at``."""
    expected: float
    false_alarm_months: float
    """Months between alarms without cause, on average and at least, of this watch alone."""
    months_to_find: float | None
    """How soon a doubling would be found, on average, were the share known: it takes longer where
    it is learned. None where no sum is so quiet."""


@dataclass(frozen=True, slots=True)
class _Row:
    """Whole jobs by month, and those of them with the cause."""

    jobs: tuple[int, ...]
    met: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Watching:
    """One cause, of one model where that is named; ``beside`` are all other models."""

    cause: str
    model: str
    own: _Row
    beside: _Row

    def until(self, end: int) -> Cells:
        """What was known after so many months."""
        own, beside = self.own, self.beside
        return Cells(own.jobs[:end], own.met[:end], sum(beside.jobs[:end]), sum(beside.met[:end]))


def alarms(  # whose counts, and how often they are looked at
    counts: Counts,
    pack: Pack,
    whose: Whose | None = None,
    *,
    last: int | None = None,
    looks: int = 1,
    worth: Worth = USUAL,
) -> tuple[Alarm, ...]:
    """Every alarm, in the month in which it began.

    A cause of the whole shop is held against the months before; one of a single model against
    these and against all other models, so that a model alone can stand out.

    Parameters
    ----------
    last : int, optional
        Only those that began in the last so many months.
    looks : int
        How often a month is looked at, with as much as was counted by then.
    """
    whose = whose or Whose(pack.family)
    tables = tables_of(pack)
    names = months_between(tallied(counts, whose).months)
    watching = list(_watching(tables, counts, whose, names))
    quiet = QUIET_MONTHS * len(watching)
    found = [
        _alarm(tables, one, names[:end], quiet, worth)
        for one in watching
        for end in _began(one, quiet * looks, len(names), last)
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.model, one.cause)))


def _watching(
    tables: Tables, counts: Counts, whose: Whose, names: Sequence[str]
) -> Iterator[_Watching]:
    """Every cause that was met often enough, in all and by model."""
    months = tallied(counts, whose).months
    every = _rows(months, names)
    models = sorted({key.model for key in counts.by_key if key.family == whose.family})
    for model in ("", *filter(None, models if len(models) > 1 else ())):
        own = months
        if model:
            own = tallied(counts, Whose(whose.family, whose.shop, model)).months
        for cause, row in _rows(own, names).items():
            enough = not model or sum(row.jobs) >= LEAST_OF_MODEL
            if enough and sum(row.met) >= LEAST_MET and tables.origin(cause) >= 0:
                yield _Watching(cause, model, row, _others(every[cause], row))


def _rows(months: Mapping[str, Mapping[str, float]], names: Sequence[str]) -> dict[str, _Row]:
    """Cause -> its row; no month has fewer jobs than jobs with the cause, whatever is rounded."""
    jobs = _whole([sum(met.get(name, 0.0) for met in months.values()) for name in names])
    rows = {}
    for cause, told in months.items():
        met = _whole([told.get(name, 0.0) for name in names])
        rows[cause] = _Row(tuple(map(max, jobs, met)), met)
    return rows


def _others(every: _Row, own: _Row) -> _Row:
    met = tuple(max(a - b, 0) for a, b in zip(every.met, own.met, strict=True))
    jobs = tuple(max(a - b, 0) for a, b in zip(every.jobs, own.jobs, strict=True))
    return _Row(tuple(map(max, jobs, met)), met)


def _began(one: _Watching, quiet: float, size: int, last: int | None) -> Iterator[int]:
    """After how many months it was too high for chance, and was not a month before."""
    start = size - last if last is not None else 0
    before = False
    for end in range(max(start, LEAST_MONTHS), size + 1):
        cells = one.until(end)
        high = chance_of_rise(cells, RATIO, 1.0 / quiet) <= 1.0 / quiet
        if high and not before and end > start:
            yield end
        before = high


def _alarm(
    tables: Tables, one: _Watching, names: Sequence[str], quiet: float, worth: Worth
) -> Alarm:
    cells = one.until(len(names))
    since = level(cells, RATIO).since
    jobs, met = sum(cells.jobs[since:]), sum(cells.met[since:])
    every, all_met = cells.every
    said = float(tables.weights[tables.origin(one.cause)])
    share = (worth.weights * said + all_met - met) / (worth.weights + every - jobs)
    usual = share * sum(cells.jobs) / len(names)
    return Alarm(
        cause=one.cause,
        model=one.model,
        since=names[since],
        at=names[-1],
        met=float(met),
        expected=share * jobs,
        false_alarm_months=quiet,
        months_to_find=_months_to_find(float(f"{usual:.2g}"), float(f"{quiet:.3g}")),
    )


def _whole(jobs: Sequence[float]) -> tuple[int, ...]:
    """Jobs by month as whole numbers: what is left of jobs in doubt goes on to the next month.

    >>> _whole([1.4, 0.4, 1.0])
    (1, 1, 1)
    """
    upto = np.floor(np.cumsum(jobs) + 0.5)
    return tuple(int(step) for step in np.diff(upto, prepend=0.0))


def months_between(months: Mapping[str, Mapping[str, float]]) -> list[str]:
    """Every month from the first to the last that is counted, those without a job too.

    >>> months_between({"belt": {"2026-11": 1.0}, "motor": {"2027-01": 1.0}})
    ['2026-11', '2026-12', '2027-01']
    """
    met = sorted({name for table in months.values() for name in table})
    if not met:
        return []
    first, last = (12 * int(name[:4]) + int(name[5:]) - 1 for name in (met[0], met[-1]))
    return [f"{month // 12:04}-{month % 12 + 1:02}" for month in range(first, last + 1)]


@lru_cache(maxsize=256)
def _months_to_find(mean: float, quiet: float) -> float | None:
    """How long a sum for a known share, as quiet as this one, runs until a doubling is found."""
    try:
        told = watch(mean, RATIO, quiet)
    except HistoryError:
        return None
    return poisson_run_length(RATIO * mean, told.reference, told.limit)
