"""What a change of the day costs: one more call, an emergency, an order put in by hand.

Before and after run through the same drawn days, so that a difference is the change's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tubside.day.draws import Draws, draw
from tubside.day.planning import rounds_of
from tubside.day.problem import Day
from tubside.day.running import expected_costs
from tubside.day.search import Rounds, able
from tubside.day.timetable import DayPlan, Round, told
from tubside.errors import DayError

AT_RISK = 0.10
"""A promise is at risk when its chance to be late rises above this; our own choice."""
DRAWS = 1000

Given = Mapping[str, tuple[str, ...]]
"""Technician -> ids of the stops in order."""


@dataclass(frozen=True, slots=True)
class Risk:
    """A promise put at risk: its chance to be late before and after."""

    stop: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Change:
    """What a change does to the day; differences are after less before, all expected."""

    cost: float  # the shop's money
    work: float  # s
    metres: float
    at_risk: tuple[Risk, ...]
    after: DayPlan


@dataclass(frozen=True, slots=True)
class Squeeze:
    """Where one more stop fits best, and what that does."""

    stop: str
    technician: str
    place: int  # 0 is first
    late: float  # the new stop's own chance to be late
    change: Change


def squeeze(day: Day, orders: Given, stop: str, seed: int, threshold: float = AT_RISK) -> Squeeze:
    """Put one more stop where it costs least, the orders otherwise kept.

    Parameters
    ----------
    day
        With the new stop among its stops, and travel to it.
    orders
        As they are, without the new stop.
    stop
        The new stop's id.
    seed, threshold
        Of the drawn days; chance to be late above which a promise counts as at risk.

    Raises
    ------
    DayError
        When nobody can make the visit.
    """
    return _put_in(day, orders, stop, seed, threshold, first=False)


def emergency(day: Day, orders: Given, stop: str, seed: int, threshold: float = AT_RISK) -> Squeeze:
    """Send somebody next, after the visit under way: whom it costs least.

    ``day`` is what is left of it (:func:`resuming.resumed`), the emergency among its stops.
    The price of waiting is the stop's own promise: give it one that closes soon.
    """
    return _put_in(day, orders, stop, seed, threshold, first=True)


def cost_of_order(
    day: Day, best: Given, by_hand: Given, seed: int, threshold: float = AT_RISK
) -> Change:
    """Return what orders put in by hand cost against others, mostly the plan's.

    Raises
    ------
    DayError
        When a stop is missing, there twice, or with somebody who cannot make the visit.
    """
    must_fit(day, best, by_hand)
    draws = draw(day, seed, DRAWS)
    return _change(
        day, (rounds_of(day, dict(best)), rounds_of(day, dict(by_hand))), draws, threshold
    )


def must_fit(day: Day, best: Given, by_hand: Given) -> None:
    """Refuse orders that lose a stop, name one twice or ask what somebody cannot do."""
    wanted = sorted(stop for order in best.values() for stop in order)
    given = sorted(stop for order in by_hand.values() for stop in order)
    if wanted != given:
        lost, more = set(wanted) - set(given), set(given) - set(wanted)
        twice = {stop for stop in given if given.count(stop) > 1}
        told_of = "; ".join(
            f"{what} {', '.join(sorted(names))}"
            for what, names in (("missing:", lost), ("not of this day:", more), ("twice:", twice))
            if names
        )
        msg = f"this order does not hold the day's visits ({told_of}); put each in once"
        raise DayError(msg)
    for technician, order in by_hand.items():
        k = day.technician_at(technician)
        wrong = [stop for stop in order if k not in able(day, day.stop_at(stop))]
        if wrong:
            msg = f"{technician} cannot make {', '.join(wrong)}; give it to somebody who can"
            raise DayError(msg)


def _put_in(
    day: Day, orders: Given, stop: str, seed: int, threshold: float, *, first: bool
) -> Squeeze:
    new, before = day.stop_at(stop), rounds_of(day, dict(orders))
    if any(new in order for order in before):
        msg = f"{stop} is in the order already; take it out first"
        raise DayError(msg)
    if not able(day, new):
        msg = f"nobody of this day can visit {stop}; mend its skills or people, or ask somebody in"
        raise DayError(msg)
    draws = draw(day, seed, DRAWS)
    _, k, place = min(
        (float(cost), k, place)
        for k in able(day, new)
        for place, cost in enumerate(_extra(day, k, before[k], new, draws))
        if place == 0 or not first
    )
    after = [list(order) for order in before]
    after[k].insert(place, new)
    change = _change(day, (before, after), draws, threshold)
    return Squeeze(stop, day.technicians[k].id, place, change.after.late[stop], change)


def _extra(day: Day, k: int, order: list[int], new: int, draws: Draws) -> list[float]:
    """What each place of the new stop costs more than the order without it."""
    tried = np.array([[*order[:at], new, *order[at:]] for at in range(len(order) + 1)])
    without = expected_costs(day, k, np.array([order], dtype=np.intp), draws)[0]
    return [float(cost - without) for cost in expected_costs(day, k, tried, draws)]


def _change(day: Day, pair: tuple[Rounds, Rounds], draws: Draws, threshold: float) -> Change:
    (old, cost_before, _), (new, cost, error) = (told(day, rounds, draws) for rounds in pair)
    before, after = _late(old), _late(new)
    risks = tuple(
        Risk(stop, before.get(stop, 0.0), chance)
        for stop, chance in after.items()
        if stop in before and chance > threshold >= before[stop]
    )
    plan = DayPlan(new, (), cost, error, "as given", proven=False)
    return Change(
        cost=cost - cost_before,
        work=sum(one.work for one in new) - sum(one.work for one in old),
        metres=sum(one.metres for one in new) - sum(one.metres for one in old),
        at_risk=risks,
        after=plan,
    )


def _late(rounds: tuple[Round, ...]) -> dict[str, float]:
    return {visit.stop: visit.late for one in rounds for visit in one.visits}
