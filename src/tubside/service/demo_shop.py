"""The demo shop: twelve invented jobs in different stages, parts of its own, and its papers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import msgspec

from tubside.service.attachments import add_words
from tubside.service.demo_papers import Invoice, Quote, Tested, bill_it, prove_it, quote_it, settle
from tubside.service.jobs import Author, new_job, record, record_advice
from tubside.service.library import Library
from tubside.service.parts.listing_file import bring_in, read_list
from tubside.service.parts.moving import Hand
from tubside.service.people import PersonData, add_person
from tubside.service.records import Body, Closing, PersonNamed, Visit, WordsKept
from tubside.service.visit_records import OnSite
from tubside.service.visits.settings import TechnicianSetting, keep_technician
from tubside.store.opening import Store
from tubside.strict_yaml import convert, read_file

FILE = Path(__file__).parent / "demo_shop.yaml"
PARTS = Path(__file__).parent / "demo_parts.csv"
BETWEEN_FACTS = timedelta(seconds=8)


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base: unknown keys are refused."""


class Who(Record, frozen=True, kw_only=True):
    """An invented customer."""

    name: str
    phone: str
    address: str
    place: str = ""


class Moment(Record, frozen=True, kw_only=True):
    """Facts written down at once, hours from now, and the papers made after them."""

    hours: float
    facts: list[Body] = []
    tested: Tested | None = None
    quoted: Quote | None = None
    billed: Invoice | None = None


class Booked(Record, frozen=True, kw_only=True):
    """A visit agreed on at the first moment, hours from now."""

    in_hours: float
    window_hours: float
    technician: str | None = None
    minutes: tuple[float, float, float] | None = None
    """On site: mean, and the range of eight in ten."""


class ShopJob(Record, frozen=True, kw_only=True):
    """One job of the demo shop."""

    title: str
    who: Who
    words: str
    moments: list[Moment]
    visit: Booked | None = None


class ShopFile(Record, frozen=True, kw_only=True):
    """All jobs of the demo shop, and its two vans."""

    technicians: dict[str, TechnicianSetting]
    jobs: list[ShopJob]


@dataclass
class _Hand:
    """Writes facts as the two vans' phones would have, each a little later than the last."""

    fresh_id: Callable[[], str]
    now: datetime

    def clock(self) -> datetime:
        self.now += BETWEEN_FACTS
        return self.now

    def author(self) -> Author:
        return Author("demo-shop", self.clock, self.fresh_id)


def shop_jobs(path: Path = FILE) -> list[ShopJob]:
    """Return the jobs of the demo shop, oldest first.

    Raises
    ------
    FileProblemsError
        With every problem: file:line, what, and how to mend it.
    """
    jobs = convert(read_file(path, path.name), ShopFile).jobs
    return sorted(jobs, key=lambda job: job.moments[0].hours)


def fill(
    store: Store,
    library: Library,
    now: datetime,
    fresh_id: Callable[[], str],
    jobs: Sequence[ShopJob] | None = None,
) -> list[str]:
    """Write parts and jobs, all of the demo shop if none are named; their ids in that order."""
    settle(store, now)
    lines = read_list(PARTS.read_bytes(), PARTS.name)
    bring_in(store, lines, Hand(fresh_id(), "demo-shop", now), dry_run=False)
    for name, told in convert(read_file(FILE, FILE.name), ShopFile).technicians.items():
        keep_technician(store, name, told)
    chosen = shop_jobs() if jobs is None else jobs
    return [_write(store, library, job, _Hand(fresh_id, now), now) for job in chosen]


def _write(store: Store, library: Library, job: ShopJob, hand: _Hand, now: datetime) -> str:
    first, *later = job.moments
    hand.now = now + timedelta(hours=first.hours)
    author = hand.author()
    person, words = hand.fresh_id(), hand.fresh_id()
    add_person(store, person, PersonData(**msgspec.structs.asdict(job.who)), hand.now)
    job_id = new_job(store, author, [PersonNamed(ref=person), *first.facts, *_visit(job, now)])
    add_words(store, job_id, words, job.words, hand.now)
    record(store, job_id, author, WordsKept(ref=words, about="trouble"))
    for moment in later:
        if any(isinstance(body, Closing) for body in moment.facts):
            record_advice(store, library, job_id, author)
        hand.now = now + timedelta(hours=moment.hours)
        for body in moment.facts:
            record(store, job_id, author, body)
        _papers(store, library, job_id, author, moment)
    if not any(isinstance(body, Closing) for body in job.moments[-1].facts):
        record_advice(store, library, job_id, author)
    return job_id


def _papers(store: Store, library: Library, job: str, author: Author, moment: Moment) -> None:
    if moment.tested is not None:
        prove_it(store, library, job, author, moment.tested)
    if moment.quoted is not None:
        quote_it(store, library, job, author, moment.quoted)
    if moment.billed is not None:
        bill_it(store, library, job, author, moment.billed)


def _visit(job: ShopJob, now: datetime) -> list[Body]:
    if job.visit is None:
        return []
    start = (now + timedelta(hours=job.visit.in_hours)).replace(minute=0, second=0, microsecond=0)
    end = start + timedelta(hours=job.visit.window_hours)
    took = job.visit.minutes
    return [
        Visit(
            status="booked",
            arrive_from=start,
            arrive_until=end,
            technician=job.visit.technician,
            on_site=None if took is None else OnSite(mean=took[0], low=took[1], high=took[2]),
        )
    ]
