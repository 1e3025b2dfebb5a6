"""Many walks of one plan: what the job costs on average, its range, and how it ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.plan.choosing import Chooser, Move
from tubside.diagnosis.plan.exact import exact_value
from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.staged import Staged, narrowed
from tubside.diagnosis.plan.stand import at_start
from tubside.diagnosis.plan.walk import Draws, Node, Walk, Walker
from tubside.pack.fault_model import Floats

HEAVY_ROWS = 200
LEAST_WALKS = 32
SIDE = 1.2816
"""Standard errors on each side of a mean that hold it eight times of ten."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A staged problem with what is worked out once for all its plans."""

    staged: Staged
    known: Known
    chooser: Chooser
    seed: int


@dataclass(frozen=True, slots=True)
class Walked:
    """What many walks of one plan came to."""

    walker: Walker
    root: Node
    walks: tuple[Walk, ...]
    at_least: float  # mean cost if what is wrong were known [dollars]

    @property
    def mean(self) -> float:
        """Expected cost [dollars], from what the walks cost beyond knowing."""
        return self.at_least + float(self.beyond().mean())

    @property
    def error(self) -> float:
        """Standard error of the mean [dollars]."""
        return float(self.beyond().std(ddof=1) / np.sqrt(len(self.walks)))

    def exact(self, nodes: int) -> float | None:
        """Exact cost of the plan [dollars], None with more than so many stands."""
        return exact_value(self.walker, self.root, nodes)

    def beyond(self) -> Floats:
        """Cost of each walk beyond knowing what is wrong (W,) [dollars]."""
        return np.array([walk.beyond for walk in self.walks])

    def middle(self, of: str) -> tuple[float, float]:
        """The middle eight tenths of cost or minutes."""
        values = [getattr(walk, of) for walk in self.walks]
        low, high = np.quantile(values, [0.1, 0.9])
        return float(low), float(high)

    def share(self, how: str, visits: Sequence[int]) -> float:
        """Share of walks that end so, with so many visits."""
        found = [walk for walk in self.walks if walk.how == how and walk.visits in visits]
        return len(found) / len(self.walks)


def problem_of(staged: Staged, seed: int) -> Problem:
    """Lay out what every plan of a problem needs; ``seed`` is for the walks' draws."""
    heavy = narrowed(staged, HEAVY_ROWS)
    return Problem(staged, Known(staged), Chooser(heavy, Known(heavy)), seed)


def walk_plan(
    problem: Problem, first: Move | None, decisions: int, most: int = 400, least: int = LEAST_WALKS
) -> Walked:
    """Walk a plan until so many steps were decided, or ``most`` walks are done.

    Equal problems, seeds and numbers give equal walks, whatever the machine's speed.
    """
    staged = problem.staged
    walker = Walker(staged, problem.known, problem.chooser)
    root = walker.start(first)
    known = float(problem.known.rows(at_start(staged)) @ staged.weight)
    held = np.cumsum(staged.weight)
    walks: list[Walk] = []
    while len(walks) < least or (walker.decisions < decisions and len(walks) < most):
        row = int(np.searchsorted(held, spread(len(walks) + 1) * held[-1]))
        walks.append(walker.walk(root, row, _draws(problem, len(walks))))
    return Walked(walker, root, tuple(walks), known)


def spread(number: int) -> float:
    """The number-th of points that fill 0 to 1 evenly, however many are taken.

    References
    ----------
    J. G. van der Corput, "Verteilungsfunktionen", Proc. Ned. Akad. v. Wet. 38, 1935,
    813-821 (base two; from memory).

    Examples
    --------
    >>> [spread(n) for n in (1, 2, 3, 4)]
    [0.5, 0.25, 0.75, 0.125]
    """
    value, part = 0.0, 0.5
    while number:
        value += part * (number & 1)
        number, part = number >> 1, part / 2.0
    return value


def _draws(problem: Problem, walk: int) -> Draws:
    staged = problem.staged
    rng = np.random.default_rng([problem.seed, walk])
    width = 2 + staged.member.shape[1]
    return Draws(rng.random(len(staged.looks)), rng.random((len(staged.ways), width)))
