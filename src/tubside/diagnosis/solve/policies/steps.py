"""From the numbers of steps in the arrays back to steps of the problem."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.problem import Floats, Problem
from tubside.diagnosis.solve.state import Step


def step_at(problem: Problem, number: int) -> Step:
    """Return the check or remedy with this number among checks and then remedies."""
    checks = len(problem.checks)
    return Step("check", number) if number < checks else Step("remedy", number - checks)


def stop_step(problem: Problem) -> Step:
    """Return the cheapest stop.

    Raises
    ------
    ValueError
        If there is none: no step is left and the job cannot end.
    """
    if not problem.stops:
        msg = "no step is left that can do something, and there is no stop"
        raise ValueError(msg)
    return Step("stop", int(np.argmin([stop.cost for stop in problem.stops])))


def to_steps(problem: Problem, value: Floats, stop: float) -> list[Step]:
    """Return the cheapest step of each row, or a stop where that is no dearer: value (r, s)."""
    return [
        step_at(problem, int(np.argmin(row)))
        if len(row) and row.min() < stop
        else stop_step(problem)
        for row in value
    ]
