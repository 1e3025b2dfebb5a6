"""What would change the advice: how far one weight, or one cost, would have to move.

The two steps that look best are valued again, one step ahead, with the odds of one
cause after the other made larger and smaller, until the second becomes the better one.
What looking two steps ahead adds to their difference is kept as it is now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief, heaviest_rows
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.next_step import Place, Step, one_step, place
from tubside.diagnosis.situation import Situation
from tubside.pack.fault_model import FaultModel

LARGEST = 10.0
CAUSES_MOVED = 4
HALVINGS = 5
ROWS = 100


@dataclass(frozen=True, slots=True)
class Turning:
    """How far the advice holds against the step that comes second.

    ``factor``: the first stays best while the weight of any one of the likeliest causes is
    wrong by less than it, up or down; 10 when none of them turns it. ``cause`` and ``up``
    say which one turns it first. ``dearer`` is how much more the first step could cost
    [dollars].
    """

    second: Step
    factor: float
    cause: int | None
    up: bool
    dearer: float


def turning(
    model: FaultModel,
    evidence: Evidence,
    belief: Belief,
    situation: Situation,
    steps: Sequence[Step],
) -> Turning | None:
    """What would put the second step first; None where there is no second that pays."""
    paying = [step for step in steps if step.pays and step.kind not in {"scrap", "return"}]
    if len(paying) < 2 or paying[0] is not steps[0]:
        return None
    first, second = paying[:2]
    heaviest = heaviest_rows(belief, ROWS)
    where = place(model, evidence, heaviest, situation, heaviest)
    pair = Pair(where, heaviest, first, second, 0.0)
    now = first.expected_cost - second.expected_cost
    pair = replace(pair, further=now - pair.ahead(None, 1.0))
    likely = np.argsort(-belief.at_call(), kind="stable")[:CAUSES_MOVED]
    nearest, cause, grows = LARGEST, None, True
    for index in likely.tolist():
        for up in (True, False):
            if pair.turned(index, nearest, up=up):
                nearest, cause, grows = pair.factor(index, nearest, up=up), index, up
    return Turning(second, nearest, cause, grows, max(-now, 0.0))


@dataclass(frozen=True, slots=True)
class Pair:
    """Two steps over the heaviest rows of one belief."""

    where: Place
    belief: Belief
    first: Step
    second: Step
    further: float  # what a second step ahead adds to the difference [dollars]

    def ahead(self, cause: int | None, odds: float) -> float:
        """Cost with the first step less that with the second, one cause's odds changed."""
        weight = self.belief.probability
        if cause is not None:
            weight = np.where(self.belief.rows.sets.members[:, cause], weight * odds, weight)
        weight = weight / weight.sum()
        costs = {(s.kind, s.index): s.expected_cost for s in one_step(self.where, weight)}
        one, other = ((step.kind, step.index) for step in (self.first, self.second))
        return costs[one] - costs[other] + self.further

    def turned(self, cause: int, factor: float, *, up: bool) -> bool:
        """Whether the second is the better step with one cause's odds moved so far."""
        return self.ahead(cause, factor if up else 1.0 / factor) > 0.0

    def factor(self, cause: int, turned: float, *, up: bool) -> float:
        """The least factor that turns it, which ``turned`` does, by halving."""
        low, high = 1.0, turned
        for _ in range(HALVINGS):
            middle = float(np.sqrt(low * high))
            low, high = (low, middle) if self.turned(cause, middle, up=up) else (middle, high)
        return low
