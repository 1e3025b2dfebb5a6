"""The exact cost of the plan, where it has few enough branches to follow them all."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.plan.stand import look_branches, way_branches
from tubside.diagnosis.plan.walk import FAILS, REFUSED, Node, Walker
from tubside.pack.fault_model import Floats

OUTCOMES = {"fails": FAILS, "refused": REFUSED}


class TooManyBranchesError(Exception):
    """The plan has more branches than may be followed; its cost is then walked."""


@dataclass(slots=True)
class Expansion:
    """Follows every branch of a plan, over all rows; never leaves this module's caller."""

    walker: Walker
    nodes: int

    def value(self, node: Node, weight: Floats, steps: int = 0) -> float:
        """Cost from a node on, times the chance of being there.

        Raises
        ------
        TooManyBranchesError
            When more than ``nodes`` stands are met.
        """
        total = float(weight.sum())
        if total <= 0.0:
            return 0.0
        self.nodes -= 1
        if self.nodes < 0:
            raise TooManyBranchesError
        move = self.walker.decided(node, steps)
        value = node.cost * total
        if move.kind == "look":
            for branch in look_branches(self.walker.wide, node.stand, move.index, weight):
                if branch.weight.any():
                    later = self.walker.next_node(node, branch.outcome)
                    value += self.value(later, branch.weight, steps + 1)
        elif move.kind == "way":
            value += self._after_way(node, weight, steps)
        elif move.kind != "stop":
            value += self.value(self.walker.next_node(node, 0), weight, steps + 1)
        return value

    def _after_way(self, node: Node, weight: Floats, steps: int) -> float:
        assert node.move is not None
        hidden = self.walker.known.hidden(node.stand.used | {node.move.index})
        value = 0.0
        for branch in way_branches(self.walker.wide, node.stand, node.move.index, weight, hidden):
            value += branch.extra
            if branch.stand is not None and branch.weight.any():
                later = self.walker.next_node(node, OUTCOMES[branch.said])
                value += self.value(later, branch.weight, steps + 1)
        return value


def exact_value(walker: Walker, root: Node, nodes: int) -> float | None:
    """Exact expected cost of a plan [dollars], None where it has too many branches."""
    try:
        return Expansion(walker, nodes).value(root, walker.wide.weight)
    except TooManyBranchesError:
        return None
