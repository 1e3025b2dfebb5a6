"""The shop's own closed jobs as learning sees them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from stores import Ticking
from tubside.learning.history import CheckTold, ClosedJob, job_of, row_of
from tubside.service.after_records import ReturnOf
from tubside.service.authors import Author
from tubside.service.jobs import new_job, record, take_back
from tubside.service.learning.history import closed_jobs
from tubside.service.library import Library
from tubside.service.part_records import PartUsed
from tubside.service.parts.articles import Article, Offer, keep_article, keep_offer
from tubside.service.records import (
    AdviceShown,
    Body,
    CheckDone,
    Closing,
    Machine,
    Place,
    RemedyDone,
    Reported,
)
from tubside.store.opening import Store

CALL: tuple[Body, ...] = (
    Machine(family="front_load", age_years=7),
    Reported(conditions=["wont_drain"]),
)
SITE = Place(where="site")
SCREEN = CheckDone(check="strainer", outcome="blocked", by="technician")
STANDS = CheckDone(check="water-standing", outcome="yes", by="customer")
CLEARED = RemedyDone(remedy="clear-strainer", outcome="works", by="technician")
SEEN = Closing(causes=["pump-object"], confirmed_by="seen")
LIBRARY = Library()


def told(store: Store, author: Author, clock: Ticking, bodies: Sequence[tuple[float, Body]]) -> str:
    """Keep a job whose facts come so many minutes after its call; its id."""
    start = clock.now
    job = new_job(store, author, CALL)
    for minutes, body in bodies:
        clock.now = start + timedelta(minutes=minutes)
        record(store, job, author, body)
    return job


def row(store: Store, job: str) -> ClosedJob:
    """One job's row."""
    return next(one for one in closed_jobs(store, LIBRARY) if one.job == job)


def test_a_plain_job(store: Store, author: Author, clock: Ticking) -> None:
    """Tests every field of a job that was seen and mended, counted by hand."""
    facts: list[tuple[float, Body]] = [(2, STANDS), (60, SITE), (66, SCREEN), (80, CLEARED)]
    job = told(store, author, clock, [*facts, (81, STANDS), (90, SEEN)])
    found = row(store, job)
    assert (found.family, found.complaint, found.age_years) == ("front_load", "wont_drain", 7)
    assert found.causes == {"pump-object": 1_000_000}
    assert (found.sure, found.several, found.by_phone) == ("seen", 0, False)
    assert found.checks == (
        CheckTold("water-standing", "yes", "customer"),
        CheckTold("strainer", "blocked", "technician"),
    )
    assert found.decided == {"strainer"}
    assert found.remedies == {"clear-strainer": True}
    assert found.minutes == {"strainer": 6, "clear-strainer": 14, "water-standing": 1}
    assert job_of(row_of(found)) == found


def test_a_return_undoes_the_earlier_closing(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that a job that came back is in doubt again, by what was said when it was closed."""
    advice = AdviceShown(steps=[], leading={"pump-object": 0.6, "pump-failed": 0.3})
    first = told(store, author, clock, [(3, STANDS), (4, advice), (60, SEEN)])
    assert row(store, first).causes == {"pump-object": 1_000_000}
    again = told(store, author, clock, [(1, ReturnOf(job=first)), (60, SEEN)])
    found = row(store, first)
    assert found.sure == "not-confirmed"
    assert found.causes == {"pump-object": 600_000, "pump-failed": 300_000}
    assert found.decided == frozenset()
    assert found.several is None
    assert row(store, again).callback_of == first


def test_a_return_counts_from_the_day_it_is_linked(
    store: Store, author: Author, clock: Ticking
) -> None:
    """Tests that an open return puts the earlier job in doubt, and a link taken back does not."""
    first = told(store, author, clock, [(3, STANDS), (60, SEEN)])
    again = new_job(store, author, CALL)
    link = record(store, again, author, ReturnOf(job=first))
    assert row(store, first).sure == "not-confirmed"
    take_back(store, again, author, link)
    assert row(store, first).sure == "seen"


def test_taken_back_and_open_jobs(store: Store, author: Author) -> None:
    """Tests that what was taken back is not there, and a job without a closing neither."""
    job = new_job(store, author, [*CALL, STANDS])
    wrong = record(store, job, author, SCREEN)
    assert closed_jobs(store, LIBRARY) == ()
    take_back(store, job, author, wrong)
    closing = record(store, job, author, SEEN)
    assert row(store, job).checks == (CheckTold("water-standing", "yes", "customer"),)
    take_back(store, job, author, closing)
    assert closed_jobs(store, LIBRARY) == ()


def test_cleared_on_the_telephone(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that a customer's own remedy without a visit is told as such, and none of minutes."""
    cleared = RemedyDone(remedy="clear-strainer", outcome="works", by="customer")
    closing = Closing(causes=["pump-object", "too-much-suds"], confirmed_by="remedy-worked")
    found = row(store, told(store, author, clock, [(5, STANDS), (9, cleared), (10, closing)]))
    assert (found.by_phone, found.minutes, found.decided) == (True, {}, frozenset())
    assert found.causes == {"pump-object": 500_000, "too-much-suds": 500_000}
    assert found.several == 1_000_000


def test_what_a_part_cost(store: Store, author: Author, clock: Ticking) -> None:
    """Tests that the price is the last one asked before the part was used."""
    keep_article(store, Article("A-1", "Pump", ("front_load/drain-pump",)), clock())
    keep_offer(store, "offer-000001", "A-1", Offer("Pike", 4500, 2.0), clock())
    used = PartUsed(part="A-1", place="workshop")
    job = told(store, author, clock, [(5, used), (9, SEEN)])
    keep_offer(store, "offer-000002", "A-1", Offer("Pike", 9900, 2.0), clock())
    assert row(store, job).prices == {"drain-pump": 4500}
