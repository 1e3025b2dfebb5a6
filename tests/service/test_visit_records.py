"""Tests of what facts say of trips, and of jobs that wait."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tubside.errors import FactError
from tubside.service.records import Body, CameBack, Closing, Visit, decoded, encoded
from tubside.service.replay import stage_of, waiting_of
from tubside.service.views import Entry
from tubside.service.visit_records import MachineMoved, OnSite, Waiting

NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


def entries(*bodies: Body) -> list[Entry]:
    """Facts in a row, none taken back."""
    return [
        Entry(str(n), "phone", NOON, body, None, None, doubtful=False)
        for n, body in enumerate(bodies)
    ]


def test_a_visit_written_before_is_the_same_text_still() -> None:
    """Tests that what a visit may say since leaves old facts byte for byte as they were."""
    old = (
        '{"arrive_from":"2026-03-04T12:00:00Z","arrive_until":"2026-03-04T12:00:00Z",'
        '"kind":"visit","status":"booked"}'
    )
    assert encoded(decoded(old)) == old


def test_a_whole_visit_is_kept_whole() -> None:
    """Tests that who goes, how long it takes and what it needs survive being written."""
    body = Visit(
        status="booked",
        arrive_from=NOON,
        arrive_until=NOON,
        technician="ida",
        on_site=OnSite(mean=40, low=20, high=70),
        skills=["gas"],
        people=2,
        words="words-0001",
    )
    assert decoded(encoded(body)) == body
    with pytest.raises(FactError, match="reason"):
        decoded('{"kind":"visit","status":"failed","reason":"rain"}')


@pytest.mark.parametrize(
    ("bodies", "what", "stage"),
    [
        ([Waiting(what="part", until=NOON)], "part", "waiting"),
        ([Waiting(what="quote"), Waiting(what="ring-back")], "ring-back", "waiting"),
        ([Waiting(what="quote"), Waiting()], None, "waiting"),
        ([Waiting(what="visit"), Visit(status="booked")], None, "visit booked"),
        ([Visit(status="booked"), Visit(status="failed", reason="nobody-home")], None, "waiting"),
        ([Waiting(what="part"), Closing(confirmed_by="seen")], None, "closed"),
        ([Closing(confirmed_by="seen"), MachineMoved(to="home")], None, "closed"),
        ([Closing(confirmed_by="seen"), CameBack(), Waiting(what="visit")], "visit", "waiting"),
    ],
)
def test_what_a_job_waits_for(bodies: list[Body], what: str | None, stage: str) -> None:
    """Tests that the last word counts, and that booking or closing ends a wait."""
    told = entries(*bodies)
    found = waiting_of(told)
    assert (None if found is None else found.what) == what
    assert stage_of(told) == stage
