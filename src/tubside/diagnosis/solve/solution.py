"""What solving a problem gives: a plan, what it costs, and how far it may be from the best."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.solve.state import Step


@dataclass(frozen=True, slots=True)
class Branch:
    """What may come of a step: outcome index of a check, 0 for a re-run that still fails.

    ``probability`` is from the step before, not from the start. ``plan`` is None where the
    job is done: the machine works, or the cause is identified.
    """

    outcome: int
    probability: float
    plan: Plan | None


@dataclass(frozen=True, slots=True)
class Plan:
    """A step, what it and all after it are expected to cost, and what may come of it.

    Of a remedy only the failing re-run is a branch; the rest of its chance is a machine that
    works. ``cut`` says that the plan goes on but is not spelled out: its end is too unlikely,
    or it repeats.
    """

    step: Step
    expected_cost: float
    branches: tuple[Branch, ...] = ()
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Solution:
    """A plan between proven bounds.

    ``expected_cost`` is what ``plan`` costs, ``upper_bound`` the same with what the sets
    left out may add, ``lower_bound`` what no plan can go below. ``gap`` is
    (upper - lower) / upper, 0 where upper is 0. ``exact`` says that they meet to 1e-9.
    ``plan`` and ``first_step`` are None where the goal is reached at the start.
    """

    expected_cost: float
    lower_bound: float
    upper_bound: float
    gap: float
    exact: bool
    first_step: Step | None
    plan: Plan | None
    seconds: float
    states: int
