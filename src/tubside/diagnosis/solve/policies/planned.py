"""Following a plan that was made beforehand, such as the best one that a search found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tubside.diagnosis.solve.policies.following import branches
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Plan
from tubside.diagnosis.solve.state import State, Step, start


@dataclass(frozen=True, slots=True)
class Planned:
    """The plan where it is spelled out, and another policy where it is cut."""

    steps: Mapping[State, Step]
    otherwise: Policy

    @classmethod
    def of(cls, problem: Problem, plan: Plan | None, otherwise: Policy) -> Planned:
        """Go through the plan and note what it does in each state."""
        steps: dict[State, Step] = {}
        waiting = [] if plan is None else [(plan, start(problem))]
        while waiting:
            here, state = waiting.pop()
            if state in steps:
                continue
            steps[state] = here.step
            then = {outcome: after for outcome, _, after in branches(problem, state, here.step)}
            waiting += [(b.plan, then[b.outcome]) for b in here.branches if b.plan is not None]
        return cls(steps, otherwise)

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return the plan's step for each state."""
        unplanned = [state for state in states if state not in self.steps]
        others = iter(self.otherwise.choose(unplanned) if unplanned else [])
        return [self.steps[state] if state in self.steps else next(others) for state in states]
