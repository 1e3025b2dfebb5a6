"""The plan walked through again and again, each time with another thing wrong.

A walk draws what is wrong, then does what the plan says and draws the outcomes, until
the job ends. The same draws serve every plan that is compared: each look and remedy
has its own, whatever comes before it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from tubside.diagnosis.plan.choosing import Chooser, Move
from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.staged import PHONE, Staged
from tubside.diagnosis.plan.stand import (
    Stand,
    after_look,
    after_order,
    after_visit,
    after_way,
    at_start,
    look_cost,
    moved,
    order_cost,
    row_moves,
    said_now,
    way_cost,
)
from tubside.pack.fault_model import Bools, Floats

WORKS, FAILS, REFUSED, DONE = -1, -2, -3, 0
MOST_STEPS = 80
NEVER_RULED_OUT = 1e-9


@dataclass(frozen=True, slots=True)
class Draws:
    """Numbers from 0 to 1 for one walk: one a look, and for each way some."""

    look: Floats  # (looks,)
    way: Floats  # (ways, 2 + n) refused, shows again, each cause cleared


@dataclass(slots=True)
class Node:
    """A stand of the plan, what is believed there, and the step that it takes."""

    stand: Stand
    weight: Floats  # (rows of the chooser,) sums to one
    move: Move | None = None
    cost: float = 0.0
    minutes: float = 0.0
    later: dict[int, Node] = field(default_factory=dict)
    walked: int = 0


@dataclass(frozen=True, slots=True)
class Walk:
    """One walk to the end: what it cost beyond knowing what is wrong, and how it ended."""

    cost: float
    beyond: float
    minutes: float
    how: str  # works, comes back, stop
    visits: int
    steps: int
    fitted: frozenset[int] = frozenset()
    ordered: frozenset[int] = frozenset()  # before the first visit


@dataclass(slots=True)
class Paid:
    """What a walk has cost so far."""

    cost: float = 0.0
    beyond: float = 0.0
    minutes: float = 0.0
    steps: int = 0
    fitted: frozenset[int] = frozenset()
    ordered: frozenset[int] = frozenset()

    def pay(self, node: Node, wasted: float, fitted: frozenset[int]) -> None:
        """One step more."""
        assert node.move is not None
        self.cost, self.minutes = self.cost + node.cost, self.minutes + node.minutes
        self.beyond, self.steps = self.beyond + wasted, self.steps + 1
        self.fitted |= fitted
        if node.stand.place == PHONE:
            self.ordered |= node.move.parts

    def ended(self, how: str, visits: int, extra: float = 0.0) -> Walk:
        """The walk, ended so."""
        return Walk(
            cost=self.cost + extra,
            beyond=self.beyond,
            minutes=self.minutes,
            how=how,
            visits=visits,
            steps=self.steps,
            fitted=self.fitted,
            ordered=self.ordered,
        )


@dataclass(slots=True)
class Walker:
    """Walks plans of one problem; what the plan does at each stand is kept."""

    wide: Staged
    known: Known  # over all rows
    chooser: Chooser
    decisions: int = 0

    def start(self, first: Move | None = None) -> Node:
        """The node where the job stands, with the step taken there if it is given."""
        node = Node(at_start(self.wide), self.chooser.staged.weight)
        if first is not None:
            self.take(node, first)
        return node

    def walk(self, node: Node, row: int, draws: Draws) -> Walk:
        """One walk with the row that is true."""
        there = self.wide.member[row].copy()
        so_far = Paid()
        while True:
            move = self.decided(node, so_far.steps)
            node.walked += 1
            wasted = self._wasted(node, self.wide.row_of[there.tobytes()])
            so_far.pay(node, wasted, self._fitted(move))
            if move.kind == "stop":
                return so_far.ended("stop", node.stand.visits)
            outcome = self._outcome(node, there, draws)
            if outcome == WORKS:
                extra = self._comes_back(node, there)
                return so_far.ended("comes back" if extra else "works", node.stand.visits, extra)
            node = self.next_node(node, outcome)

    def _fitted(self, move: Move) -> frozenset[int]:
        return self.wide.ways[move.index].parts if move.kind == "way" else frozenset()

    def decided(self, node: Node, steps: int) -> Move:
        """The step that the plan takes at a node, after so many steps."""
        if node.move is None:
            self.take(node, self.choose(node, steps))
        assert node.move is not None
        return node.move

    def next_node(self, node: Node, outcome: int) -> Node:
        """The node after an outcome, the same one each time."""
        if outcome not in node.later:
            node.later[outcome] = self.after(node, outcome)
        return node.later[outcome]

    def choose(self, node: Node, steps: int) -> Move:
        """The cheapest step at a node; ending the job once there were too many."""
        self.decisions += 1
        if steps >= MOST_STEPS:
            return Move("stop", 0, self.wide.prices.stop)
        return self.chooser.best(node.stand, node.weight)

    def take(self, node: Node, move: Move) -> None:
        """Let the plan take this step at a node."""
        wide, stand = self.wide, node.stand
        match move.kind:
            case "look":
                node.cost, node.minutes = look_cost(wide, stand, wide.looks[move.index])
            case "way":
                node.cost, node.minutes = way_cost(wide, stand, wide.ways[move.index])
            case "visit":
                node.cost = wide.prices.visit
            case "order":
                node.cost = order_cost(wide, stand, move.parts)
            case _:
                node.cost = wide.prices.stop
        node.move = move

    def _outcome(self, node: Node, there: Bools, draws: Draws) -> int:
        """Draw what comes of a step; a remedy may clear what is there."""
        move, stand = node.move, node.stand
        assert move is not None
        if move.kind == "look":
            row = self.wide.row_of[there.tobytes()]
            chances = said_of_row(self.wide, stand, move.index, row)
            return int(np.searchsorted(np.cumsum(chances), draws.look[move.index] * chances.sum()))
        if move.kind != "way":
            return DONE
        way = self.wide.ways[move.index]
        refused, shown, *cleared = draws.way[move.index]
        if refused < way.refused and way.kind == "remedy":
            return REFUSED
        there &= np.array(cleared) >= way.clears
        shows = self.wide.row_shows[self.wide.row_of[there.tobytes()]]
        return FAILS if shown < shows else WORKS

    def _wasted(self, node: Node, row: int) -> float:
        """What a step costs more than the best one would, if what is wrong were known.

        Summed over a walk its mean is that of cost beyond knowing, and it varies far
        less: whether a remedy happens to work is averaged here.
        """
        move, stand, known = node.move, node.stand, self.known
        assert move is not None
        now = known.row(stand, row)
        if move.kind == "stop":
            return node.cost - now
        if move.kind == "visit":
            return node.cost + known.row(after_visit(stand), row) - now
        if move.kind == "order":
            return node.cost + known.row(after_order(stand, move.parts), row) - now
        if move.kind == "look":
            return node.cost + known.row(after_look(self.wide, stand, move.index, -1), row) - now
        return node.cost + self._mean_after(node, row) - now

    def _mean_after(self, node: Node, row: int) -> float:
        """Mean cost after a remedy if what is wrong were known."""
        move, stand, known = node.move, node.stand, self.known
        assert move is not None
        later, back = after_way(self.wide, stand, move.index), 0.0
        hidden = self.chooser.known.back(later.used)[:-1]
        for target, chance in row_moves(self.wide, move.index, row):
            shows, there = float(self.wide.row_shows[target]), self.wide.member[target]
            if there.any():
                fails = known.row(later, target) if shows else 0.0
                back += chance * (shows * fails + (1.0 - shows) * float(hidden[there].max()))
        refused = self.wide.ways[move.index].refused
        again = known.row(replace(stand, used=later.used), row) if refused else 0.0
        return refused * again + (1.0 - refused) * back

    def _comes_back(self, node: Node, there: Bools) -> float:
        if not there.any():
            return 0.0
        assert node.move is not None
        back = self.chooser.known.back(node.stand.used | {node.move.index})
        return float(back[:-1][there].max())

    def after(self, node: Node, outcome: int) -> Node:
        """What is believed after an outcome."""
        move, stand, few = node.move, node.stand, self.chooser.staged
        assert move is not None
        if move.kind == "visit":
            return Node(after_visit(stand), node.weight)
        if move.kind == "order":
            return Node(after_order(stand, move.parts), node.weight)
        if move.kind == "look":
            said = said_now(few, stand, move.index)
            answer = outcome if outcome < said.shape[1] - 1 else -1
            later = after_look(few, stand, move.index, answer)
            return Node(later, _scaled(node.weight * said[:, outcome], node.weight))
        if outcome == REFUSED:
            used = stand.used | {move.index}
            return Node(replace(stand, used=used), node.weight)
        left = moved(few, move.index, node.weight)
        return Node(after_way(few, stand, move.index), _scaled(left * few.row_shows, left))


def said_of_row(staged: Staged, stand: Stand, number: int, row: int) -> Floats:
    """P(said | one row) at a stand: (k + 1,)."""
    look = staged.looks[number]
    heard = dict(stand.heard).get(look.finding)
    if heard is None:
        return np.asarray(staged.said(number)[row])
    state = staged.state(look.finding)[row] * np.array(heard)
    total = float(state.sum())
    state = state / total if total > 0.0 else np.full(len(state), 1.0 / len(state))
    return np.asarray(np.append(state @ look.told * look.usable, 1.0 - look.usable))


def _scaled(weight: Floats, before: Floats) -> Floats:
    """Weights summing to one; what the few rows rule out is kept possible."""
    weight = weight + NEVER_RULED_OUT * before
    return np.asarray(weight / weight.sum())
