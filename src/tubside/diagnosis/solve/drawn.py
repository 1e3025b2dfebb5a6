"""Random problems of stated kinds, to hold policies and bounds against.

All numbers are invented to span what is met: good cheap checks or poor dear ones,
remedies that always help or may fail, covers, and stops that are worth taking. A
problem is a pure function of its kind, its sizes and its seed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.solve.problem import NO_COVER, Check, Cover, Floats, Problem, Remedy, Stop

LEAST_CHANCE = 0.004
DIGITS = 6
REMEDY_COST = (8.0, 70.0)
CHECK_COST = (1.0, 9.0)
OPENING = (3.0, 12.0)


@dataclass(frozen=True, slots=True)
class Kind:
    """How problems are drawn.

    Parameters
    ----------
    shows : float
        Chance that a cause shows on a check.
    shown, normal : float
        Chance of a cause's own outcome where it shows, and of the last one otherwise.
    check_cost : float
        Factor on what checks cost.
    fallible : float
        Share of remedies that may fail, with a chance of success drawn from 0.6-0.95.
    pairs : float
        Share of remedies that clear a second cause too.
    covers : int
        Covers; half of all steps lie behind one of them.
    stop : float
        Cost of ending the job.
    """

    shows: float = 0.5
    shown: float = 0.88
    normal: float = 0.94
    check_cost: float = 1.0
    fallible: float = 0.0
    pairs: float = 0.0
    covers: int = 0
    stop: float = 400.0


GOOD = Kind()
POOR = Kind(shows=0.35, shown=0.7, normal=0.7, check_cost=2.5)
ROUGH = {"fallible": 0.5, "pairs": 0.3, "covers": 2, "stop": 120.0}
KINDS = {
    "good": GOOD,
    "poor": POOR,
    "good-rough": replace(GOOD, **ROUGH),  # type: ignore[arg-type]  # floats and one int
    "poor-rough": replace(POOR, **ROUGH),  # type: ignore[arg-type]
}
"""Good cheap checks or poor dear ones; ``rough`` with fallible remedies, covers, a near stop."""


def draw(kind: Kind, causes: int, checks: int, seed: int, *, single_fault: bool = True) -> Problem:
    """Return the problem of this kind, with one remedy for each cause.

    Causes have chances from a Dirichlet distribution of concentration 0.8, none
    below 0.004, of six digits; as independent causes they keep these chances, scaled so that two or
    more are there in about one call of twelve. Costs are drawn log-uniformly.

    Examples
    --------
    >>> problem = draw(GOOD, causes=3, checks=2, seed=1)
    >>> len(problem.remedies), len(problem.checks), problem.stops[0].cost
    (3, 2, 400.0)
    """
    rng = np.random.default_rng(seed)
    prior = _shares(np.maximum(rng.dirichlet(np.full(causes, 0.8)), LEAST_CHANCE))
    remedies = tuple(_remedy(rng, kind, cause, causes) for cause in range(causes))
    drawn = tuple(_check(rng, kind, number, causes) for number in range(checks))
    openings = [_log_uniform(rng, OPENING) for _ in range(kind.covers)]
    return Problem(
        f"drawn with seed {seed}",
        "working",
        single_fault,
        tuple(f"c{i + 1}" for i in range(causes)),
        prior if single_fault else _independent(prior),
        drawn,
        remedies,
        tuple(Cover(f"cover{i + 1}", cost, 0.0) for i, cost in enumerate(openings)),
        (Stop("refer", kind.stop),),
    )


def _shares(weights: Floats) -> Floats:
    """Few digits, so that a problem is the same on every machine; the largest takes the rest."""
    prior = np.round(weights / weights.sum(), DIGITS)
    largest = prior.argmax()
    prior[largest] = round(prior[largest] + 1.0 - prior.sum(), DIGITS)
    return np.asarray(prior)


def _independent(prior: Floats) -> Floats:
    """Chances of independent causes of which two or more are there in 1 call of 12."""
    low, high = 0.0, 1.0
    for _ in range(60):
        scale = (low + high) / 2
        none = np.prod(1 - scale * prior)
        one = none * (scale * prior / (1 - scale * prior)).sum()
        several = (1 - none - one) / (1 - none)
        low, high = (scale, high) if several < 1 / 12 else (low, scale)
    return np.round(scale * prior, DIGITS)


def _log_uniform(rng: np.random.Generator, between: tuple[float, float]) -> float:
    """A cost with one decimal."""
    low, high = np.log(between)
    return round(float(np.exp(rng.uniform(low, high))), 1)


def _behind(rng: np.random.Generator, kind: Kind) -> int:
    if not kind.covers or rng.random() < 0.5:
        return NO_COVER
    return int(rng.integers(kind.covers))


def _remedy(rng: np.random.Generator, kind: Kind, cause: int, causes: int) -> Remedy:
    clears = np.zeros(causes)
    if rng.random() < kind.pairs and causes > 1:
        second = (cause + int(rng.integers(1, causes))) % causes
        clears[second] = round(float(rng.uniform(0.6, 1.0)), 2)
    clears[cause] = (
        1.0 if rng.random() >= kind.fallible else round(float(rng.uniform(0.6, 0.95)), 2)
    )
    cost = _log_uniform(rng, REMEDY_COST)
    return Remedy(f"r{cause + 1}", cost, clears, behind=_behind(rng, kind))


def _check(rng: np.random.Generator, kind: Kind, number: int, causes: int) -> Check:
    count = int(rng.integers(2, 5))
    otherwise = _row(count, count - 1, kind.normal)
    rows = [
        _row(count, int(rng.integers(count - 1)), kind.shown)
        if rng.random() < kind.shows
        else otherwise
        for _ in range(causes)
    ]
    names = (*(f"o{i + 1}" for i in range(count - 1)), "normal")
    cost = round(_log_uniform(rng, CHECK_COST) * kind.check_cost, 2)
    return Check(
        f"k{number + 1}", cost, names, np.array(rows), otherwise, behind=_behind(rng, kind)
    )


def _row(count: int, likeliest: int, chance: float) -> Floats:
    row = np.full(count, (1 - chance) / (count - 1))
    row[likeliest] = chance
    return row
