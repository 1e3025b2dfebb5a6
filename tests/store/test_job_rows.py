"""The list of jobs: which closed ones are looked through, in the order of their latest fact."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import insert

from stores import START
from tubside.store import job_rows
from tubside.store.opening import Store
from tubside.store.tables import FACTS, JOBS


def put(store: Store, name: str, minute: int, *kinds: str, closed: bool = True) -> None:
    """Put a job into the store, with a fact of each of some kinds."""
    row = job_rows.JobRow(
        id=name,
        opened_at=START,
        last_at=START + timedelta(minutes=minute),
        stage="closed" if closed else "call",
        closed=closed,
        family=None,
        model=None,
        trouble="{}",
        danger=False,
        person=None,
        leading=None,
        chance=None,
        fee=None,
    )
    with store.writing() as opened:
        opened.execute(insert(JOBS).values({n: getattr(row, n) for n in job_rows.JobRow.__slots__}))
        for place, kind in enumerate(kinds):
            opened.execute(
                insert(FACTS).values(
                    id=f"{name}-{place}",
                    job=name,
                    device=name,
                    sequence=place,
                    at=START,
                    seen="{}",
                    kind=kind,
                    body=f"{kind} of {name}",
                    received_at=START,
                )
            )


def test_closed_jobs_without_a_decision(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that of closed jobs those without one kind of fact and with another are found."""
    put(store, "old", 1, "check")
    put(store, "late", 5, "check", "words", "danger")
    put(store, "decided", 4, "check", "release")
    put(store, "nothing", 3, "words")
    put(store, "open", 6, "check", closed=False)
    with store.reading() as opened:
        found = job_rows.closed_without(opened, "release", ["check", "danger"], 9)
        assert list(found) == ["late", "old"]
        assert sorted(found["late"]) == [("check", "check of late"), ("danger", "danger of late")]
        assert list(job_rows.closed_without(opened, "release", ["check"], 1)) == ["late"]
        monkeypatch.setattr(job_rows, "FAR_BACK", 3)
        assert list(job_rows.closed_without(opened, "release", ["check"], 9)) == ["late"]


def test_pages_follow_each_other(store: Store) -> None:
    """Tests that pages of the list hold each job once, also where the moments are the same."""
    for number in range(7):
        put(store, f"job-{number}", number // 3)
    after, seen = None, []
    with store.reading() as opened:
        while page := job_rows.listed(opened, closed=True, limit=2, after=after):
            seen += [row.id for row, _ in page]
            after = seen[-1]
    assert seen == [f"job-{number}" for number in reversed(range(7))]
