"""A troubleshooting problem as plain arrays (the file format is in docs/solve.md).

Index conventions: ``n`` causes, ``k`` outcomes of a check, worst first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Goal = Literal["working", "identified"]
NO_COVER = -1


@dataclass(frozen=True, slots=True)
class Check:
    """Changes nothing, tells something: P(outcome | one present cause)."""

    name: str
    cost: float
    outcomes: tuple[str, ...]
    given: Floats  # (n, k), rows of causes that are not listed hold ``otherwise``
    otherwise: Floats  # (k,)
    repeatable: bool = False
    behind: int = NO_COVER


@dataclass(frozen=True, slots=True)
class Remedy:
    """Clears each present cause independently; the re-run says surely if any is left."""

    name: str
    cost: float
    clears: Floats  # (n,)
    rerun_cost: float = 0.0
    repeatable: bool = False
    behind: int = NO_COVER


@dataclass(frozen=True, slots=True)
class Cover:
    """``open`` is paid with the first step behind it, and again only after ``close``."""

    name: str
    open: float
    close: float


@dataclass(frozen=True, slots=True)
class Stop:
    """Ends the job for its cost, at any time."""

    name: str
    cost: float


@dataclass(frozen=True, slots=True)
class Problem:
    """Causes with their chances, and what can be done about them.

    With ``single_fault`` exactly one cause is present and ``prior`` sums to one;
    otherwise causes are independent, given that at least one is present.
    """

    title: str
    goal: Goal
    single_fault: bool
    causes: tuple[str, ...]
    prior: Floats  # (n,)
    checks: tuple[Check, ...]
    remedies: tuple[Remedy, ...]
    covers: tuple[Cover, ...]
    stops: tuple[Stop, ...]
