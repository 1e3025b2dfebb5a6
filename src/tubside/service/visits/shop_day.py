"""The shop's day planned: who goes where in which order, and what a change would cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo

import msgspec
import numpy as np

from tubside.day.changing import Change, Squeeze, cost_of_order, emergency, must_fit, squeeze
from tubside.day.planning import plan_day
from tubside.day.problem import Day, Place, Technician, places_of
from tubside.day.resuming import Stand, resumed
from tubside.day.timetable import DayPlan
from tubside.errors import DayError
from tubside.service.library import Library
from tubside.service.records import Visit
from tubside.service.viewing import view_of
from tubside.service.visits.booked import Booked, booked_on, midnight_of, waiting_visit
from tubside.service.visits.settings import (
    TravelSetting,
    home_of,
    technician_of,
    technician_settings,
    travel_setting,
)
from tubside.service.visits.ways import Ways, table_kept, ways_of
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting

ORDER = "day/order/"
SEED = 20_260_304
"""The days drawn are the same whenever the page is: numbers change only with the facts."""
SOON = timedelta(minutes=90)
"""By when somebody is promised in an emergency; our own choice."""

DAY = 86_400.0
"""Seconds after midnight from which a day is looked back on, as it was planned."""

Orders = dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Shop:
    """What a day is told from."""

    store: Store
    library: Library
    zone: tzinfo | None = None


@dataclass(frozen=True, slots=True)
class ShopDay:
    """A day as planned. ``left`` is what is left of it, on which all numbers stand."""

    date: date
    midnight: datetime
    visits: tuple[Booked, ...]
    left: Day
    plan: DayPlan
    by_hand: Change | None
    """What the order put in by hand costs against the plan's; None where nobody did."""
    notes: tuple[str, ...]
    """Of the whole shop; they name nobody."""
    unknown: tuple[str, ...] = ()
    """Jobs of places whose coordinates nobody knows."""
    unknown_minutes: float = 0.0

    def at(self, seconds: float) -> datetime:
        """Return the moment that lies so many seconds into the day."""
        return self.midnight + timedelta(seconds=seconds)

    def unknown_note(self, technician: str | None = None) -> str:
        """Return who lives where nobody knows, of everybody's or one technician's visits.

        Empty where all places are known. A technician's own names nobody else's customers.
        """
        mine = set(self.unknown)
        if technician is not None:
            mine &= set(self.plan.orders.get(technician, ()))
        shown = [one.label for one in self.visits if one.job in mine]
        if not shown:
            return ""
        return (
            f"Nobody knows where {', '.join(shown)} is on the map: every way there and from "
            f"there counts as {self.unknown_minutes:g} minutes."
        )


def shop_day(shop: Shop, day: date, now: datetime, also: Booked | None = None) -> ShopDay:
    """Return the day planned; from ``now`` on where it has begun.

    ``also`` is one more visit that is put among the stops and into nobody's order.

    Raises
    ------
    DayError
        When no technician's hours are set, or a setting cannot be.
    """
    midnight = midnight_of(day, shop.zone)
    visits = booked_on(shop.store, shop.library, day, shop.zone)
    if also is not None:
        visits = [one for one in visits if one.job != also.job]
    with shop.store.reading() as opened:
        told, way = technician_settings(opened), travel_setting(opened)
        hand, table = setting(opened, ORDER + day.isoformat()), table_kept(opened)
    home = home_of(told)
    if home is None:
        msg = "nobody's hours are set yet; the office sets where and when each technician works"
        raise DayError(msg)
    technicians = tuple(technician_of(name, one) for name, one in told.items())
    every = [*visits, also] if also is not None else visits
    whole, ways = _whole(every, technicians, (home, midnight), way, table)
    left = _left(whole, every, midnight, now)
    mine = left if also is None else _without(left, also.job)
    plan = plan_day(mine, SEED)
    by_hand = _by_hand(mine, plan, hand)
    return ShopDay(
        date=day,
        midnight=midnight,
        visits=tuple(visits),
        left=left,
        plan=plan if by_hand is None else replace(by_hand.after, left_out=plan.left_out),
        by_hand=by_hand,
        notes=(*ways.notes, *plan.notes),
        unknown=ways.unknown,
        unknown_minutes=way.unknown_minutes,
    )


def squeezed(
    shop: Shop, job: str, visit: Visit, now: datetime, *, urgent: bool
) -> tuple[ShopDay, Squeeze]:
    """Return the day, and what one more visit, or an emergency, does to it.

    Raises
    ------
    DayError
        When nobody can make the visit, or the day cannot be planned.
    NotThereError
        When there is no such job.
    """
    if urgent:
        visit = msgspec.structs.replace(visit, arrive_from=now, arrive_until=now + SOON)
    if visit.arrive_from is None:
        msg = "say for which window the visit is; a day and two times"
        raise DayError(msg)
    view = view_of(shop.store, shop.library, job, advised=False)
    if view.stage in {"closed", "on site"}:
        msg = "this job is closed, or somebody is at the machine; choose one that waits"
        raise DayError(msg)
    also = waiting_visit(view, visit)
    day = shop_day(shop, visit.arrive_from.astimezone(shop.zone).date(), now, also)
    put_in = emergency if urgent else squeeze
    return day, put_in(day.left, day.plan.orders, job, SEED)


def keep_order(shop: Shop, day: ShopDay, orders: Orders) -> None:
    """Keep an order put in by hand; DayError when it loses a visit or asks what cannot be."""
    must_fit(day.left, day.plan.orders, orders)
    with shop.store.writing() as opened:
        keep_setting(opened, ORDER + day.date.isoformat(), msgspec.json.encode(orders).decode())


def best_again(shop: Shop, day: date) -> None:
    """Forget the order put in by hand."""
    with shop.store.writing() as opened:
        drop_setting(opened, ORDER + day.isoformat())


def moved(orders: Orders, job: str, by: int, to: str | None = None) -> Orders:
    """Return the orders with one visit moved by places, or to the end of another's.

    >>> moved({"ida": ("a", "b"), "ned": ()}, "b", -1)
    {'ida': ('b', 'a'), 'ned': ()}
    >>> moved({"ida": ("a", "b"), "ned": ()}, "a", 0, "ned")
    {'ida': ('b',), 'ned': ('a',)}
    """
    owner = next((name for name, order in orders.items() if job in order), None)
    if owner is None or (to is not None and to not in orders):
        msg = f"this day has no such visit or technician: {job}"
        raise DayError(msg)
    rest = [one for one in orders[owner] if one != job]
    if to is not None and to != owner:
        return {**orders, owner: tuple(rest), to: (*orders[to], job)}
    rest.insert(max(0, orders[owner].index(job) + by), job)
    return {**orders, owner: tuple(rest)}


def put(orders: Orders, job: str, to: str, before: str) -> Orders:
    """Return the orders with one visit put before another one of a round, or last in it.

    >>> put({"ida": ("a", "b", "c"), "ned": ()}, "c", "ida", "a")
    {'ida': ('c', 'a', 'b'), 'ned': ()}
    >>> put({"ida": ("a", "b"), "ned": ("c",)}, "a", "ned", "")
    {'ida': ('b',), 'ned': ('c', 'a')}
    """
    here = {name: [one for one in order if one != job] for name, order in orders.items()}
    known = any(job in order for order in orders.values())
    if not known or to not in here or (before and before not in here[to]):
        msg = f"this day has no such visit, technician or place in the round: {job}"
        raise DayError(msg)
    here[to].insert(here[to].index(before) if before else len(here[to]), job)
    return {name: tuple(order) for name, order in here.items()}


def _whole(
    visits: Sequence[Booked],
    technicians: tuple[Technician, ...],
    stand_in: tuple[Place, datetime],
    way: TravelSetting,
    table: str,
) -> tuple[Day, Ways]:
    names = {one.id for one in technicians}
    stops = [one.stop(*stand_in) for one in visits]
    stops = [s if s.technician in names else replace(s, technician=None) for s in stops]
    ways = ways_of(visits, technicians, places_of(stops, technicians), way, table)
    return Day(tuple(stops), technicians, ways.travel), ways


def _left(whole: Day, visits: Sequence[Booked], midnight: datetime, moment: datetime) -> Day:
    """What is left from now on; a day that has not begun is left whole."""
    now, names = (moment - midnight).total_seconds(), {one.id for one in whole.technicians}
    if now <= min(one.hours.opens for one in whole.technicians) or now > DAY:
        return whole
    done = frozenset(one.job for one in visits if one.state == "done")
    stands: dict[str, Stand] = {}
    for one in sorted(visits, key=lambda visit: visit.since or midnight):
        who = one.visit.technician
        if one.since is None or who not in names or who is None:
            continue
        since = min(now, (one.since - midnight).total_seconds())
        stands[who] = Stand(one.job, since if one.state == "under way" else None)
    return resumed(whole, now, done, stands)


def _without(day: Day, job: str) -> Day:
    """The day without one of its stops."""
    at = day.stop_at(job)
    keep = [row for row in range(len(day.travel.seconds)) if row != at]
    index = np.ix_(keep, keep)
    travel = replace(day.travel, seconds=day.travel.seconds[index], metres=day.travel.metres[index])
    return replace(day, stops=day.stops[:at] + day.stops[at + 1 :], travel=travel)


def _by_hand(day: Day, plan: DayPlan, kept: str | None) -> Change | None:
    """The order put in by hand: visits done since leave it, those booked since go to its end."""
    if kept is None:
        return None
    given = msgspec.json.decode(kept, type=dict[str, tuple[str, ...]])
    there = {stop for order in plan.orders.values() for stop in order}
    orders: Orders = {
        name: tuple(stop for stop in given.get(name, ()) if stop in there) for name in plan.orders
    }
    named = {stop for order in orders.values() for stop in order}
    for name, order in plan.orders.items():
        orders[name] += tuple(stop for stop in order if stop not in named)
    try:
        return cost_of_order(day, plan.orders, orders, SEED)
    except DayError:
        return None  # somebody cannot make a visit any more: the plan's own order then holds
