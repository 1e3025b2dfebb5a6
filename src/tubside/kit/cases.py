"""Equal cases counted once: which needs there are, and which of them compete for units.

Jobs meet only where two of them need the same part in one scenario. All others are alone,
and alone with the same need they are one case whatever the job or the scenario.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from tubside.kit.problem import Bools, Day, Floats, Ints

Need = tuple[tuple[int, int], ...]
"""(part, units) by part."""


@dataclass(frozen=True, slots=True)
class Case:
    """Jobs that compete for units, as they are visited: what each needs, what its end saves."""

    needs: tuple[Need, ...]
    saved: tuple[float, ...]


def cases_of(day: Day) -> tuple[list[Case], float]:
    """The cases of a day, and the money saved by jobs that need no part [money].

    Jobs that cannot be served by any kit are left out.
    """
    saved = day.saved()
    possible: Bools = np.asarray((day.needs <= day.loading.most).all(axis=2))
    nothing = float((saved * ~day.needs.any(axis=2)).sum())
    total: dict[tuple[Need, ...], Floats] = {}
    for scenario in range(day.needs.shape[1]):
        for jobs in _competing(day.needs[:, scenario], possible[:, scenario]):
            key = tuple(_need(day.needs[job, scenario]) for job in jobs)
            gain = saved[jobs, scenario]
            total[key] = total[key] + gain if key in total else gain
    return [Case(key, tuple(map(float, gain))) for key, gain in total.items()], nothing


def _need(units: Ints) -> Need:
    return tuple((int(part), int(units[part])) for part in np.flatnonzero(units))


def _competing(needs: Ints, useful: Bools) -> list[list[int]]:
    """Groups of jobs bound together by parts that more than one of them needs."""
    group = {int(job): {int(job)} for job in np.flatnonzero(useful & needs.any(axis=1))}
    wanted: defaultdict[int, list[int]] = defaultdict(list)
    for job in group:
        for part in np.flatnonzero(needs[job]):
            wanted[int(part)].append(job)
    for jobs in wanted.values():
        joined = set().union(*(group[job] for job in jobs))
        for job in joined:
            group[job] = joined
    return [sorted(jobs) for jobs in {min(jobs): jobs for jobs in group.values()}.values()]
