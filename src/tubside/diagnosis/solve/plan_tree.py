"""The plan that a ceiling rests on, read off the graph as a tree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.graph import ROUNDS, STOP, Graph
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

    def plan(self, row: int, reached: float, above: tuple[int, ...]) -> Plan:
        """Spell out the plan from a row of the graph on."""
        choice = int(self.graph.choice[row])
        cost = float(self.graph.high[row])
        if choice == STOP:
            return self.stop()
        if choice < 0:
            return self.tries(row)
        checks = len(self.given.outcomes)
        step = Step("check", choice) if choice < checks else Step("remedy", choice - checks)
        if reached < LEAST_REACHED or row in above:
            return Plan(step, cost, cut=True)
        start = int(self.graph.kids[row, choice])
        count = int(self.given.outcomes[choice]) if choice < checks else 1
        branches = [
            self.branch(o, start + o, reached, (*above, row))
            for o in range(count)
            if self.graph.share[start + o] > 0
        ]
        return Plan(step, min(cost, self.value(row, choice, branches)), tuple(branches))

    def branch(self, outcome: int, link: int, reached: float, above: tuple[int, ...]) -> Branch:
        kid, share = int(self.graph.kid[link]), float(self.graph.share[link])
        return Branch(outcome, share, self.plan(kid, reached * share, above) if kid >= 0 else None)

    def value(self, row: int, choice: int, branches: list[Branch]) -> float:
        """What the step costs with what its branches cost; they may be less than was noted."""
        here = self.here(row)
        step = Step("check", choice)
        if choice >= len(self.given.outcomes):
            step = Step("remedy", choice - len(self.given.outcomes))
        later = sum(b.probability * b.plan.expected_cost for b in branches if b.plan)
        return step_cost(self.problem, here, step) + later

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


def plan_of(problem: Problem, given: Given, graph: Graph, state: State) -> Plan:
    """Return the plan from the first belief on; ``state`` is any state of the problem.

    It is spelled out down to a chance of 1e-5 and where it does not repeat.
    """
    return _Reader(problem, given, graph, state).plan(0, 1.0, ())
