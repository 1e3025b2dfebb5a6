"""The rest of a day: what is done stays done, and everybody goes on from where they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tubside.day.problem import Busy, Day, Technician, Travel, Window
from tubside.errors import DayError


@dataclass(frozen=True, slots=True)
class Stand:
    """How far a technician has come.

    ``at`` is the stop under way, or the last one done; None at the start place. ``since`` is
    when the visit under way began [s]; None when nothing is under way.
    """

    at: str | None = None
    since: float | None = None


def resumed(day: Day, now: float, done: frozenset[str], stands: Mapping[str, Stand]) -> Day:
    """Return what is left of a day: stops neither done nor under way, from ``now`` on.

    Parameters
    ----------
    day
        As planned in the morning.
    now
        Time [s].
    done
        Ids of the stops that are done, given up or failed; those under way need not be named.
    stands
        Technician -> how far. Who is not named is at the start place.

    Notes
    -----
    Somebody on the road counts as still at the place left last, so ``now`` should be when
    they left. A visit under way lasts as its log-normal says of visits that have lasted so
    long already. Pauses that should have begun before ``now`` count as taken.
    """
    for name in stands:
        day.technician_at(name)
    under_way = {one.at for one in stands.values() if one.at is not None and one.since is not None}
    gone = {day.stops[day.stop_at(name)].id for name in done | under_way}
    kept = [at for at, stop in enumerate(day.stops) if stop.id not in gone]
    technicians, rows = [], list(kept)
    for k, one in enumerate(day.technicians):
        stand = stands.get(one.id, Stand())
        here = day.start_node(k) if stand.at is None else day.stop_at(stand.at)
        technicians.append(_from_here(day, one, stand, now))
        rows += [here, day.start_node(k) + 1]
    return Day(
        tuple(day.stops[at] for at in kept), tuple(technicians), _cut(day.travel, rows), day.prices
    )


def _from_here(day: Day, one: Technician, stand: Stand, now: float) -> Technician:
    begin = max(now, one.hours.opens)
    busy, place = None, one.start
    if stand.at is not None:
        stop = day.stops[day.stop_at(stand.at)]
        place = stop.place
        if stand.since is not None:
            if stand.since > now:
                msg = f"{stop.id} cannot have begun after now; mend the time"
                raise DayError(msg)
            busy = Busy(stop.on_site, now - stand.since)
    return replace(
        one,
        start=place,
        hours=Window(begin, max(begin, one.hours.closes)),
        breaks=tuple(pause for pause in one.breaks if pause.earliest > now),
        busy=busy,
    )


def _cut(travel: Travel, rows: list[int]) -> Travel:
    """Travel between the named rows; a place may be named more than once."""
    index = np.ix_(rows, rows)
    return replace(travel, seconds=travel.seconds[index], metres=travel.metres[index])
