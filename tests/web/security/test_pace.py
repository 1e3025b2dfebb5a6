"""Tests of the pace: one bucket a sender, one for all, and no memory without end."""

from __future__ import annotations

from datetime import timedelta

import pytest

from asking import Clock
from tubside.service.tries import Rule
from tubside.web.security.pace import Pace, PaceRules, household


def test_a_sender_waits_and_comes_back(clock: Clock) -> None:
    """Tests that the burst is taken, then one a second."""
    pace = Pace(clock, PaceRules(Rule(3, 1.0), Rule(100, 0.01)))
    assert [pace.wait("203.0.113.7") for _ in range(4)] == [0.0, 0.0, 0.0, 1.0]
    clock.now += timedelta(seconds=1)
    assert [pace.wait("203.0.113.7") for _ in range(2)] == [0.0, 1.0]


def test_a_flood_from_everywhere_meets_the_bucket_of_all(clock: Clock) -> None:
    """Tests that ever new addresses are slowed down together, and not all remembered."""
    pace = Pace(clock, PaceRules(Rule(3, 1.0), Rule(10, 0.5), kept=4))
    waits = [pace.wait(f"203.0.113.{n}") for n in range(12)]
    assert waits == [0.0] * 10 + [0.5] * 2
    assert len(pace.each) == 4


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
