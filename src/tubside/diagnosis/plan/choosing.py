"""The plan's next step at any stand: every step looked at one ahead, by money.

What follows a step is valued as in :mod:`tubside.diagnosis.leaf`: the lower of
trying the remedies by chance over cost, and of knowing what is wrong plus the
price of the doubt that is left. Only the heaviest rows of the moment are looked at.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from tubside.diagnosis.leaf import Collapsed, by_chance_over_cost
from tubside.diagnosis.own_costs import AfterFailing, OwnCosts, own_costs
from tubside.diagnosis.plan.chances import clears_at_a_stroke, likely_orders
from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.looking import LookTable, look_table
from tubside.diagnosis.plan.staged import PHONE, SITE, Staged
from tubside.diagnosis.plan.stand import (
    Stand,
    after_order,
    after_visit,
    after_way,
    moved,
    open_ways,
    order_cost,
    way_cost,
)
from tubside.pack.fault_model import Bools, Floats, Ints

LIKELY_LOOKS = 8
LIKELY_WAYS = 5
LEAST_CHANCE = 0.004
LEAST_GAIN_BITS = 0.01
BITS_DEARER = 2.0
LEAST_BIT = 0.5
"""What a bit of doubt costs at the least [dollars], though the next look be free."""
ROWS = 40


@dataclass(frozen=True, slots=True)
class Move:
    """One step: look, way, visit, order (with its parts) or stop, and its value [dollars]."""

    kind: str
    index: int
    value: float
    parts: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Spot:
    """A stand with its heaviest rows, their weights summing to one, and their causes."""

    stand: Stand
    rows: Ints
    weight: Floats
    share: Floats  # (rows, causes of these rows)
    causes: Ints
    hides: float  # what each try costs for faults that do not show when it is run again


@dataclass(slots=True)
class Chooser:
    """Values steps over the heaviest rows of one problem."""

    staged: Staged
    known: Known
    own: dict[tuple[object, ...], OwnCosts] = field(default_factory=dict)
    tables: dict[tuple[object, ...], LookTable] = field(default_factory=dict)
    site_bit: float | None = None
    clears: Floats = field(init=False)
    _share: Floats = field(init=False)

    def __post_init__(self) -> None:
        """Lay out which way clears which row at a stroke."""
        member = self.staged.member.astype(float)
        self._share = member / np.maximum(member.sum(axis=1, keepdims=True), 1.0)
        self.clears = clears_at_a_stroke(self.staged)

    def best(self, stand: Stand, weight: Floats) -> Move:
        """The cheapest step at a stand, for row weights (N,)."""
        return min(self.moves(stand, weight), key=lambda move: move.value)

    def moves(self, stand: Stand, weight: Floats) -> list[Move]:
        """Steps worth a thought, with the cost of the job if they come next."""
        spot = self._spot(stand, weight)
        looks, bit = self._looks(spot)
        prices = self.staged.prices
        chance = spot.weight @ self.clears[spot.rows]
        found = [Move("stop", 0, prices.stop), *looks, *self._ways(spot, chance, bit)]
        if stand.place == PHONE:
            value = prices.visit + self._now(after_visit(stand), spot, bit)
            found.append(Move("visit", 0, value))
        return [*found, *self._orders(spot, chance, bit)]

    def _spot(self, stand: Stand, weight: Floats) -> Spot:
        rows = np.arange(len(weight))
        if len(weight) > ROWS:
            rows = np.argpartition(-weight, ROWS)[:ROWS]
        rows = np.sort(rows[weight[rows] > 0.0])
        causes = np.flatnonzero(self.staged.member[rows].any(axis=0))
        share = self._share[np.ix_(rows, causes)]
        weight = weight[rows] / weight[rows].sum()
        quiet = np.where(self.staged.sound[rows], 0.0, 1.0 - self.staged.row_shows[rows])
        hides = float(weight @ (quiet * self.known.hidden(stand.used)[rows]))
        return Spot(stand, rows, weight, share, causes, hides)

    def _looks(self, spot: Spot) -> tuple[list[Move], float]:
        """The looks that pay, and what a bit of doubt is taken to cost [dollars per bit].

        A look pays if it lowers what is to come by more than it costs.
        """
        stand, stop = spot.stand, self.staged.prices.stop
        table = self._table(stand)
        if not len(table.numbers):
            return [], stop
        shut = np.isin(table.numbers, list(stand.looked))
        after = table.said[spot.rows] * spot.weight[:, None]
        doubt = _doubt(after, spot.share)
        gain, price = self._bit_prices(spot, table, doubt, shut)
        bit = BITS_DEARER * float(price.min())
        if stand.place == PHONE:
            bit = min(bit, self._site_bit(spot))
        bit = min(max(bit, LEAST_BIT), stop)
        gain[shut] = -np.inf
        likely = np.argsort(table.cost - bit * gain, kind="stable")[:LIKELY_LOOKS]
        columns = np.concatenate(
            [np.arange(table.starts[n], table.starts[n] + table.size[n]) for n in likely]
        )
        later = self._leaf(stand, spot, after[:, columns], bit, doubt[columns])
        starts = np.cumsum(table.size[likely]) - table.size[likely]
        value = table.cost[likely] + np.add.reduceat(later, starts)
        pays = (value < self._now(stand, spot, bit)) & ~shut[likely]
        moves = [
            Move("look", int(number), float(worth))
            for number, worth in zip(table.numbers[likely[pays]], value[pays], strict=True)
        ]
        return moves, bit

    def _bit_prices(
        self, spot: Spot, table: LookTable, doubt: Floats, shut: Bools
    ) -> tuple[Floats, Floats]:
        """Bits that each look gains, and what it asks for one [dollars per bit]."""
        now = float(_doubt(spot.weight[:, None], spot.share)[0])
        gain = now - np.add.reduceat(doubt, table.starts)
        useful = (gain > LEAST_GAIN_BITS) & ~shut
        stop = self.staged.prices.stop
        return gain, np.where(useful, table.cost / np.maximum(gain, 1e-9), stop)

    def _site_bit(self, spot: Spot) -> float:
        """What a bit is taken to cost once there, by the belief at the start."""
        if self.site_bit is None:
            there = replace(spot, stand=after_visit(spot.stand))
            table = self._table(there.stand)
            self.site_bit = self.staged.prices.stop
            if len(table.numbers):
                doubt = _doubt(table.said[spot.rows] * spot.weight[:, None], spot.share)
                shut = np.zeros(len(table.numbers), dtype=bool)
                price = self._bit_prices(there, table, doubt, shut)[1]
                self.site_bit = BITS_DEARER * float(price.min())
        return self.site_bit

    def _table(self, stand: Stand) -> LookTable:
        key = (stand.place, stand.open, stand.heard)
        if key not in self.tables:
            self.tables[key] = look_table(self.staged, replace(stand, looked=frozenset()))
        return self.tables[key]

    def _ways(self, spot: Spot, chance: Floats, bit: float) -> list[Move]:
        stand = spot.stand
        weight = np.zeros(len(self.staged.weight))
        weight[spot.rows] = spot.weight
        likely = [n for n in open_ways(self.staged, stand) if chance[n] > LEAST_CHANCE]
        costs = {n: way_cost(self.staged, stand, self.staged.ways[n])[0] for n in likely}
        likely.sort(key=lambda n: -chance[n] / max(costs[n], 1e-9))
        likely = likely[:LIKELY_WAYS]
        if not likely:
            return []
        later = [after_way(self.staged, stand, n) for n in likely]
        left = np.array([moved(self.staged, n, weight) for n in likely])
        fails = left * self.staged.row_shows
        hidden = np.array([self.known.hidden(one.used) for one in later])
        hides = ((left - fails) * hidden).sum(axis=1)
        columns = np.concatenate([fails[:, spot.rows], spot.weight[None, :]]).T
        doubt = _doubt(columns, spot.share)
        spots = [after_visit(s) if s.place == PHONE else s for s in [*later, stand]]
        known = np.array([self.known.rows(one)[spot.rows] for one in spots])
        after = self._leaf(stand, spot, columns, bit, doubt, known)
        result = []
        for place, number in enumerate(likely):
            refused = self.staged.ways[number].refused
            rest = refused * after[-1] + (1.0 - refused) * (hides[place] + after[place])
            result.append(Move("way", number, float(costs[number] + rest)))
        return result

    def _orders(self, spot: Spot, chance: Floats, bit: float) -> list[Move]:
        """Orders of the parts likeliest to be wanted, alone and with those before."""
        stand, result = spot.stand, []
        for parts in likely_orders(self.staged, stand, chance):
            later = after_order(stand, parts)
            value = order_cost(self.staged, stand, parts)
            if stand.place == PHONE:
                value += self.staged.prices.visit
                later = after_visit(later)
            value += self._now(later, spot, bit)
            result.append(Move("order", 0, value, parts))
        return result

    def _leaf(
        self,
        stand: Stand,
        spot: Spot,
        weights: Floats,
        bit: float,
        doubt: Floats,
        known: Floats | None = None,
    ) -> Floats:
        """Expected cost from here, times the weight of each column (rows, B): (B,).

        On the phone a visit is taken to come next: what the phone may still clear is seen
        when it is the next step. ``known`` (B, rows) is the least cost of each row if
        known, where it is not that of the stand.
        """
        total, prices = weights.sum(axis=0), self.staged.prices
        there = after_visit(stand) if stand.place == PHONE else stand
        tried = self._tried(there, spot, weights, total)
        if known is None:
            least = self.known.rows(there)[spot.rows] @ weights
        else:
            least = (known.T * weights).sum(axis=0)
        best = np.minimum(tried, least + bit * doubt)
        if stand.place == PHONE:
            best = best + prices.visit * total
        return np.asarray(np.minimum(best, prices.stop * total))

    def _now(self, stand: Stand, spot: Spot, bit: float) -> float:
        """The same for the belief as it is, at another stand."""
        weights = spot.weight[:, None]
        return float(self._leaf(stand, spot, weights, bit, _doubt(weights, spot.share))[0])

    def _tried(self, stand: Stand, spot: Spot, weights: Floats, total: Floats) -> Floats:
        """Cost of trying the remedies on site by chance over cost, times the weight: (B,)."""
        key = (stand.used, stand.aboard, stand.ordered, stand.open)
        if key not in self.own:
            self.own[key] = self._own(stand)
        own = self.own[key]
        main = (weights.T @ spot.share) / np.maximum(total, 1e-300)[:, None]
        groups = own.groups[spot.causes]
        some = groups.any(axis=0)
        price = own.price[some] + spot.hides
        few = OwnCosts(own.cost[spot.causes], own.later[spot.causes], price, groups[:, some])
        sound = np.clip(1.0 - main.sum(axis=1), 0.0, 1.0)
        belief = Collapsed(main, main, sound)
        return by_chance_over_cost(self.staged.on_site, belief, few) * total

    def _own(self, stand: Stand) -> OwnCosts:
        staged = self.staged
        numbers = [
            n for n, way in enumerate(staged.ways) if SITE in way.places and n not in stand.used
        ]
        ways = [staged.ways[n] for n in numbers]
        trip = staged.prices.trip
        price = [
            way_cost(staged, stand, way)[0] + (0.0 if way.parts <= stand.aboard else trip)
            for way in ways
        ]
        clears = np.array([way.clears for way in ways]).reshape(len(ways), staged.member.shape[1])
        after = AfterFailing(staged.shows, staged.prices.stop, staged.prices.callback)
        return own_costs(np.array(price), clears, after)[0]


def _doubt(weights: Floats, share: Floats) -> Floats:
    """Entropy over causes and soundness times the weight of each column [bit]."""
    total = weights.sum(axis=0)
    main = weights.T @ share
    sound = np.maximum(total - main.sum(axis=1), 0.0)
    every = np.concatenate([main, sound[:, None]], axis=1)
    part = every / np.maximum(total, 1e-300)[:, None]
    return np.asarray(-(every * np.log2(np.maximum(part, 1e-300))).sum(axis=1))
