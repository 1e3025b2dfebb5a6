"""The plan that a ceiling rests on, read off the graph as a tree."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import ROUNDS, STOP, Graph
from tubside.diagnosis.solve.growing import MOST_STEPS, Limits, Spread, grow
from tubside.diagnosis.solve.kernel_tries import order_of_tries, round_after_round, tries
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Branch, Plan
from tubside.diagnosis.solve.state import State, Step, after_remedy, step_cost

LEAST_REACHED = 1e-5
"""What is reached with less chance is not spelled out."""
NOTHING_LEFT = 1e-15


@dataclass(frozen=True, slots=True)
class _Reader:
    problem: Problem
    given: Given
    graph: Graph
    state: State

    def look(self, row: int) -> Spread[int] | Plan:
        """What is done in a row of the graph."""
        choice = int(self.graph.choice[row])
        if choice == STOP:
            return self.stop()
        if choice < 0:
            return self.tries(row)
        start = int(self.graph.kids[row, choice])
        count = int(self.given.outcomes[choice]) if choice < len(self.given.outcomes) else 1
        ways = tuple(
            (o, float(self.graph.share[start + o]), kid if kid >= 0 else None)
            for o in range(count)
            if self.graph.share[start + o] > 0
            for kid in [int(self.graph.kid[start + o])]
        )
        step = self.step(choice)
        own = step_cost(self.problem, self.here(row), step)
        return Spread(step, float(self.graph.high[row]), ways, own)

    def cut(self, row: int) -> Plan:
        """The step in a row, with what it and all after it cost."""
        choice = int(self.graph.choice[row])
        if choice == STOP:
            return self.stop()
        if choice < 0:
            here = self.here(row)
            order = order_of_tries(self.given, here.weights, here.used, here.open)
            choice = len(self.given.outcomes) + int(order[0])
        return Plan(self.step(choice), float(self.graph.high[row]), cut=True)

    def step(self, action: int) -> Step:
        """The step of an action of the graph."""
        checks = len(self.given.outcomes)
        return Step("check", action) if action < checks else Step("remedy", action - checks)

    def here(self, row: int) -> State:
        used, opened = int(self.graph.used[row]), int(self.graph.opened[row])
        return State(self.state.tables, self.graph.weights[row], used, opened)

    def stop(self) -> Plan:
        costs = [stop.cost for stop in self.problem.stops]
        return Plan(Step("stop", int(np.argmin(costs))), min(costs))

    def tries(self, row: int) -> Plan:
        """Remedies one after the other, from the last back to the first."""
        here = self.here(row)
        at = (self.given, here.weights, here.used, here.open)
        count = int(tries(*at)[1])
        rounds = self.graph.choice[row] == ROUNDS
        made: list[tuple[Step, float, float]] = []
        for r in order_of_tries(*at)[:count]:
            step = Step("remedy", int(r))
            cost = step_cost(self.problem, here, step)
            fails, here = after_remedy(self.problem, here, int(r))
            made.append((step, cost, fails))
            if fails <= NOTHING_LEFT:
                break
        plan = None
        if rounds:
            plan = Plan(made[0][0], _rounds(self.given, here), cut=True)
        elif made[-1][2] > NOTHING_LEFT and self.problem.stops:
            plan = self.stop()
        for step, cost, fails in reversed(made):
            branch = (Branch(0, fails, plan),) if plan is not None else ()
            plan = Plan(step, cost + (fails * plan.expected_cost if plan else 0.0), branch)
        assert plan is not None
        return plan


def _rounds(given: Given, here: State) -> float:
    return float(round_after_round(given, here.weights, here.used, here.open))


def plan_of(
    problem: Problem,
    given: Given,
    graph: Graph,
    state: State,
    going: Callable[[], bool] = lambda: True,
) -> Plan:
    """Return the plan from the first belief on; ``state`` is any state of the problem.

    It is spelled out down to a chance of 1e-5, while it does not repeat, for 5000 steps at
    most and for as long as ``going`` says so: the likeliest first.
    """
    reader = _Reader(problem, given, graph, state)
    return grow(0, reader.look, reader.cut, Limits(LEAST_REACHED, MOST_STEPS, going=going))
