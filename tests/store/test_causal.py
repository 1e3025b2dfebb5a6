"""Facts come in causal order, then by time, then by id, however they arrived."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tubside.store.causal import Event, Placed, in_order

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def event(name: str, minute: int, *, seen: dict[str, int] | None = None, after: str = "") -> Event:
    """Return an event of the device that its name begins with, numbered by its name."""
    return Event(name, name[0], int(name[1:]), NOON + timedelta(minutes=minute), seen or {}, after)


def names(placed: list[Placed]) -> list[str]:
    """Return the ids in order."""
    return [one.event.id for one in placed]


@st.composite
def histories(draw: st.DrawFn) -> list[Event]:
    """Draw what three devices wrote, each having seen some of the others, clocks astray."""
    events: list[Event] = []
    known: dict[str, dict[str, int]] = {"a": {}, "b": {}, "c": {}}
    for _ in range(draw(st.integers(1, 14))):
        device = draw(st.sampled_from("abc"))
        for other in "abc".replace(device, ""):
            if draw(st.booleans()) and known[other]:
                for third, number in known[other].items():
                    known[device][third] = max(number, known[device].get(third, 0))
        number = known[device].get(device, 0) + 1
        seen = {d: n for d, n in known[device].items() if d != device}
        events.append(event(f"{device}{number}", draw(st.integers(-30, 30)), seen=seen))
        known[device][device] = number
    return events


def precedes(one: Event, other: Event) -> bool:
    """Return whether one is certainly before another, from the definition."""
    if one.device == other.device:
        return one.sequence < other.sequence
    return one.sequence <= other.seen.get(one.device, 0)


@given(histories(), st.randoms(use_true_random=False))
def test_any_arrival_gives_the_same_order(events: list[Event], luck: st.Random) -> None:  # type: ignore[name-defined]
    """Tests that shuffled facts are put into one and the same order."""
    order = names(in_order(events))
    luck.shuffle(events)
    assert names(in_order(events)) == order


@given(histories())
def test_nothing_comes_before_what_its_author_had_seen(events: list[Event]) -> None:
    """Tests that the order keeps every cause before its effect, whatever clocks say."""
    order = in_order(events)
    for place, later in enumerate(order):
        assert not any(precedes(later.event, earlier.event) for earlier in order[:place])


@given(histories())
def test_concurrent_is_what_neither_had_seen(events: list[Event]) -> None:
    """Tests that two facts are concurrent exactly when neither precedes the other."""
    order = in_order(events)
    for one in order:
        for other in order:
            if one is not other:
                free = not precedes(one.event, other.event) and not precedes(other.event, one.event)
                assert one.concurrent(other) == free


@given(histories())
def test_free_facts_go_by_time(events: list[Event]) -> None:
    """Tests that each place goes to the earliest fact of those that may stand there."""
    order = [placed.event for placed in in_order(events)]
    for place, chosen in enumerate(order):
        left = order[place:]
        may = [e for e in left if not any(precedes(other, e) for other in left)]
        assert chosen == min(may, key=lambda e: (e.at, e.id))


def test_same_time_goes_by_id() -> None:
    """Tests the last resort."""
    assert names(in_order([event("b1", 0), event("a1", 0)])) == ["a1", "b1"]


def test_a_take_back_follows_its_fact() -> None:
    """Tests that a take-back waits for what it takes back, though its clock is slow."""
    back = event("b1", -60, after="a1")
    assert names(in_order([back, event("a1", 0)])) == ["a1", "b1"]


def test_devices_that_contradict_each_other_are_placed() -> None:
    """Tests that two facts that each claim to follow the other do not hold up the rest."""
    one, other = event("a1", 5, seen={"b": 1}), event("b1", 3, seen={"a": 1})
    for arrival in ([one, other, event("c1", 9)], [event("c1", 9), other, one]):
        assert names(in_order(arrival)) == ["c1", "b1", "a1"]
