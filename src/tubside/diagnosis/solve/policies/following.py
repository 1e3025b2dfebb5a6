"""Following a policy through every state that it meets, and the plan that this gives."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tubside.diagnosis.solve.growing import Limits, Spread, grow
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Plan
from tubside.diagnosis.solve.state import (
    State,
    Step,
    after_check,
    after_remedy,
    is_done,
    start,
    step_cost,
)

UNLIKELY = 1e-12
"""A state reached with less chance than this is not followed: the job is ended there."""
MOST_STATES = 100_000
MOST_AT_ONCE, WORK_AT_ONCE = 256, 30_000
"""States asked for at once, fewer in large problems, so that the clock is looked at often."""
SPELLED_OUT = 1e-4
"""A plan is told no further where it is reached with less chance than this."""


class TooManyStatesError(Exception):
    """The policy meets more states than may be gone through; internal, never shown."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a policy does in a state, and what may come of it."""

    step: Step
    cost: float
    branches: tuple[tuple[int, float, State], ...]


@dataclass(frozen=True, slots=True)
class Followed:
    """Every state that a policy meets, step by step: its chance and what is done there."""

    levels: tuple[Mapping[State, tuple[float, Choice]], ...]
    states: int
    not_followed: float

    @property
    def cost(self) -> float:
        """Expected cost of all steps."""
        return sum(p * choice.cost for level in self.levels for p, choice in level.values())


def follow(
    problem: Problem,
    policy: Policy,
    most_states: int = MOST_STATES,
    keep_going: Callable[[], bool] = lambda: True,
) -> Followed:
    """Go through every state that the policy can meet, asking ``keep_going`` now and then.

    Raises
    ------
    TooManyStatesError
        If there are more than ``most_states``, or ``keep_going`` says no.
    """
    now: dict[State, float] = {start(problem): 1.0}
    levels: list[Mapping[State, tuple[float, Choice]]] = []
    lost, states, count = 0.0, 0, at_once(problem)
    while now:
        met = [state for state in now if not is_done(problem, state)]
        states += len(met)
        level: dict[State, tuple[float, Choice]] = {}
        for part in range(0, len(met), count):
            if states > most_states or not keep_going():
                raise TooManyStatesError
            made = choices(problem, policy, met[part : part + count])
            level |= {state: (now[state], choice) for state, choice in made.items()}
        levels.append(level)
        now, less = _onward(problem, level)
        lost += less
    return Followed(tuple(levels), states, lost)


def at_once(problem: Problem) -> int:
    """Return for how many states a policy is asked at once."""
    steps = len(problem.checks) + len(problem.remedies)
    size = max(1, steps * steps * len(problem.causes))
    return max(1, min(WORK_AT_ONCE // size, MOST_AT_ONCE))


def _onward(
    problem: Problem, level: Mapping[State, tuple[float, Choice]]
) -> tuple[dict[State, float], float]:
    """States after these with their chances, and the chance of those too unlikely to follow."""
    later: dict[State, float] = {}
    lost = 0.0
    for reached, choice in level.values():
        for _, chance, then in choice.branches:
            if reached * chance > UNLIKELY:
                later[then] = later.get(then, 0.0) + reached * chance
            elif not is_done(problem, then):
                lost += reached * chance
    return later, lost


def ending(problem: Problem) -> float:
    """Return the cost of the cheapest stop, 0 without one."""
    return min((stop.cost for stop in problem.stops), default=0.0)


def choices(problem: Problem, policy: Policy, states: list[State]) -> Mapping[State, Choice]:
    """Return what the policy does in each of these states."""
    if not states:
        return {}
    steps = policy.choose(states)
    return {
        state: Choice(step, step_cost(problem, state, step), branches(problem, state, step))
        for state, step in zip(states, steps, strict=True)
    }


def branches(problem: Problem, state: State, step: Step) -> tuple[tuple[int, float, State], ...]:
    """Return outcome, chance and state of what can come of a step and goes on."""
    if step.kind == "stop":
        return ()
    if step.kind == "remedy":
        found = [(0, *after_remedy(problem, state, step.index))]
    else:
        count = len(problem.checks[step.index].outcomes)
        found = [(o, *after_check(problem, state, step.index, o)) for o in range(count)]
    return tuple(branch for branch in found if branch[1] > 0)


Made = Mapping[State, tuple[Choice, float]]
"""What is done in a state, and what that and all after it cost."""


def plan_of(
    problem: Problem,
    followed: Followed,
    least: float = SPELLED_OUT,
    going: Callable[[], bool] = lambda: True,
) -> Plan | None:
    """Return what was followed as a tree, cut where it is reached with less than ``least``.

    None where the goal is reached at the start.
    """
    made: dict[State, tuple[Choice, float]] = {}
    for level in reversed(followed.levels):
        for state, (_, choice) in level.items():
            rest = sum(p * _rest(problem, made, then) for _, p, then in choice.branches)
            made[state] = choice, choice.cost + rest
    return plan_from(problem, made, least, going)


def plan_from(
    problem: Problem, made: Made, least: float, going: Callable[[], bool] = lambda: True
) -> Plan | None:
    """Return a tree from what is done in each state, cut where it is unlikely or not known."""
    first = start(problem)
    if is_done(problem, first):
        return None

    def look(state: State) -> Spread[State] | Plan:
        choice, cost = made[state]
        ways = tuple(
            (outcome, p, None if is_done(problem, then) else then)
            for outcome, p, then in choice.branches
        )
        if any(then is not None and then not in made for _, _, then in ways):
            return cut(state)
        return Spread(choice.step, cost, ways)

    def cut(state: State) -> Plan:
        choice, cost = made[state]
        return Plan(choice.step, cost, cut=bool(choice.branches))

    return grow(first, look, cut, Limits(least, going=going))


def _rest(problem: Problem, made: Made, state: State) -> float:
    """Expected cost from a state; where it was not followed, that of ending the job."""
    if is_done(problem, state):
        return 0.0
    return made[state][1] if state in made else ending(problem)
