"""The shop's figures: counted by hand on a few jobs, and whole over the weeks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import pytest
from sqlalchemy import insert

from stores import START, Ticking
from tubside.service.after_records import ReturnOf
from tubside.service.authors import Author
from tubside.service.figures import figures
from tubside.service.jobs import new_job, record, take_back
from tubside.service.records import Body, CameBack, Closing, Machine, Place
from tubside.store.opening import Store
from tubside.store.tables import PAYMENTS

SITE, PHONE = Place(where="site"), Place(where="phone")
CLOSED = Closing(causes=["pump-object"], confirmed_by="re-run")
MACHINE = Machine(family="front_load")


def told(store: Store, author: Author, clock: Ticking, bodies: Sequence[tuple[float, Body]]) -> str:
    """Keep a job whose facts come so many minutes after its call; its id."""
    start = clock.now
    job = new_job(store, author, [MACHINE])
    for minutes, body in bodies:
        clock.now = start + timedelta(minutes=minutes)
        record(store, job, author, body)
    return job


def test_counted_by_hand(store: Store, author: Author, clock: Ticking) -> None:
    """Tests visits, returns of both kinds and minutes on jobs that can be counted by hand."""
    told(store, author, clock, [(10, SITE), (50, CLOSED)])  # once, 40 minutes
    told(store, author, clock, [(10, SITE), (30, PHONE), (3000, SITE), (3060, CLOSED)])  # twice
    told(store, author, clock, [(5, CLOSED)])  # by telephone
    told(store, author, clock, [(10, SITE), (70, CLOSED), (9000, CameBack())])
    first = told(store, author, clock, [(10, SITE), (130, CLOSED)])
    told(store, author, clock, [(1, ReturnOf(job=first))])
    told(store, author, clock, [(10, SITE)])  # still open
    found = figures(store, clock.now)
    assert (found.closed, found.visited, found.first_visit, found.came_back) == (5, 4, 1, 2)
    assert found.first_visit_rate == 0.25
    assert found.callback_rate == 0.4
    assert found.minutes == pytest.approx(60.0, abs=0.1)
    assert sum(week.closed for week in found.weeks) == 5
    assert all(week.monday.weekday() == 0 for week in found.weeks)


def test_what_was_taken_back_does_not_count(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that a closing taken back is none, and taking that back makes it one again."""
    job = new_job(store, author, [MACHINE, SITE])
    closing = record(store, job, author, CLOSED)
    undone = take_back(store, job, author, closing)
    assert figures(store, clock.now).closed == 0
    take_back(store, job, author, undone)
    assert figures(store, clock.now).closed == 1


def test_a_forgotten_leaving_is_no_minutes(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that a stay over eight hours is left out, and nothing is made of no stays."""
    told(store, author, clock, [(10, SITE), (2000, CLOSED)])
    assert figures(store, clock.now).minutes is None


def test_an_empty_shop(store: Store) -> None:
    """Tests that nothing is divided by nothing."""
    found = figures(store, START)
    assert (found.first_visit_rate, found.callback_rate, found.minutes) == (None, None, None)
    assert [week.takings for week in found.weeks] == [0] * 26


def test_takings_stand_in_their_week(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that payments and what went back are summed by week, and older ones left out."""
    job = told(store, author, clock, [])
    days = [("2026-03-02", 9000), ("2026-03-08", -1500), ("2026-02-27", 700), ("2025-01-01", 1)]
    with store.writing() as opened:
        for number, (day, cents) in enumerate(days):
            row = {"id": f"paid-{number:04}", "job": job, "cents": cents, "rounding": 0}
            row |= {"way": "cash", "paid_on": day, "kept_at": START}
            opened.execute(insert(PAYMENTS).values(row))
    weeks = figures(store, START).weeks
    assert [week.takings for week in weeks[-2:]] == [700, 7500]
    assert sum(week.takings for week in weeks) == 8200
