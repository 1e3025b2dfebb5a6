"""A working day as data: stops with their promises, technicians, travel and prices.

Times are seconds after one moment that the caller chooses (mostly midnight), lengths are
metres, prices are amounts of the shop's money.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tubside.errors import DayError

Floats = NDArray[np.float64]
Z90 = 1.2815515655446004
"""The 90 % point of the standard normal, so that 80 % lie between -Z90 and Z90."""
MINUTE, HOUR, KILOMETRE = 60.0, 3600.0, 1000.0


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the earth [degrees], north and east positive."""

    lat: float
    lon: float

    def __post_init__(self) -> None:
        if not (abs(self.lat) <= 90.0 and abs(self.lon) <= 180.0):
            msg = (
                f"{self.lat:g}, {self.lon:g} is no place on earth; write the latitude "
                "(-90 to 90) first, then the longitude (-180 to 180)"
            )
            raise DayError(msg)


@dataclass(frozen=True, slots=True)
class Window:
    """From when until when [s]."""

    opens: float
    closes: float

    def __post_init__(self) -> None:
        if not self.opens <= self.closes:
            msg = "a window closes before it opens; swap its two times"
            raise DayError(msg)


@dataclass(frozen=True, slots=True)
class TimeOnSite:
    r"""How long a visit takes [s]: mean, and the range that holds 80 % of such visits.

    Taken as log-normal: positive, and long visits are longer than short ones are short
    (common practice, no source). Its mean is the given mean and its spread is that of the
    range, :math:`\sigma = \ln(\text{high}/\text{low}) / (2 z_{0.9})` and
    :math:`\mu = \ln(\text{mean}) - \sigma^2/2`. Three numbers say more than two can hold:
    the range that comes of it, :meth:`range80`, keeps the ratio and may lie a little aside.

    Examples
    --------
    >>> half = TimeOnSite(3600.0, 1800.0, 6000.0)
    >>> low, high = half.range80()
    >>> round(high / low, 6), round(half.sigma, 4)
    (3.333333, 0.4697)
    """

    mean: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.mean <= self.high < math.inf:
            msg = (
                f"a time on site of {self.low:g} to {self.high:g} s with the mean {self.mean:g} s "
                "cannot be; the mean lies inside the range, and none is below nought"
            )
            raise DayError(msg)
        if self.low == 0.0 < self.high:
            msg = "a range of a time on site begins above nought; write at least a minute"
            raise DayError(msg)

    @property
    def sigma(self) -> float:
        """The spread of its logarithm."""
        return math.log(self.high / self.low) / (2.0 * Z90) if self.high > self.low else 0.0

    @property
    def deviation(self) -> float:
        """Its standard deviation [s], mean times the root of exp(sigma^2) - 1."""
        return self.mean * math.sqrt(math.expm1(self.sigma**2))

    def range80(self) -> tuple[float, float]:
        """Return the range [s] that holds 80 % of the log-normal taken."""
        middle = self.mean * math.exp(-0.5 * self.sigma**2)
        factor = math.exp(Z90 * self.sigma)
        return middle / factor, middle * factor


NO_TIME = TimeOnSite(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Stop:
    """One visit to make. A promise is kept when the technician rings before it closes."""

    id: str
    place: Place
    on_site: TimeOnSite
    promised: Window | None = None
    skills: frozenset[str] = frozenset()
    people: int = 1
    priority: float = 1.0  # times the price of being late
    technician: str | None = None  # the only one who may go


@dataclass(frozen=True, slots=True)
class Break:
    """A pause: taken before the first visit that would otherwise begin at or after ``earliest``."""

    earliest: float  # s
    length: float  # s


@dataclass(frozen=True, slots=True)
class Busy:
    """A visit under way: how long such visits take, and how long this one has lasted [s]."""

    on_site: TimeOnSite
    elapsed: float


@dataclass(frozen=True, slots=True)
class Technician:
    """One van: where it starts and ends, when it works, who is in it.

    A visit that needs two people goes to a van with two in it; two vans that meet at one
    door are not modelled.
    """

    id: str
    start: Place
    end: Place
    hours: Window
    breaks: tuple[Break, ...] = ()
    skills: frozenset[str] = frozenset()
    people: int = 1
    busy: Busy | None = None  # at the start place, from hours.opens on


@dataclass(frozen=True, slots=True, eq=False)
class Travel:
    """Between all places: the stops in order, then each technician's start and end.

    ``leg_spread`` is the factor within which 80 % of single trips lie of their time, up or
    down; ``day_spread`` the same for a whole day's traffic, shared by all its trips. Both
    are log-normal with mean one.
    """

    seconds: Floats  # (places, places), row to column
    metres: Floats  # (places, places)
    leg_spread: float = 1.25  # common practice, no source
    day_spread: float = 1.10  # common practice, no source
    source: str = "great circle"
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Prices:
    """What a day costs, in the shop's money. Defaults: common practice, no source."""

    per_minute: float = 0.8  # of work: driving, waiting, on site, pauses
    per_km: float = 0.45
    per_late: float = 40.0  # a promise not kept
    per_late_minute: float = 0.5
    per_overtime_minute: float = 0.6  # on top of per_minute


@dataclass(frozen=True, slots=True)
class Day:
    """Everything that an order of visits depends on."""

    stops: tuple[Stop, ...]
    technicians: tuple[Technician, ...]
    travel: Travel
    prices: Prices = field(default_factory=Prices)

    def __post_init__(self) -> None:
        _must_differ("stops", [stop.id for stop in self.stops])
        _must_differ("technicians", [one.id for one in self.technicians])
        size = len(self.stops) + 2 * len(self.technicians)
        for table in (self.travel.seconds, self.travel.metres):
            if table.shape != (size, size):
                msg = (
                    f"travel is known between {table.shape[0]} places, the day has {size}: each "
                    "stop, then each technician's start and end; work it out anew"
                )
                raise DayError(msg)
            if not (np.isfinite(table).all() and (table >= 0.0).all()):
                msg = "a travel time or length is missing or below nought; fill it in"
                raise DayError(msg)

    def stop_at(self, name: str) -> int:
        """Return the number of the stop with this id."""
        return _place_of(name, [stop.id for stop in self.stops], "stop")

    def technician_at(self, name: str) -> int:
        """Return the number of the technician with this id."""
        return _place_of(name, [one.id for one in self.technicians], "technician")

    def start_node(self, technician: int) -> int:
        """Return the row of ``travel`` where this technician starts; the end is the next."""
        return len(self.stops) + 2 * technician


def places_of(stops: Sequence[Stop], technicians: Sequence[Technician]) -> list[Place]:
    """Return the places in the order that :class:`Travel` keeps them in."""
    ends = [place for one in technicians for place in (one.start, one.end)]
    return [stop.place for stop in stops] + ends


def why_not(stop: Stop, technician: Technician) -> str | None:
    """Return why this technician cannot make this visit; None where nothing speaks against it."""
    if stop.technician is not None and stop.technician != technician.id:
        return "is meant for another"
    lacking = sorted(stop.skills - technician.skills)
    if lacking:
        return f"lacks {', '.join(lacking)}"
    if stop.people > technician.people:
        return f"the visit needs {stop.people} people"
    return None


def _must_differ(what: str, names: list[str]) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        msg = f"two {what} are called {', '.join(twice)}; give each an id of its own"
        raise DayError(msg)


def _place_of(name: str, names: list[str], what: str) -> int:
    if name not in names:
        msg = f"no {what} is called {name}; there are {', '.join(names) or 'none'}"
        raise DayError(msg)
    return names.index(name)
