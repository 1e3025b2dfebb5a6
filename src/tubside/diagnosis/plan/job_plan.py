"""All that is told of the plan of one job, from its facts and the steps advised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.plan.branches import Branch, branches_of
from tubside.diagnosis.plan.choosing import Move
from tubside.diagnosis.plan.loading import Loaded, loaded_parts
from tubside.diagnosis.plan.proof import Certificate, certificate
from tubside.diagnosis.plan.staged import Staged, staged_job
from tubside.diagnosis.plan.stand import at_start
from tubside.diagnosis.plan.turning import Turning, turning
from tubside.diagnosis.plan.walking import Problem, Walked, problem_of, walk_plan
from tubside.diagnosis.situation import Situation
from tubside.pack.fault_model import FaultModel

EFFORT = 240
"""Steps of the plan decided before its cost is told; a second or two on one core."""
RUNNER_UP_EFFORT = 0.4


@dataclass(frozen=True, slots=True)
class Work:
    """How many steps of the plan to decide before telling its cost, and the draws' seed."""

    effort: int = EFFORT
    seed: int = 1


WORK = Work()


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The step that comes second, and what the job costs more with it first [dollars].

    ``error`` is the standard error of the difference, both plans having met the same draws.
    """

    step: Step
    dearer: float
    error: float


@dataclass(frozen=True, slots=True)
class JobPlan:
    """What the advised plan costs and how it may go; chances 0 to 1, money in dollars.

    ``expected`` with its standard ``error`` and the ranges (eight of ten jobs) come from
    walks of the plan: they are estimates, but for ``exact``.
    """

    first: Step
    expected: float
    error: float
    exact: bool
    cost_range: tuple[float, float]
    minutes: float
    minutes_range: tuple[float, float]
    by_phone: float
    this_visit: float
    stopped: float
    proof: Certificate
    runner_up: RunnerUp | None
    turns: Turning | None
    root: Branch
    parts: tuple[Loaded, ...]
    walks: int


def plan_job(
    model: FaultModel,
    evidence: Evidence,
    belief: Belief,
    situation: Situation,
    steps: Sequence[Step],
    work: Work = WORK,
) -> JobPlan | None:
    """The plan that begins with the first of the steps advised; None without any step."""
    if not steps:
        return None
    effort = work.effort
    staged = staged_job(model, evidence, belief, situation)
    problem = problem_of(staged, work.seed)
    first = move_of(staged, steps[0])
    walked = walk_plan(problem, first, effort)
    exact = walked.exact(max(effort // 6, 40))
    proof = certificate(staged, problem.known, walked, exact)
    return JobPlan(
        first=steps[0],
        expected=walked.mean if exact is None else exact,
        error=walked.error if exact is None else 0.0,
        exact=exact is not None,
        cost_range=walked.middle("cost"),
        minutes=float(np.mean([walk.minutes for walk in walked.walks])),
        minutes_range=walked.middle("minutes"),
        by_phone=walked.share("works", [0]),
        this_visit=walked.share("works", [1]),
        stopped=walked.share("stop", range(9)),
        proof=proof,
        runner_up=_runner_up(problem, steps, walked, int(effort * RUNNER_UP_EFFORT)),
        turns=turning(model, evidence, belief, situation, steps),
        root=branches_of(walked.root, len(walked.walks)),
        parts=loaded_parts(staged, walked),
        walks=len(walked.walks),
    )


def move_of(staged: Staged, step: Step) -> Move:
    """A step advised, as a move of the staged problem; ending the job where it has none."""
    if step.kind == "check":
        for number, look in enumerate(staged.looks):
            if look.check == step.index and look.place == staged.place:
                return Move("look", number, step.expected_cost)
    if step.kind in {"remedy", "refer"}:
        for number, way in enumerate(staged.ways):
            here = staged.place in way.places
            if here and (way.kind, way.index) == (step.kind, step.index):
                return _with_parts(staged, number, step)
    return Move(step.kind if step.kind == "visit" else "stop", 0, step.expected_cost)


def _with_parts(staged: Staged, number: int, step: Step) -> Move:
    """A remedy whose parts are not aboard begins with ordering them."""
    missing = staged.ways[number].parts - at_start(staged).aboard
    if missing:
        return Move("order", 0, step.expected_cost, missing)
    return Move("way", number, step.expected_cost)


def _runner_up(
    problem: Problem, steps: Sequence[Step], first: Walked, effort: int
) -> RunnerUp | None:
    """The next step that pays, walked with the same draws as the first."""
    others = [step for step in steps[1:] if step.pays and step.kind not in {"scrap", "return"}]
    if not others:
        return None
    other = walk_plan(problem, move_of(problem.staged, others[0]), effort, len(first.walks), 16)
    count = min(len(other.walks), len(first.walks))
    more = other.beyond()[:count] - first.beyond()[:count]
    error = float(more.std(ddof=1) / np.sqrt(count)) if count > 1 else 0.0
    return RunnerUp(others[0], float(more.mean()), error)
