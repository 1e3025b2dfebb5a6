r"""What the rest costs, estimated without looking further ahead.

The lower of two estimates, and of stopping now:

* **P/C**: remedies by chance over cost until one helps, ended where a stop is cheaper
  (Kadane & Simon 1977, *Ann. Statist.* 5:237-255; from memory). A real plan.
* **Known cause plus doubt**: what each set costs once it is known, with the remedies
  that are left, plus what the checks that are left ask for the bits of doubt (an idea of
  Warnquist & Nyberg 2008 as recalled; from memory), the cheapest bits first. Doubt that
  they cannot take away costs its share of the way from the known cost to P/C.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.policies.field import Bools, Field, Ints, Nodes, doubt
from tubside.diagnosis.solve.problem import Floats

TRIED_IN_ORDER = 12
"""Remedies in the P/C order before the job is ended."""
LEAST_PRICE = 1e-9
AGAIN = 3
"""Times that a repeatable remedy stands in the P/C order."""


@dataclass(frozen=True, slots=True)
class Tries:
    """Remedies as they can be tried, repeatable ones several times: ``t`` tries."""

    step: Ints  # (t,)
    clears: Floats  # (t, n)
    again: Ints  # (t,) how often it was tried before; earlier tries stand first
    cures: Ints  # (n, most) tries that clear each cause, best first; t where there are fewer


def tries_of(field: Field) -> Tries:
    """Return the tries of a problem."""
    fallible = (field.clears > 0) & (field.clears < 1)
    listed = [
        (field.checks + a, a, turn)
        for a in range(len(field.clears))
        for turn in range(AGAIN if field.repeatable[field.checks + a] and fallible[a].any() else 1)
    ]
    step, remedy, again = np.array(listed, dtype=np.int64).reshape(-1, 3).T
    clears = field.clears[remedy]
    lists = [_best_first(field, step, clears[:, i]) for i in range(field.member.shape[1])]
    most = max(map(len, lists), default=0)
    cures = np.array([[*row, *[len(step)] * (most - len(row))] for row in lists], dtype=np.int64)
    return Tries(step, clears, again, cures.reshape(len(lists), most))


def _best_first(field: Field, step: Ints, chance: Floats) -> list[int]:
    """Tries that clear a cause by chance over cost."""
    worth = chance / np.maximum(field.price[step], LEAST_PRICE)
    return [int(t) for t in np.argsort(-worth, kind="stable") if chance[t] > 0]


@dataclass(frozen=True, slots=True)
class Asking:
    """Bits that each check is worth, and what a bit costs there, cheapest first: (r, checks)."""

    gain: Floats
    rate: Floats

    def cost(self, bits: Floats) -> tuple[Floats, Floats]:
        """What it costs to get so many bits, and how many are not to be had: (r,), (r,)."""
        before = np.cumsum(self.gain, axis=1) - self.gain
        taken = np.clip(bits[:, None] - before, 0.0, self.gain)
        spent = np.where(taken > 0, taken * np.where(taken > 0, self.rate, 0.0), 0.0)
        return spent.sum(axis=1), np.maximum(bits - self.gain.sum(axis=1), 0.0)


def estimate(field: Field, tries: Tries, nodes: Nodes, asking: Asking) -> Floats:
    """What the rest costs from each node, with the checks that are left there: (r,)."""
    bits = doubt(field, nodes.weights)
    asked, missing = asking.cost(bits)
    if field.identify:
        dear = np.where(missing > 1e-9, field.ending, 0.0)
        return np.asarray(np.minimum(asked + dear, field.ending))
    tried = in_order(field, tries, nodes)[0]
    known = known_cost(field, tries, nodes)
    left = np.where(bits > 1e-9, missing / np.maximum(bits, 1e-9), 0.0)
    asked = known + asked + left * np.maximum(tried - known, 0.0)
    return np.asarray(np.minimum(np.minimum(asked, tried), field.ending))


def known_cost(field: Field, tries: Tries, nodes: Nodes) -> Floats:
    """What it costs on average if the set were told now: (r,)."""
    each = np.full((len(nodes), len(tries.cures)), field.ending)
    usable, price = _usable(field, tries, nodes)
    chance = np.vstack([tries.clears, np.zeros(tries.clears.shape[1])])
    causes = np.arange(len(tries.cures))
    for place in range(tries.cures.shape[1] - 1, -1, -1):
        chosen = tries.cures[:, place]
        tried = price[:, chosen] + (1 - chance[chosen, causes]) * each
        each = np.where(usable[:, chosen], np.minimum(each, tried), each)
    if field.single:
        return np.asarray((nodes.weights * each).sum(axis=1))
    sets = np.minimum(each @ field.member.T, field.ending)
    return np.asarray((nodes.weights * sets).sum(axis=1))


def _usable(field: Field, tries: Tries, nodes: Nodes) -> tuple[Bools, Floats]:
    """Which tries are left and what they cost now; a last one that never is: (r, t + 1)."""
    none = np.zeros((len(nodes), 1))
    usable = np.hstack([nodes.free[:, tries.step], none == 1])
    behind = field.behind[tries.step]
    shut = nodes.shut[:, behind] & (tries.again == 0)
    return usable, np.hstack([field.price[tries.step] + shut * field.opening[behind], none])


def in_order(field: Field, tries: Tries, nodes: Nodes) -> tuple[Floats, Ints]:
    """Cost of the remedies in P/C order, ended where that is cheaper, and the first try.

    The first try is -1 where ending the job at once is no dearer: (r,), (r,).
    """
    order, left = pc_orders(field, tries, nodes)
    if not order.shape[1]:
        return np.full(len(nodes), field.ending), np.full(len(nodes), -1)
    if not field.single:
        left = _left(field, tries, nodes, order)
    before = np.hstack([np.ones((len(nodes), 1)), left[:, :-1]])
    spend = before * _opened(field, tries, nodes, order)
    value, first = field.ending * left[:, -1], np.full(len(nodes), -1)
    for place in range(order.shape[1] - 1, -1, -1):
        end, tried = field.ending * before[:, place], spend[:, place] + value
        goes_on = (order[:, place] >= 0) & (tried < end)
        value = np.where(goes_on, tried, end)
        first = np.where(goes_on, order[:, place], -1)
    return value, first


def pc_orders(field: Field, tries: Tries, nodes: Nodes) -> tuple[Ints, Floats]:
    """The most efficient try first, given that those before it failed; -1: none helps any more.

    An open cover, or one opened by a try before, makes what is behind it cheaper. Beside
    the order stands what is left of a belief in single causes: (r, places), (r, places).
    """
    behind, rows = field.behind[tries.step], np.arange(len(nodes))
    usable, shut = nodes.free[:, tries.step], nodes.shut.copy()
    left = nodes.weights @ field.share
    price = np.maximum(field.price[tries.step], LEAST_PRICE)
    per_cost = tries.clears.T / price
    places = min(TRIED_IN_ORDER, len(tries.step))
    order, remains = np.full((len(nodes), places), -1), np.zeros((len(nodes), places))
    for place in range(places):
        ratio = usable * (left @ per_cost)
        if len(field.opening) > 1:
            ratio *= price / (price + shut[:, behind] * field.opening[behind])
        best = np.argmax(ratio, axis=1)
        helps = ratio[rows, best] > 0
        if not helps.any():
            remains[:, place:] = left.sum(axis=1, keepdims=True)
            break
        order[:, place] = np.where(helps, best, -1)
        usable[rows, best] = False
        shut[rows, behind[best]] = False
        left *= 1.0 - tries.clears[best] * helps[:, None]
        remains[:, place] = left.sum(axis=1)
    return order, remains


def _left(field: Field, tries: Tries, nodes: Nodes, order: Ints) -> Floats:
    """Chance that something of a set is left after each try of the order: (r, tries)."""
    # Single precision is plenty for an estimate, and exp in it is several times quicker.
    stays = np.cumprod(1.0 - tries.clears[order] * (order >= 0)[:, :, None], axis=1)
    gone = np.log(np.maximum(1.0 - stays, 1e-30).astype(np.float32))
    whole = np.exp(gone @ field.member.T.astype(np.float32))
    left = 1.0 - (whole @ nodes.weights.astype(np.float32)[:, :, None])[:, :, 0]
    return np.asarray(np.maximum(left, 0.0), dtype=np.float64)


def _opened(field: Field, tries: Tries, nodes: Nodes, order: Ints) -> Floats:
    """What each try of the order costs, a shut cover paid with the first behind it."""
    step = tries.step[order]
    behind = np.where(order >= 0, field.behind[step], len(field.opening) - 1)
    cost = field.price[step]
    for cover in range(len(field.opening) - 1):
        here = (behind == cover) & nodes.shut[:, cover, None]
        first = here & (np.cumsum(here, axis=1) == 1)
        cost = cost + first * field.opening[cover]
    return np.asarray(cost)
