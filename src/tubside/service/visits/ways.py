"""How long the shop's ways take: a table it brought, a routing server, or a guess by the map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from sqlalchemy import Connection

from tubside.day.problem import MINUTE, Place, Technician, Travel
from tubside.day.routing_server import RoutingServer, routed_travel
from tubside.day.travel import great_circle_travel
from tubside.day.travel_file import read_travel, travel_over
from tubside.errors import DayError, RoutingServerError
from tubside.service.routing_fetch import fetch
from tubside.service.visits.booked import Booked
from tubside.service.visits.settings import TravelSetting
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting

TABLE = "day/travel-table"
LARGEST = 2_000_000
"""Bytes of a table; our own choice."""


@dataclass(frozen=True, slots=True)
class Ways:
    """The travel of a day, what it rests on, and the jobs whose place nobody knows."""

    travel: Travel
    notes: tuple[str, ...]
    unknown: tuple[str, ...]


def keep_table(store: Store, content: bytes, file: str = "travel.csv") -> None:
    """Keep a table ``from,to,minutes,km`` in place of the one before.

    Raises
    ------
    TravelFileError
        With every fault and its line.
    DayError
        When it is no text, or too large.
    """
    if len(content) > LARGEST:
        msg = f"the table has {len(content)} bytes, the most is {LARGEST}; leave out far places"
        raise DayError(msg)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        msg = "the table is no text in UTF-8; save it as CSV UTF-8"
        raise DayError(msg) from None
    read_travel(text, (), file)
    with store.writing() as opened:
        keep_setting(opened, TABLE, text)


def drop_table(store: Store) -> None:
    """Forget the table."""
    with store.writing() as opened:
        drop_setting(opened, TABLE)


def table_kept(opened: Connection) -> str:
    """Return the table as text, empty where none was brought."""
    return setting(opened, TABLE) or ""


def ways_of(
    visits: Sequence[Booked],
    technicians: Sequence[Technician],
    places: Sequence[Place],
    way: TravelSetting,
    table: str,
) -> Ways:
    """Return the travel between all places of a day, as :func:`places_of` orders them.

    The table calls a visit by the customer's address, and where a technician's round starts
    and ends ``ida start`` and ``ida end``, both in the words of the settings.
    """
    travel, notes = _without_table(places, way)
    unknown = [at for at, one in enumerate(visits) if one.place is None]
    travel = _guessed(travel, unknown, way)
    told: set[int] = set()
    if table:
        ends = [f"{one.id} {which}" for one in technicians for which in ("start", "end")]
        travel, known = travel_over(table, [*(one.street for one in visits), *ends], travel)
        np.fill_diagonal(known, 1.0)
        told = {at for at in unknown if known[at].all() and known[:, at].all()}
        missing = int((known == 0.0).sum())
        if missing:
            notes.append(f"The table of ways lacks {missing} pairs of places of this day.")
    return Ways(travel, tuple(notes), tuple(visits[at].job for at in unknown if at not in told))


def _without_table(places: Sequence[Place], way: TravelSetting) -> tuple[Travel, list[str]]:
    if way.router:
        try:
            found = routed_travel(places, RoutingServer(way.router), fetch)
            return found, list(found.notes)
        except RoutingServerError as wrong:
            note = f"The routing server did not help ({wrong}); ways are guessed from the map."
            return great_circle_travel(places, way.road_factor, way.speed_kmh / 3.6), [note]
    return great_circle_travel(places, way.road_factor, way.speed_kmh / 3.6), []


def _guessed(travel: Travel, unknown: Sequence[int], way: TravelSetting) -> Travel:
    seconds, metres = travel.seconds.copy(), travel.metres.copy()
    for at in unknown:
        seconds[at, :] = seconds[:, at] = way.unknown_minutes * MINUTE
        metres[at, :] = metres[:, at] = seconds[at, at] * way.speed_kmh / 3.6
    np.fill_diagonal(seconds, 0.0)
    np.fill_diagonal(metres, 0.0)
    return replace(travel, seconds=seconds, metres=metres)
