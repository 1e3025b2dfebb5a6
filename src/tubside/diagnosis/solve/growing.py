"""A plan grown as a tree, the likeliest branches first, until it is as large as it may be."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from tubside.diagnosis.solve.solution import Branch, Plan
from tubside.diagnosis.solve.state import Step

Place = TypeVar("Place")

FEWEST_STEPS, MOST_STEPS = 50, 5000
DEEPEST = 60


@dataclass(frozen=True, slots=True)
class Spread(Generic[Place]):
    """What is done in a place, and where each outcome leads: None where the job is done.

    ``own`` is the cost of the step alone; where it is given, the step costs with all after
    it no more than ``own`` and what its branches cost.
    """

    step: Step
    cost: float
    ways: tuple[tuple[int, float, Place | None], ...]
    own: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """How far a plan is spelled out.

    Parameters
    ----------
    least : float
        What is reached with less chance is cut.
    steps, deepest : int
        Steps of the tree, and on one way through it.
    going : callable
        Asked now and then; once it says no, all but the likeliest 50 steps is cut.
    """

    least: float
    steps: int = MOST_STEPS
    deepest: int = DEEPEST
    going: Callable[[], bool] = lambda: True


@dataclass(slots=True)
class _Node(Generic[Place]):
    place: Place
    reached: float
    depth: int
    above: _Node[Place] | None
    plan: Plan | None = None
    spread: Spread[Place] | None = None
    below: list[_Node[Place] | None] = field(default_factory=list)

    def repeats(self) -> bool:
        """Whether the same place stands above."""
        node = self.above
        while node is not None:
            if node.place == self.place:
                return True
            node = node.above
        return False


def grow(
    root: Place,
    look: Callable[[Place], Spread[Place] | Plan],
    cut: Callable[[Place], Plan],
    limits: Limits,
) -> Plan:
    """Return the plan from a place on.

    ``look`` says what is done there, or gives the whole plan; ``cut`` gives the step and
    its cost where the plan is told no further. The same limits without a clock give the
    same tree.
    """
    first = _Node(root, 1.0, 0, None)
    made: list[_Node[Place]] = [first]
    waiting: list[tuple[float, int, _Node[Place]]] = [(-1.0, 0, first)]
    steps = 1
    while waiting:
        node = heapq.heappop(waiting)[2]
        short = node.reached < limits.least or node.depth >= limits.deepest
        late = steps >= FEWEST_STEPS and not limits.going()
        if short or late or node.repeats():
            node.plan = cut(node.place)
            continue
        found = look(node.place)
        size = _size(found)
        if size and node.above is not None and steps + size > limits.steps:
            node.plan = cut(node.place)
            continue
        steps += size
        if isinstance(found, Plan):
            node.plan = found
        else:
            node.spread = found
            for below in _below(node, found):
                made.append(below)
                heapq.heappush(waiting, (-below.reached, len(made), below))
    for node in reversed(made):
        if node.spread is not None:
            node.plan = _plan(node, node.spread)
    assert first.plan is not None
    return first.plan


def _size(found: Spread[Place] | Plan) -> int:
    """Steps below this one."""
    if isinstance(found, Plan):
        return sum(1 + _size(b.plan) for b in found.branches if b.plan is not None)
    return sum(place is not None for _, _, place in found.ways)


def _below(node: _Node[Place], found: Spread[Place]) -> Iterator[_Node[Place]]:
    for _, chance, place in found.ways:
        then = None
        if place is not None:
            then = _Node(place, node.reached * chance, node.depth + 1, node)
            yield then
        node.below.append(then)


def _plan(node: _Node[Place], spread: Spread[Place]) -> Plan:
    branches = tuple(
        Branch(outcome, chance, None if then is None else then.plan)
        for (outcome, chance, _), then in zip(spread.ways, node.below, strict=True)
    )
    cost = spread.cost
    if spread.own is not None:
        later = sum(b.probability * b.plan.expected_cost for b in branches if b.plan)
        cost = min(cost, spread.own + later)
    return Plan(spread.step, cost, branches)
