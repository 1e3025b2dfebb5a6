r"""What it costs when the cause is known: the floor under every plan.

With cause h known and remedies left, the cheapest plan tries remedies one after the
other, or stops:

.. math:: V_h(U, O) = \min\Bigl(\sigma, \min_{a \notin U} \lambda_a (c_a + o_a(O))
          + (1 - r_{ah}) V_h(U \cup a, O \cup k_a)\Bigr)

U are the remedies used up and O the covers open; a repeatable remedy behind an open cover
costs :math:`c_a / r_{ah}` in all. With :math:`\lambda = \sigma / \text{stop} = 1` it is
exact for one known cause.

*Several causes.* Split each cost evenly over the causes of S: with
:math:`\lambda = 1 / |S|` for remedies that clear several causes and for covers, 1 for a
remedy of one cause, and :math:`\sigma = \text{stop} / |S|`,

.. math:: V_S \ge \max\Bigl(\max_{h \in S} V_h, \; \sum_{h \in S} V_h^{\lambda, \sigma}\Bigr)

because a plan that clears all of S (or stops) clears each h (or stops), and the parts of
its costs that are counted for the causes sum to no more than what it pays.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tubside.diagnosis.solve.problem import NO_COVER, Floats, Problem
from tubside.diagnosis.solve.state import Numbers

MOST_BITS = 10
"""Remedies and covers of one cause that the tables tell apart; the others count as left
over and open, which only lowers the floor."""
MOST_PATTERNS = 40_000
"""Patterns of bits in all tables; with many causes fewer bits are told apart."""


class KnownCosts(NamedTuple):
    """``value[s, start[h] + i]`` is the cost of cause h in a set of s + 1 causes.

    Bit j of i is bit ``bit[j]`` of the steps used up or, where ``is_cover[j]``, of the open
    covers, for j from ``first[h]`` to ``first[h + 1]``.
    """

    first: Numbers  # (n + 1,)
    bit: Numbers
    is_cover: Numbers
    start: Numbers  # (n,)
    value: Floats


def known_costs(problem: Problem, largest: int) -> KnownCosts:
    """Return the tables for sets of up to ``largest`` causes."""
    first, start = [0], []
    bits: list[tuple[int, int]] = []
    values: list[Floats] = []
    room = 0
    for_each = MOST_PATTERNS // (len(problem.causes) * largest)
    most_bits = max(1, min(MOST_BITS, for_each.bit_length() - 1))
    for cause in range(len(problem.causes)):
        own = _Own(problem, cause, most_bits)
        bits += own.bits
        first.append(len(bits))
        start.append(room)
        values.append(np.array([own.table(size + 1) for size in range(largest)]))
        room += values[-1].shape[1]
    pairs = np.array(bits, dtype=np.int64).reshape(-1, 2)
    return KnownCosts(
        first=np.array(first, dtype=np.int64),
        bit=np.ascontiguousarray(pairs[:, 0]),
        is_cover=np.ascontiguousarray(pairs[:, 1]),
        start=np.array(start, dtype=np.int64),
        value=np.ascontiguousarray(np.concatenate(values, axis=1)),
    )


def all_open(table: KnownCosts) -> Floats:
    """Cost of each single cause with every cover open and nothing used up: (n,)."""
    found = []
    for h, start in enumerate(table.start):
        mine = table.is_cover[table.first[h] : table.first[h + 1]]
        found.append(table.value[0, start + int((mine << np.arange(len(mine))).sum())])
    return np.array(found)


class _Own:
    """The remedies of one cause, most telling first, and the bits that tell them apart."""

    def __init__(self, problem: Problem, cause: int, most_bits: int) -> None:
        self.problem, self.cause = problem, cause
        ways = [r for r, way in enumerate(problem.remedies) if way.clears[cause] > 0]
        price = {r: problem.remedies[r].cost + problem.remedies[r].rerun_cost for r in ways}
        ways.sort(key=lambda r: price[r] / problem.remedies[r].clears[cause])
        self.price, self.ways = price, ways
        once = [r for r in ways if not problem.remedies[r].repeatable]
        covers = sorted({problem.remedies[r].behind for r in ways} - {NO_COVER})
        kept = once[:most_bits]
        self.covers = covers[: most_bits - len(kept)]
        checks = len(problem.checks)
        self.bits = [(checks + r, 0) for r in kept] + [(k, 1) for k in self.covers]
        self.place = {r: j for j, r in enumerate(kept)}
        self.cover_place = {k: len(kept) + j for j, k in enumerate(self.covers)}

    def table(self, size: int) -> Floats:
        """Cost for each pattern of bits; bits only ever grow, so from the last to the first."""
        stop = min((s.cost for s in self.problem.stops), default=np.inf) / size
        value = np.full(1 << len(self.bits), stop)
        if self.problem.goal == "identified":
            return np.zeros_like(value)
        for now in range(len(value) - 1, -1, -1):
            value[now] = self._least(now, value, size)
        return value

    def _least(self, now: int, value: Floats, size: int) -> float:
        best = float(value[now])
        for r in self.ways:
            way = self.problem.remedies[r]
            place = self.place.get(r)
            if place is not None and now >> place & 1:
                continue
            several = int((way.clears > 0).sum())
            cost = self.price[r] / min(size, several)
            cover = self.cover_place.get(way.behind)
            after = now if place is None else now | 1 << place
            if cover is not None and not now >> cover & 1:
                cost += self.problem.covers[way.behind].open / size
                after |= 1 << cover
            chance = float(way.clears[self.cause])
            if after == now:
                best = min(best, cost / chance)
            else:
                rest = (1.0 - chance) * float(value[after]) if chance < 1.0 else 0.0
                best = min(best, cost + rest)
        return best
