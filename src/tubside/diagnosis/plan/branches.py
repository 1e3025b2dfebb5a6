"""The plan as a tree to be read: its likely branches, a few steps deep."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.plan.choosing import Move
from tubside.diagnosis.plan.walk import Node

DEPTH = 5
LEAST_SHOWN = 0.04
MOST_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Branch:
    """A step of the plan: after which outcome, with which chance, and what follows.

    ``move`` None: not followed further here. ``place`` is 0 on the phone, 1 on site.
    """

    outcome: int
    chance: float
    place: int
    move: Move | None
    cost: float
    minutes: float
    after: tuple[Branch, ...] = ()


def branches_of(node: Node, walks: int, outcome: int = 0, depth: int = DEPTH) -> Branch:
    """The tree below a node, chances from how many of the walks went there."""
    chance = node.walked / walks
    if depth == 0 or node.move is None:
        return Branch(outcome, chance, node.stand.place, None, 0.0, 0.0)
    likely = sorted(node.later.items(), key=lambda pair: -pair[1].walked)
    shown = [(o, n) for o, n in likely[:MOST_SHOWN] if n.walked >= max(LEAST_SHOWN * walks, 2)]
    return Branch(
        outcome,
        chance,
        node.stand.place,
        node.move,
        node.cost,
        node.minutes,
        tuple(branches_of(n, walks, o, depth - 1) for o, n in shown),
    )
