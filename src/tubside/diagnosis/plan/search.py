"""The cheapest order of the ways to clear one known cause."""

from __future__ import annotations

from dataclasses import dataclass, field

from tubside.diagnosis.plan.staged import Prices


@dataclass(frozen=True, slots=True)
class Try:
    """One way to clear one cause, priced at one stand [dollars]."""

    price: float
    cover: float  # more, if it is the first behind its cover now
    cover_later: float  # more, if it is the first on another trip
    clears: float
    refused: float
    here: bool
    bit: int  # which way it is among those on site, 0 for one by phone


@dataclass(frozen=True, slots=True)
class Shares:
    """How much of what several causes have in common one of them is charged."""

    part: float  # of trips, callbacks and endings
    sees_all: bool  # what is left is seen at once, and pays the least of what may follow


@dataclass(slots=True)
class Search:
    """Every order of the ways to clear one known cause, used ones as bits of a mask.

    ``spent`` are the ways on site used up before, ``base`` the search on a first visit
    from which the cost of coming back is taken (None: this one).
    """

    prices: Prices
    shares: Shares
    shows: float
    by_phone: tuple[Try, ...]
    on_site: tuple[Try, ...]
    wait: bool
    spent: int
    base: Search | None
    kept: dict[tuple[str, int, int, bool], float] = field(default_factory=dict)

    def phone(self, called: int = 0, spent: int = 0) -> float:
        """Least cost from the phone on."""
        prices, part = self.prices, self.shares.part
        value = min(part * prices.stop, part * prices.visit + self.site(spent))
        if any(not way.here for way in self.on_site):
            delay = prices.delay if self.wait else 0.0
            value = min(value, part * (prices.visit + delay) + self._later(spent, first=True))
        for place, way in enumerate(self.by_phone):
            if not called >> place & 1:
                after = spent | way.bit
                rest = self.phone(called | 1 << place, after)
                value = min(value, self._tried(way, way.price + way.cover, rest, after))
        return value

    def site(self, spent: int = 0, *, first: bool = True) -> float:
        """Least cost on site with what is aboard, a second trip being one of the choices."""
        key = ("now", spent, 0, first)
        if key not in self.kept:
            self.kept[key] = self._best(spent, first=first, now=True)
        return self.kept[key]

    def comes_back(self, spent: int) -> float:
        """Cost of a cause that seemed cleared: a callback, another visit's work at least."""
        return max(self.prices.callback, self.prices.visit + self.site(spent))

    def _later(self, spent: int, *, first: bool) -> float:
        """Least cost on site with every part there."""
        key = ("later", spent, 0, first)
        if key not in self.kept:
            self.kept[key] = self._best(spent, first=first, now=False)
        return self.kept[key]

    def _best(self, spent: int, *, first: bool, now: bool) -> float:
        prices, part = self.prices, self.shares.part
        value = part * prices.stop
        if now and any(not way.here and not spent & way.bit for way in self.on_site):
            value = min(value, part * prices.trip + self._later(spent, first=True))
        for way in self.on_site:
            if spent & way.bit or (now and not way.here):
                continue
            price = way.price
            if first:
                price += way.cover if now else way.cover_later
            after = spent | way.bit
            rest = self.site(after, first=False) if now else self._later(after, first=False)
            value = min(value, self._tried(way, price, rest, after))
        return value

    def _tried(self, way: Try, price: float, rest: float, after: int) -> float:
        """Cost of one try and of what follows if the cause is left."""
        if self.shares.sees_all:
            left = min(rest, self.shares.part * self.prices.callback)
        elif self.shows >= 1.0:
            left = rest
        else:
            base = self if self.base is None else self.base
            left = self.shows * rest + (1.0 - self.shows) * base.comes_back(self.spent | after)
        clears = (1.0 - way.refused) * (1.0 - way.clears)
        return price + way.refused * rest + (clears * left if clears else 0.0)
