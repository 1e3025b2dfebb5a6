"""Tests of the pace: one bucket a sender, one for all, and no memory without end."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from asking import Clock
from tubside.service.tries import Rule
from tubside.store.opening import Store
from tubside.store.tables import TRIES
from tubside.web.security import pace
from tubside.web.security.pace import Pace, PaceRules, SharedPace, household


def test_a_sender_waits_and_comes_back(clock: Clock) -> None:
    """Tests that the burst is taken, then one a second."""
    alone = Pace(clock, PaceRules(Rule(3, 1.0), Rule(100, 0.01)))
    assert [alone.wait("203.0.113.7") for _ in range(4)] == [0.0, 0.0, 0.0, 1.0]
    clock.now += timedelta(seconds=1)
    assert [alone.wait("203.0.113.7") for _ in range(2)] == [0.0, 1.0]


def test_a_flood_from_everywhere_meets_the_bucket_of_all(clock: Clock) -> None:
    """Tests that ever new addresses are slowed down together, and not all remembered."""
    alone = Pace(clock, PaceRules(Rule(3, 1.0), Rule(10, 0.5), kept=4))
    waits = [alone.wait(f"203.0.113.{n}") for n in range(12)]
    assert waits == [0.0] * 10 + [0.5] * 2
    assert len(alone.each) == 4


@pytest.mark.parametrize(
    ("address", "who"),
    [
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("::ffff:203.0.113.7", "203.0.113.7"),
        ("nobody", ""),
    ],
)
def test_who_is_one_sender(address: str, who: str) -> None:
    """Tests that a household's IPv6 network counts as one."""
    assert household(address) == who


def test_servers_before_one_store_share_the_pace(store: Store, clock: Clock) -> None:
    """Tests that who asks two servers in turn waits as with one, and comes back."""
    rules = PaceRules(Rule(3, 1.0), Rule(5, 0.5))
    first, second = (SharedPace(store, clock, rules) for _ in range(2))
    waits = [pace.wait("203.0.113.7") for pace in (first, second, first, second)]
    assert waits == [0.0, 0.0, 0.0, 1.0]
    assert [second.wait("2001:db8::1"), first.wait("2001:db8::2")] == [0.0, 0.0]
    assert second.wait("198.51.100.1") == 0.5  # everybody together
    clock.now += timedelta(seconds=1)
    assert [first.wait("203.0.113.7"), second.wait("203.0.113.7")] == [0.0, 1.0]


def test_senders_are_forgotten_once_their_bucket_is_full(
    store: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a flood from ever new addresses leaves no rows for ever."""
    monkeypatch.setattr(pace, "FORGET_EVERY", 5)
    shared = SharedPace(store, clock)
    for number in range(4):
        assert shared.wait(f"203.0.113.{number}") == 0.0
    clock.now += 2 * pace.FORGET_AFTER
    assert shared.wait("198.51.100.1") == 0.0
    with store.reading() as opened:
        left = set(opened.execute(select(TRIES.c.key)).scalars())
    assert left == {"pace.all", "pace.of:198.51.100.1"}


def test_one_server_of_a_file_counts_in_memory(store: Store, clock: Clock) -> None:
    """Tests that only before a server of databases each request costs a note in it."""
    kind = Pace if store.file is not None else SharedPace
    assert type(pace.pace_of(store, clock)) is kind
