"""What it still costs if what is wrong were known: a bound that no plan can go below.

For one cause every order of its remedies is tried, trips included. For several at
once each cause is priced apart with its share of what they have in common, or the
dearest is taken; both are lower bounds. Of remedies behind one cover the first alone
is charged for opening it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tubside.diagnosis.plan.search import Search, Shares, Try
from tubside.diagnosis.plan.staged import PHONE, SITE, Staged
from tubside.diagnosis.plan.stand import (
    Stand,
    after_visit,
    at_start,
    cover_minutes,
    parts_price,
)
from tubside.pack.fault_model import Bools, Floats, Ints

Key = tuple[object, ...]
WHOLE = Shares(1.0, sees_all=False)


@dataclass(slots=True)
class Known:
    """Costs of known rows at any stand of one problem; kept once worked out."""

    staged: Staged
    by_cause: dict[Key, float] = field(default_factory=dict)
    by_stand: dict[Key, Floats] = field(default_factory=dict)
    by_used: dict[frozenset[int], Floats] = field(default_factory=dict)
    by_place: dict[tuple[int, frozenset[int]], list[tuple[float, int]]] = field(
        default_factory=dict
    )
    by_shares: dict[Key, Floats] = field(default_factory=dict)
    _of: list[list[int]] = field(init=False)
    _bits: list[dict[int, int]] = field(init=False)
    _base: list[Search] = field(init=False)
    _fresh_back: Floats = field(init=False)
    _inside: Ints = field(init=False)
    _size: Ints = field(init=False)
    _sharing: Floats = field(init=False)
    _many: Bools = field(init=False)
    _by_size: list[tuple[float, Bools]] = field(init=False)

    def __post_init__(self) -> None:
        """Lay out which ways clear each cause, and which rows share none."""
        ways, member = self.staged.ways, self.staged.member
        n = member.shape[1]
        clears = np.array([way.clears > 0.0 for way in ways]).reshape(len(ways), n)
        self._of = [np.flatnonzero(clears[:, i]).tolist() for i in range(n)]
        self._bits = [
            {way: bit for bit, way in enumerate(w for w in of if SITE in ways[w].places)}
            for of in self._of
        ]
        self._size = np.sum(member, axis=1)
        widest = max(int(self._size.max(initial=1)), 1)
        order = np.argsort(~member, axis=1, kind="stable")[:, :widest]
        there = np.arange(widest)[None, :] < self._size[:, None]
        self._inside = np.where(there, order, n)
        shared = (clears.T.astype(float) @ clears) > 0.0
        np.fill_diagonal(shared, val=False)
        self._sharing = ((member.astype(float) @ shared) * member).sum(axis=1)
        apart = self._sharing == 0.0
        self._many = self._size > 1
        sizes = np.unique(self._size[self._many & apart])
        self._by_size = [(float(size), (self._size == size) & apart) for size in sizes]
        start = at_start(self.staged)
        first = start if start.place == SITE else after_visit(start)
        self._base = [self._base_of(first, i) for i in range(n)]
        self._fresh_back = np.array([*(base.comes_back(0) for base in self._base), 0.0])

    def rows(self, stand: Stand) -> Floats:
        """Least cost of each row if it were known at this stand: (N,)."""
        key = (stand.place, stand.used, stand.aboard, stand.ordered, stand.open)
        if key not in self.by_stand:
            self.by_stand[key] = self._worked_out(stand)
        return self.by_stand[key]

    def causes(self, stand: Stand) -> Floats:
        """Least cost of each cause alone if it were known: (n,)."""
        return self._every(stand, WHOLE)[:-1]

    def row(self, stand: Stand, row: int) -> float:
        """Least cost of one row if it were known at this stand."""
        key = (stand.place, stand.used, stand.aboard, stand.ordered, stand.open)
        if key in self.by_stand:
            return float(self.by_stand[key][row])
        inside, stop = self._inside[row][: self._size[row]].tolist(), self.staged.prices.stop
        if not inside:
            return self._sound(stand)
        if len(inside) == 1:
            return min(self._cause(stand, inside[0], WHOLE), stop)
        seen = Shares(1.0, sees_all=True)
        best = max(self._cause(stand, cause, seen) for cause in inside)
        if self._sharing[row] == 0.0:
            each = Shares(1.0 / len(inside), sees_all=True)
            best = max(best, sum(self._cause(stand, cause, each) for cause in inside))
        return min(best, stop)

    def hidden(self, used: frozenset[int]) -> Floats:
        """Cost of each row that seems mended and is not, 0 for a sound machine: (N,).

        A callback; and never less than another visit and clearing the dearest cause
        left, known by then, with the ways not used up.
        """
        if used not in self.by_used:
            back = self.back(used)
            self.by_used[used] = back[self._inside].max(axis=1)
        return self.by_used[used]

    def back(self, used: frozenset[int]) -> Floats:
        """Cost of each cause if it seems cleared and is not, and a last 0: (n + 1,)."""
        result = self._fresh_back.copy()
        changed = {int(i) for w in used for i in np.flatnonzero(self.staged.ways[w].clears)}
        for cause in changed:
            result[cause] = self._base[cause].comes_back(self._spent(used, cause))
        return result

    def _spent(self, used: frozenset[int], cause: int) -> int:
        """The ways of a cause that are used up, as bits."""
        return sum(1 << bit for way, bit in self._bits[cause].items() if way in used)

    def _worked_out(self, stand: Stand) -> Floats:
        alone = self._every(stand, WHOLE)
        result = np.where(self._size == 1, alone[self._inside[:, 0]], 0.0)
        if self._many.any():
            seen = self._every(stand, Shares(1.0, sees_all=True))
            result[self._many] = seen[self._inside[self._many]].max(axis=1)
        for size, chosen in self._by_size:
            each = self._every(stand, Shares(1.0 / size, sees_all=True))
            result[chosen] = np.maximum(result[chosen], each[self._inside[chosen]].sum(axis=1))
        result[self._size == 0] = self._sound(stand)
        return np.minimum(result, self.staged.prices.stop)

    def _every(self, stand: Stand, shares: Shares) -> Floats:
        """Costs of all causes and a last 0; from a stand with one way fewer used, if known."""
        at = (stand.place, stand.aboard, stand.ordered, stand.open, shares)
        key = (*at, stand.used)
        if key not in self.by_shares:
            fewer = (w for w in stand.used if (*at, stand.used - {w}) in self.by_shares)
            before = next(fewer, None)
            n = len(self._of)
            changed: list[int] = list(range(n))
            costs = np.zeros(n + 1)
            if before is not None:
                costs = self.by_shares[*at, stand.used - {before}].copy()
                changed = np.flatnonzero(self.staged.ways[before].clears).tolist()
            for cause in changed:
                costs[cause] = self._cause(stand, cause, shares)
            self.by_shares[key] = costs
        return self.by_shares[key]

    def _sound(self, stand: Stand) -> float:
        """A sound machine is found so by the first re-run."""
        prices, used = self.staged.prices, stand.used
        site = next((p for p, n in self._priced(stand, SITE) if n not in used), np.inf)
        if stand.place == SITE:
            return float(min(site, prices.stop))
        value = min(prices.visit + site, prices.stop)
        for price, number in reversed(self._priced(stand, PHONE)):
            if number not in used:
                value = min(value, price + self.staged.ways[number].refused * value)
        return float(value)

    def _priced(self, stand: Stand, place: int) -> list[tuple[float, int]]:
        """The least that each way can cost at a place, and its number, cheapest first."""
        key = (place, stand.ordered)
        if key not in self.by_place:
            minute = self.staged.prices.minute[place]
            self.by_place[key] = sorted(
                (
                    way.minutes * minute + way.fee + parts_price(self.staged, stand, way.parts),
                    number,
                )
                for number, way in enumerate(self.staged.ways)
                if place in way.places
            )
        return self.by_place[key]

    def _cause(self, stand: Stand, cause: int, shares: Shares) -> float:
        phone = self._tries(stand, cause, PHONE, shares) if stand.place == PHONE else ()
        site = self._tries(stand, cause, SITE, shares)
        wait = stand.place == PHONE and not stand.ordered
        spent = self._spent(stand.used, cause)
        key = (cause, shares, stand.place, wait, phone, site, spent)
        if key not in self.by_cause:
            shows = float(self.staged.shows[cause])
            base = None if shares.sees_all else self._base[cause]
            search = Search(self.staged.prices, shares, shows, phone, site, wait, spent, base)
            self.by_cause[key] = search.phone() if stand.place == PHONE else search.site()
        return self.by_cause[key]

    def _base_of(self, first: Stand, cause: int) -> Search:
        site = self._tries(first, cause, SITE, WHOLE)
        shows = float(self.staged.shows[cause])
        return Search(self.staged.prices, WHOLE, shows, (), site, wait=False, spent=0, base=None)

    def _tries(self, stand: Stand, cause: int, place: int, shares: Shares) -> tuple[Try, ...]:
        """Ways not used up that clear the cause at a place."""
        prices, found = self.staged.prices, []
        minute = prices.minute[place]
        counts = 0.0 if shares.part < 1.0 else minute
        for number in self._of[cause]:
            way = self.staged.ways[number]
            if place not in way.places or number in stand.used:
                continue
            whole = float(prices.cover[way.cover]) if way.cover >= 0 else 0.0
            now = cover_minutes(self.staged, stand, way.cover) if stand.place == place else whole
            found.append(
                Try(
                    price=way.minutes * minute
                    + way.fee
                    + parts_price(self.staged, stand, way.parts),
                    cover=now * counts,
                    cover_later=whole * counts,
                    clears=float(way.clears[cause]),
                    refused=way.refused,
                    here=way.parts <= stand.aboard,
                    bit=1 << self._bits[cause][number] if number in self._bits[cause] else 0,
                )
            )
        return tuple(found)
