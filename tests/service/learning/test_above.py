"""What is suddenly above expectation, kept for a day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from some_jobs import some_jobs
from tubside.learning.history import MILLION, ClosedJob
from tubside.service.data_folder import open_data
from tubside.service.learning.above import above_today, look
from tubside.service.library import Library
from tubside.store.opening import Store

NOW = datetime(2026, 3, 20, 9, tzinfo=UTC)
LIBRARY = Library()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store."""
    opened = open_data(tmp_path / "data", lambda: NOW)
    yield opened
    opened.close()


def year(suddenly: int) -> list[ClosedJob]:
    """Fourteen quiet months of eight jobs, then so many belts in the last one."""
    one = some_jobs(1, 0)[0]
    months = [date(2025, 1, 5) + timedelta(days=30 * n) for n in range(14)]
    causes = ("pump-object", "door-lock", "pump-failed", "bearings")
    quiet = [
        replace(one, job=f"q{n}-{k}", closed=day, causes={causes[k % 4]: MILLION})
        for n, day in enumerate(months)
        for k in range(8)
    ]
    more = [
        replace(one, job=f"b{k}", closed=date(2026, 3, 2 + k), causes={"belt": MILLION})
        for k in range(suddenly)
    ]
    return quiet + more


def test_a_sudden_cause_is_told_and_kept(store: Store) -> None:
    """Tests that ten belts in a month are told in words, kept that day, and forgotten later."""
    found = look(store, LIBRARY, year(10), NOW)
    assert [one.family for one in found] == ["front_load"]
    assert found[0].words().startswith("Drive belt off, worn or slipping: 10 jobs since 2026-03")
    assert found[0].expected < 5.0
    assert found[0].quiet_years > 2.0
    assert above_today(store, LIBRARY, NOW) == found
    assert above_today(store, LIBRARY, NOW + timedelta(days=1)) == []  # looked anew: no jobs there
    look(store, LIBRARY, year(10), NOW)
    assert look(store, LIBRARY, year(10), NOW + timedelta(days=70)) == []


def test_a_month_is_looked_at_four_times(store: Store) -> None:
    """Tests that what was closed since the last of these days waits for the next one."""
    assert look(store, LIBRARY, year(10), NOW - timedelta(days=13)) == []
    assert look(store, LIBRARY, year(10), NOW - timedelta(days=12)) != []


def test_nothing_out_of_the_way(store: Store) -> None:
    """Tests that a year as ever raises nothing."""
    assert look(store, LIBRARY, year(0), NOW) == []
