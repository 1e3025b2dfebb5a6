"""A plan as rows to draw, one below the other: what matters most is spelled out, the rest folded.

A remedy has one way on (it still fails), so what follows it stands straight below; what
follows a check's outcomes is indented.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tubside.diagnosis.solve.problem import Check, Problem, Remedy, Stop
from tubside.diagnosis.solve.solution import Plan
from tubside.diagnosis.solve.state import Step

MOST_ROWS = 24
WORKS, STILL_FAILS = "works", "still-fails"


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One step of the plan, or the end of a branch (``name`` empty).

    Parameters
    ----------
    indent : int
        Branching checks above it.
    above : int
        Row of the step it follows, -1 for the first.
    outcome, chance : str, float
        What came of the step above, and its chance there.
    reached : float
        Chance of coming here from the start.
    rest : float
        What this step and all after it cost on average.
    works : float
        Chance that a remedy makes it work.
    folded : int
        Steps below it that are not spelled out, at least.
    """

    indent: int
    above: int
    outcome: str
    chance: float
    reached: float
    kind: str = ""
    name: str = ""
    rest: float = 0.0
    works: float = 0.0
    folded: int = 0


Way = tuple[int, ...]
"""Which branch was taken after each step so far."""


def plan_rows(problem: Problem, plan: Plan, most: int = MOST_ROWS) -> list[PlanRow]:
    """Return at most ``most`` rows, the likeliest branches spelled out first.

    Raises
    ------
    ValueError
        If ``most`` is below 1.
    """
    if most < 1:
        msg = f"a plan cannot be drawn in {most} rows; give it one at least"
        raise ValueError(msg)
    first = PlanRow(0, -1, "", 1.0, 1.0)
    return list(_rows(problem, plan, _opened(plan, most), first))


def _opened(plan: Plan, most: int) -> set[Way]:
    """After which steps it goes on: those likeliest to be reached, while rows last."""
    opened: set[Way] = set()
    rows = 1
    waiting: list[tuple[float, Way, Plan]] = [(-1.0, (), plan)]
    while waiting:
        reached, way, here = heapq.heappop(waiting)
        if not here.branches or rows + len(here.branches) > most:
            continue
        rows += len(here.branches)
        opened.add(way)
        for place, branch in enumerate(here.branches):
            if branch.plan is not None:
                below = (reached * branch.probability, (*way, place), branch.plan)
                heapq.heappush(waiting, below)
    return opened


def _rows(problem: Problem, plan: Plan, opened: set[Way], first: PlanRow) -> Iterator[PlanRow]:
    """Rows of a plan, each step before what follows it."""
    count = 0
    waiting: list[tuple[PlanRow, Way, Plan | None]] = [(first, (), plan)]
    while waiting:
        row, way, here = waiting.pop()
        if here is None:
            yield row
            count += 1
            continue
        told = way in opened
        yield _with_step(problem, row, here, told=told)
        below = [
            (_below(problem, row, here, place, count), (*way, place), branch.plan)
            for place, branch in enumerate(here.branches if told else ())
        ]
        waiting += reversed(below)
        count += 1


def _with_step(problem: Problem, row: PlanRow, plan: Plan, *, told: bool) -> PlanRow:
    kind = plan.step.kind
    fails = sum(branch.probability for branch in plan.branches)
    return replace(
        row,
        kind=kind,
        name=step_name(problem, plan.step),
        rest=plan.expected_cost,
        works=0.0 if kind != "remedy" or (plan.cut and not plan.branches) else 1.0 - fails,
        folded=0 if told else _steps_below(plan),
    )


def _below(problem: Problem, row: PlanRow, plan: Plan, place: int, above: int) -> PlanRow:
    branch = plan.branches[place]
    is_check = plan.step.kind == "check"
    return PlanRow(
        row.indent + is_check,
        above,
        outcome_name(problem, plan.step, branch.outcome),
        branch.probability,
        row.reached * branch.probability,
    )


def _steps_below(plan: Plan) -> int:
    """How many steps the plan holds below this one; at least one where it is cut."""
    below = sum(1 + _steps_below(b.plan) for b in plan.branches if b.plan is not None)
    return below + plan.cut


def step_name(problem: Problem, step: Step) -> str:
    """Return the name of a step as in the file."""
    named: dict[str, Sequence[Check | Remedy | Stop]] = {
        "check": problem.checks,
        "remedy": problem.remedies,
        "stop": problem.stops,
    }
    return named[step.kind][step.index].name


def outcome_name(problem: Problem, step: Step, outcome: int) -> str:
    """Return the name of what came of a step that is followed by another."""
    return problem.checks[step.index].outcomes[outcome] if step.kind == "check" else STILL_FAILS
