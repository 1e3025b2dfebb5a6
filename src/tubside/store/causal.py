"""The order of a job's facts: causal, then time, then id.

A fact follows another of the same device with a smaller number, every fact that its
author had seen, and the fact it takes back. Facts that follow neither way are
*concurrent*. The order is the same in whatever order the facts arrived: Lamport,
"Time, Clocks, and the Ordering of Events in a Distributed System", Communications
of the ACM 21(7), 1978; what an author had seen is kept as a vector of numbers
(Mattern, "Virtual Time and Global States of Distributed Systems", 1989).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from heapq import heapify, heappop, heappush

Clock = dict[str, int]
"""Device -> highest number of it that came before, itself included."""


@dataclass(frozen=True, slots=True)
class Event:
    """What the order depends on; ``after`` names a fact this one must follow."""

    id: str
    device: str
    sequence: int
    at: datetime
    seen: Mapping[str, int]
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Placed:
    """An event in its place: ``position`` in what was handed in, and all it follows."""

    position: int
    event: Event
    clock: Clock

    def follows(self, other: Placed) -> bool:
        """Whether the other one came before this one for certain."""
        return self.clock.get(other.event.device, -1) >= other.event.sequence

    def concurrent(self, other: Placed) -> bool:
        """Whether nobody knows which came first."""
        return not self.follows(other) and not other.follows(self)


def in_order(events: Sequence[Event]) -> list[Placed]:
    """The events in causal order, then by time, then by id.

    Devices that contradict each other (each has seen the other first) are not
    waited for: the earliest of them goes first.
    """
    before = _before(events)
    waiting = [set(found) for found in before]
    followers: list[list[int]] = [[] for _ in events]
    for position, found in enumerate(before):
        for earlier in found:
            followers[earlier].append(position)
    left = set(range(len(events)))
    ready = [(events[i].at, events[i].id, i) for i in left if not waiting[i]]
    heapify(ready)
    placed: dict[int, Placed] = {}
    while left:
        if ready:
            position = heappop(ready)[2]
        else:
            position = min(left, key=lambda i: (events[i].at, events[i].id))
        if position not in left:
            continue
        left.remove(position)
        clocks = [placed[earlier].clock for earlier in before[position] if earlier in placed]
        placed[position] = Placed(position, events[position], _clock(events[position], clocks))
        for later in followers[position]:
            waiting[later].discard(position)
            if not waiting[later] and later in left:
                heappush(ready, (events[later].at, events[later].id, later))
    return list(placed.values())


def _before(events: Sequence[Event]) -> list[set[int]]:
    """For each event, the last one of each device that it follows."""
    numbers: dict[str, list[tuple[int, int]]] = {}
    for position, event in enumerate(events):
        numbers.setdefault(event.device, []).append((event.sequence, position))
    for listed in numbers.values():
        listed.sort()
    by_id = {event.id: position for position, event in enumerate(events)}
    result = []
    for position, event in enumerate(events):
        limits = {**event.seen, event.device: event.sequence - 1}
        found = {_last(numbers[d], limit) for d, limit in limits.items() if d in numbers}
        found.add(by_id.get(event.after or ""))
        result.append({one for one in found if one is not None and one != position})
    return result


def _last(numbers: Sequence[tuple[int, int]], limit: int) -> int | None:
    place = bisect_right(numbers, limit, key=lambda entry: entry[0])
    return numbers[place - 1][1] if place else None


def _clock(event: Event, before: Sequence[Clock]) -> Clock:
    clock: Clock = {event.device: event.sequence}
    for one in (event.seen, *before):
        for device, number in one.items():
            if device != event.device:
                clock[device] = max(clock.get(device, -1), number)
    return clock
