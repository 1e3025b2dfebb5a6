"""Every plan of a tiny troubleshooting problem tried out: slow, plain, and nothing shared."""

from __future__ import annotations

from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import (
    State,
    Step,
    after_check,
    after_remedy,
    is_done,
    open_steps,
    start,
    step_cost,
)

NEVER = 1e-13


def best_cost(problem: Problem) -> float:
    """Return the expected cost of the best plan of a problem without repeatable steps."""
    kept: dict[State, float] = {}

    def best(state: State) -> float:
        if is_done(problem, state):
            return 0.0
        if state not in kept:
            kept[state] = min(cost(state, step) for step in open_steps(problem, state))
        return kept[state]

    def cost(state: State, step: Step) -> float:
        return step_cost(problem, state, step) + sum(
            chance * best(then) for chance, then in outcomes(problem, state, step)
        )

    return best(start(problem))


def outcomes(problem: Problem, state: State, step: Step) -> list[tuple[float, State]]:
    """Return chance and state of each outcome that can come and goes on."""
    found: list[tuple[float, State]] = []
    if step.kind == "check":
        count = len(problem.checks[step.index].outcomes)
        found = [after_check(problem, state, step.index, o) for o in range(count)]
    elif step.kind == "remedy":
        found = [after_remedy(problem, state, step.index)]
    return [(chance, then) for chance, then in found if chance > NEVER]
