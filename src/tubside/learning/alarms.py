"""Causes and models that are suddenly met more often than the shop's own shares let expect.

Months are watched by a cumulative sum (:mod:`tubside.learning.drift`) that is to find a doubling.
A month's reference grows with the jobs closed in it, so that a busy month is no alarm; limits
are worked out for an average month, so the run without cause is as stated where months are alike.
All watches of a shop together alarm without cause at most about once in ``QUIET_MONTHS`` months:
rarer, as a rise also lifts the share that is expected.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tubside.errors import HistoryError
from tubside.learning.calls import learned_calls
from tubside.learning.counts import Counts
from tubside.learning.drift import Watch, watch, watched
from tubside.learning.proposal import Whose
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
    """Months between alarms without cause, on average, of this watch alone."""


def alarms(
    counts: Counts, pack: Pack, whose: Whose | None = None, worth: Worth = USUAL
) -> tuple[Alarm, ...]:
    """Every alarm up to the last month counted, each watch's first one.

    Shares are expected as learned from all these counts; those of each model as of the whole
    shop, so that a model alone can stand out.
    """
    whose = whose or Whose(pack.family)
    tables = tables_of(pack)
    tally = tallied(counts, whose)
    weights = learned_calls(tables, tally, whose, worth).weights
    tables_by_model = {"": tally.months}
    models = sorted({key.model for key in counts.by_key if key.family == whose.family})
    for model in filter(None, models if len(models) > 1 else ()):
        months = tallied(counts, Whose(whose.family, whose.shop, model)).months
        if sum(sum(month.values()) for month in months.values()) >= LEAST_OF_MODEL:
            tables_by_model[model] = months
    watching = [
        (model, cause)
        for model, months in tables_by_model.items()
        for cause, met in months.items()
        if sum(met.values()) >= LEAST_MET and tables.origin(cause) >= 0
    ]
    run = QUIET_MONTHS * max(len(watching), 1)
    found = [
        alarm
        for model, cause in watching
        for alarm in _watched(tables, tables_by_model[model], (model, cause), weights, run)
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.model, one.cause)))


def _watched(
    tables: Tables,
    months: Mapping[str, Mapping[str, float]],
    who: tuple[str, str],
    weights: np.ndarray,
    run: float,
) -> Iterator[Alarm]:
    model, cause = who
    names = months_between(months)
    jobs = np.array([sum(met.get(name, 0.0) for met in months.values()) for name in names])
    if len(names) < LEAST_MONTHS:
        return
    expected = float(weights[tables.origin(cause)]) * jobs
    told = _watch(float(f"{expected.mean():.2g}"), float(f"{run:.3g}"))
    if told is None:
        return
    met = np.array([months[cause].get(name, 0.0) for name in names])
    busy = told.reference * (expected / expected.mean() - 1.0)
    seen = watched((met - busy).tolist(), told)
    if seen.alarm is not None and seen.since is not None:
        risen = slice(seen.since, seen.alarm + 1)
        yield Alarm(
            cause,
            model,
            names[seen.since],
            names[seen.alarm],
            float(met[risen].sum()),
            float(expected[risen].sum()),
            told.run_length,
        )


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
def _watch(mean: float, run: float) -> Watch | None:
    """The watch of so many a month; None where none can be so quiet."""
    try:
        return watch(mean, RATIO, run)
    except HistoryError:
        return None
