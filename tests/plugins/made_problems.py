"""Random troubleshooting problems, and short ways to write small ones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tubside.diagnosis.solve.problem import (
    NO_COVER,
    Check,
    Cover,
    Floats,
    Goal,
    Problem,
    Remedy,
    Stop,
)


def made_problem(causes: int, checks: int, seed: int, *, poor: bool = False) -> Problem:
    """A perfect remedy for each cause and tests that are good and cheap, or poor and dear.

    Prior Dirichlet(.8) floored at .004, remedies 8-70 and checks 1-9 log-uniform with two to
    four outcomes, a cause shown by half of the checks at 88 % and 94 % normal otherwise;
    poor ones 35 %, 70 % and 2.5 times dearer. Stop 400.
    """
    rng = np.random.default_rng(seed)
    prior = np.maximum(rng.dirichlet(np.full(causes, 0.8)), 0.004)
    prior /= prior.sum()
    shown, hit, normal = (0.35, 0.70, 0.70) if poor else (0.5, 0.88, 0.94)
    made = []
    for t in range(checks):
        k = int(rng.integers(2, 5))
        cost = float(np.exp(rng.uniform(np.log(1), np.log(9)))) * (2.5 if poor else 1.0)
        otherwise = np.append(np.full(k - 1, (1 - normal) / (k - 1)), normal)
        given = np.tile(otherwise, (causes, 1))
        for h in np.flatnonzero(rng.random(causes) < shown):
            row = np.full(k, (1 - hit) / (k - 1))
            row[rng.integers(0, k - 1)] = hit
            given[h] = row
        names = tuple(f"o{i}" for i in range(k))
        made.append(Check(f"t{t}", cost, names, given, otherwise))
    price = np.exp(rng.uniform(np.log(8), np.log(70), causes))
    remedies = [Remedy(f"r{h}", float(price[h]), np.eye(causes)[h]) for h in range(causes)]
    return problem_of(prior, made, remedies, stop=400.0)


def several_causes(causes: int, checks: int, seed: int, doubles: float = 0.08) -> Problem:
    """Independent causes with two-outcome noisy-OR checks and this share of several faults."""
    single = made_problem(causes, checks, seed)
    low, high = 0.0, 1.0
    for _ in range(60):
        odds = single.prior * (low + high) / 2
        none = 1.0 / np.prod(1.0 + odds)
        several = 1.0 - odds.sum() * none / (1.0 - none)
        low, high = ((low + high) / 2, high) if several < doubles else (low, (low + high) / 2)
    made = []
    for check in single.checks:
        good = np.minimum(check.given[:, -1:], check.otherwise[-1])
        rows = np.hstack([1.0 - good, good])
        other = np.array([1.0 - check.otherwise[-1], check.otherwise[-1]])
        made.append(Check(check.name, check.cost, ("bad", "good"), rows, other))
    return problem_of(odds / (1.0 + odds), made, single.remedies, stop=400.0, single=False)


def problem_of(  # noqa: PLR0913 - a problem has these parts
    prior: Sequence[float] | Floats,
    checks: Sequence[Check] = (),
    remedies: Sequence[Remedy] = (),
    *,
    covers: Sequence[Cover] = (),
    stop: float | None = None,
    single: bool = True,
    goal: Goal = "working",
) -> Problem:
    """Return a problem whose causes are called a, b, c ..."""
    names = tuple(f"c{i}" for i in range(len(prior)))
    stops = () if stop is None else (Stop("stop", stop),)
    chances = np.array(prior, dtype=np.float64)
    parts = tuple(checks), tuple(remedies), tuple(covers), stops
    return Problem("", goal, single, names, chances, *parts)


def _behind(rng: np.random.Generator) -> int:
    return 0 if rng.random() < 0.3 else NO_COVER


def tiny_problem(seed: int) -> Problem:
    """Anything that a problem may hold, small: covers, stops, imperfect remedies, pairs."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 4))
    single = bool(rng.integers(2))
    covers = [Cover("lid", float(rng.integers(1, 6)), float(rng.integers(3)))]
    checks = []
    for t in range(int(rng.integers(0, 3))):
        k = int(rng.integers(2, 4)) if single else 2
        other = rng.dirichlet(np.ones(k))
        given = rng.dirichlet(np.full(k, 0.6), size=n)
        if not single:
            good = np.minimum(given[:, 1:], other[1])
            given = np.hstack([1 - good, good])
        names = tuple(f"o{i}" for i in range(k))
        cost = float(rng.integers(0, 5))
        checks.append(Check(f"t{t}", cost, names, given, other, behind=_behind(rng)))
    remedies = []
    for r in range(int(rng.integers(1, 4))):
        clears = rng.choice([0.0, 0.5, 0.9, 1.0], size=n)
        cost, rerun = float(rng.integers(1, 30)), float(rng.integers(0, 3))
        remedies.append(Remedy(f"r{r}", cost, clears, rerun, behind=_behind(rng)))
    prior = rng.dirichlet(np.ones(n)) if single else rng.uniform(0.05, 0.7, n)
    stop = float(rng.integers(20, 90))
    return problem_of(prior, checks, remedies, covers=covers, stop=stop, single=single)
