"""A troubleshooting problem solved, or a policy held against what is proven of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Literal, get_args

import numpy as np

from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.plan_drawing import figure, percent, plan_svg
from tubside.diagnosis.solve.plan_rows import WORKS, outcome_name, step_name
from tubside.diagnosis.solve.policies import PolicyName, policy_of
from tubside.diagnosis.solve.policies.following import (
    MOST_STATES,
    TooManyStatesError,
    follow,
    plan_from,
    plan_of,
)
from tubside.diagnosis.solve.policies.sampling import Hurry, sample
from tubside.diagnosis.solve.policies.value import value_of_followed
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Plan, Solution
from tubside.diagnosis.solve.state import start
from tubside.errors import Problem as Wrong
from tubside.errors import ProblemFileError

Choice = Literal["exact", "advised", "pc", "cheapest", "likeliest", "informative"]
CHOICES: tuple[Choice, ...] = get_args(Choice)
SECONDS = 10.0
"""Time without a limit from outside, in which the first compile is not counted."""
SEARCHED, FOLLOWED = 0.4, 0.7
"""Shares of the time after which the search ends that a policy is held against, and after
which it is no longer followed through every state, but jobs are drawn."""
LEAST_DRAWN = 0.02
"""A sampled plan is told no further where it is reached with less chance than this."""
TOLD_APART = 1e-3
MEET = 1e-9
"""Bounds nearer than this share are one."""

Told = Callable[[float, float, int], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """What following a plan costs, and what is proven of it.

    Parameters
    ----------
    expected_cost : float
        What the plan costs on average.
    lower_bound : float
        No plan costs less; proven.
    upper_bound, gap : float, optional
        What this plan costs at most, and (upper - lower) / upper; None where that rests on
        samples, or on the likeliest sets of causes alone.
    exact : bool
        Whether it is proven that no plan is cheaper.
    plan : Plan, optional
        None where the goal is reached at the start.
    half_width : float
        Half of the 95 % interval of a cost that was sampled, else 0.
    jobs : int
        Jobs that were drawn for that.
    hurried : bool
        Whether time ran out on them, so that they were ended by chance over cost.
    """

    problem: Problem
    policy: Choice
    expected_cost: float
    lower_bound: float
    upper_bound: float | None
    gap: float | None
    exact: bool
    plan: Plan | None
    seconds: float
    half_width: float = 0.0
    jobs: int = 0
    hurried: bool = False

    @property
    def first_step(self) -> str | None:
        """Name of what to do first."""
        return None if self.plan is None else step_name(self.problem, self.plan.step)


def solve_problem(
    problem: Problem,
    policy: Choice = "exact",
    seconds: float | None = None,
    seed: int = 0,
    told: Told | None = None,
    compiling: Callable[[], None] | None = None,
) -> Answer:
    """Return the best plan that is found, or what a policy's plan costs.

    Parameters
    ----------
    problem : Problem
        As read by :func:`tubside.diagnosis.solve.problem_file.read_problem`.
    policy : str
        ``exact`` searches the best plan; the others are followed and held against what
        the search proves.
    seconds : float, optional
        Time for all of it by the clock on the wall [s]; about a second more may pass. A
        policy shares it with the search that it is held against. Left out: 10, and on top
        of it what numba takes to compile for the first time.
    seed : int
        For what is sampled; the same seed gives the same numbers.
    told : callable, optional
        Called now and then with the bounds found so far and how many states were seen.
    compiling : callable, optional
        Called where the loops are about to be compiled for the first time.
    """
    begun = perf_counter()
    limit = SECONDS if seconds is None else seconds
    told_first = (compiling or _silent) if seconds is None else None
    share = 1.0 if policy == "exact" else SEARCHED
    found = solve(problem, seconds=share * limit, progress=told, compiling=told_first)
    if policy == "exact":
        return _searched(problem, found, perf_counter() - begun)
    late = max(0.0, perf_counter() - begun - share * limit)
    clock = _Clock(begun, begun + late, limit)
    return _followed(problem, policy, found, clock, seed)


def _silent() -> None:
    """Nobody wants to be told of the first compile."""


def _searched(problem: Problem, found: Solution, seconds: float) -> Answer:
    bounded = math.isfinite(found.upper_bound)  # with sets left out, repeats may have no end
    return Answer(
        problem,
        "exact",
        found.expected_cost,
        found.lower_bound,
        found.upper_bound if bounded else None,
        found.gap if bounded else None,
        found.exact,
        found.plan,
        seconds,
    )


@dataclass(frozen=True, slots=True)
class _Clock:
    """When the whole began, the same without what was compiled, and how long it may take [s]."""

    start: float
    counted: float
    seconds: float

    def time_is_left(self, share: float = 1.0) -> bool:
        return perf_counter() < self.counted + share * self.seconds


def _followed(
    problem: Problem, choice: Choice, found: Solution, clock: _Clock, seed: int
) -> Answer:
    """The plan of a policy, its cost exact where every state can be gone through in time."""
    name: PolicyName = choice if choice != "exact" else "advised"
    tables = start(problem).tables
    policy = policy_of(name, problem, tables)
    plan: Plan | None
    try:
        followed = follow(problem, policy, MOST_STATES, lambda: clock.time_is_left(FOLLOWED))
        value = value_of_followed(problem, followed)
        plan = plan_of(problem, followed, going=clock.time_is_left)
    except TooManyStatesError:
        hurry = Hurry(clock.time_is_left, policy_of("pc", problem, tables))
        drawn = sample(problem, policy, np.random.default_rng(seed), hurry=hurry)
        value, plan = drawn.value, plan_from(problem, drawn.made, LEAST_DRAWN)
    proven = not value.sampled and not tables.sets.left_out
    low = min(found.lower_bound, value.cost) if proven else found.lower_bound
    gap = (value.cost - low) / value.cost if value.cost else 0.0
    return Answer(
        problem,
        choice,
        value.cost,
        low,
        value.cost if proven else None,
        gap if proven else None,
        proven and gap <= MEET,
        plan,
        perf_counter() - clock.start,
        value.half_width,
        value.jobs,
        value.hurried,
    )


def as_data(answer: Answer) -> dict[str, object]:
    """Return an answer as plain data: the documented JSON of ``tubside solve``."""
    return {
        "expected_cost": answer.expected_cost,
        "lower_bound": answer.lower_bound,
        "upper_bound": answer.upper_bound,
        "gap": answer.gap,
        "exact": answer.exact,
        "first_step": answer.first_step,
        "plan": None if answer.plan is None else _tree(answer.problem, answer.plan),
        "seconds": answer.seconds,
    }


def _tree(problem: Problem, plan: Plan) -> dict[str, object]:
    """A step with, for each outcome by its name, the plan that follows; null: the job is done."""
    tree: dict[str, object] = {
        "step": step_name(problem, plan.step),
        "expected_cost": plan.expected_cost,
    }
    if plan.cut:
        return {**tree, "outcomes": {}, "cut": True}
    below: dict[str, object] = {WORKS: None} if plan.step.kind == "remedy" else {}
    for branch in plan.branches:
        then = branch.plan
        name = outcome_name(problem, plan.step, branch.outcome)
        below[name] = None if then is None else _tree(problem, then)
    return {**tree, "outcomes": below}


def proven_words(answer: Answer) -> list[str]:
    """Say what the plan costs, and what is proven of it, in two sentences."""
    cost = figure(answer.expected_cost)
    below = f"Proven: no plan costs less than {figure(answer.lower_bound)} on average"
    if answer.plan is None:
        return ["Nothing is to be done: the goal is reached."]
    if answer.exact:
        return [f"Costs {cost} on average.", "Proven: no plan is cheaper."]
    if answer.gap is not None:
        cheaper = f"none is more than {percent(answer.gap)} cheaper"
        return [f"Costs {cost} on average{_at_most(answer)}.", f"{below}, so {cheaper}."]
    if answer.half_width:
        spread = f"give or take {figure(answer.half_width)} (95 %)"
        return [
            f"Costs about {cost} on average, {spread}: {_drawn_words(answer)}.",
            f"{below}.",
        ]
    kept = "an estimate over the likeliest sets of causes"
    return [f"Costs about {cost} on average: {kept}.", f"{below}."]


def _drawn_words(answer: Answer) -> str:
    """What an estimate rests on."""
    rest = f"an estimate from {answer.jobs} drawn jobs"
    return f"{rest}, ended by chance over cost because time ran out" if answer.hurried else rest


def _at_most(answer: Answer) -> str:
    """What the sets of causes that were left out may add."""
    upper = answer.upper_bound
    if upper is None or upper <= answer.expected_cost * (1 + TOLD_APART):
        return ""
    return f", at most {figure(upper)} with the rarest sets of causes"


def draw_plan(answer: Answer, path: Path) -> None:
    """Write the plan as a drawing.

    Raises
    ------
    ProblemFileError
        If the file cannot be written.
    """
    drawing = plan_svg(answer.problem, answer.plan, proven_words(answer))
    try:
        path.write_text(drawing, encoding="utf-8")
    except OSError as wrong:
        what = f"cannot be written ({wrong.strerror or wrong})"
        place = Wrong(str(path), 1, what, "name a file in a folder that you may write to")
        raise ProblemFileError([place]) from wrong
