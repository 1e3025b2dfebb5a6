"""What follows a closed job: its warranty, and a return that is linked to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection

from tubside.economics.warranty import Cover, Terms, cover
from tubside.errors import FactError, NotThereError
from tubside.service.after_records import ReturnOf, WarrantyGiven
from tubside.service.authors import Author
from tubside.service.jobs import new_job
from tubside.service.records import Body, CameBack, Closing, Machine, PersonNamed, encoded
from tubside.service.refs import need_job
from tubside.service.replay import counting, latest, line_of, source_of
from tubside.service.views import Entry
from tubside.store import beside, facts, job_rows
from tubside.store.opening import Store

MOST_EARLIER = 20


@dataclass(frozen=True, slots=True)
class Closed:
    """A job that was closed: when, with which causes, and what was promised of it."""

    id: str
    at: datetime
    causes: tuple[str, ...]
    terms: Terms
    promised: bool
    """Whether somebody said so; else the usual terms of the trade stand in."""
    model: str | None
    family: str | None

    def cover(self, day: date) -> Cover:
        """What is covered on a day."""
        return cover(self.at.astimezone().date(), self.terms, day)


def closed_job(store: Store, job: str) -> Closed | None:
    """A job as it was last closed; None where it never was. NotThereError if there is none."""
    with store.reading() as opened:
        need_job(opened, job)
        return _closed(job, line_of(facts.of_job(opened, job)))


def _closed(job: str, entries: Sequence[Entry]) -> Closed | None:
    closings = [e for e in entries if isinstance(e.body, Closing) and e.retracted_by is None]
    if not closings:
        return None
    last, told = closings[-1], source_of(entries).job
    assert isinstance(last.body, Closing)
    given = latest(entries, WarrantyGiven)
    terms = Terms() if given is None else Terms(given.labour_days, given.part_days)
    causes = tuple(last.body.causes)
    return Closed(job, last.at, causes, terms, given is not None, told.model, told.family)


def returned_job(store: Store, entries: Sequence[Entry]) -> Closed | None:
    """The earlier job that this one is a return for; None where it is none."""
    link = latest(entries, ReturnOf)
    if link is None:
        return None
    try:
        return closed_job(store, link.job)
    except NotThereError:
        return None  # it was opened on a phone whose facts have not all arrived


def returns_of(store: Store, job: str) -> list[str]:
    """Jobs that were opened as returns for this one, sorted."""
    with store.reading() as opened:
        found = facts.jobs_naming(opened, "return-of", [encoded(ReturnOf(job=job))])
        return sorted(one for one in found if _links(opened, one, job))


def _links(opened: Connection, job: str, earlier: str) -> bool:
    link = latest(line_of(facts.of_job(opened, job)), ReturnOf)
    return link is not None and link.job == earlier


def earlier_jobs(store: Store, job: str) -> list[Closed]:
    """Closed jobs of the same person, the last closed first: what this may be a return for."""
    with store.reading() as opened:
        need_job(opened, job)
        named = latest(line_of(facts.of_job(opened, job)), PersonNamed)
        if named is None:
            return []
        people = beside.versions_of(opened, named.ref)
        ids = job_rows.closed_of(opened, people, MOST_EARLIER)
        lines = [(one, line_of(facts.of_job(opened, one))) for one in ids if one != job]
    found = [closed for one, line in lines if (closed := _closed(one, line)) is not None]
    return sorted(found, key=lambda one: one.at, reverse=True)


def open_return(store: Store, job: str, author: Author) -> str:
    """Open a job as the return for a closed one: the same machine, the same person; its id.

    Raises
    ------
    FactError
        When the earlier job is still open: then the trouble came back in it.
    NotThereError
        When there is no such job.
    """
    with store.reading() as opened:
        need_job(opened, job)
        entries = line_of(facts.of_job(opened, job))
    if not is_closed(entries):
        msg = "this job is still open; tell there that the trouble came back"
        raise FactError(msg)
    told, named = source_of(entries).job, latest(entries, PersonNamed)
    bodies: list[Body] = [ReturnOf(job=job)]
    if told.family is not None or told.model is not None:
        bodies.append(
            Machine(
                family=told.family,
                model=told.model,
                age_years=told.age_years,
                variants=dict(told.variants),
            )
        )
    bodies += [] if named is None else [named]
    return new_job(store, author, bodies)


def is_closed(entries: Sequence[Entry]) -> bool:
    """Whether a job's last word is its closing."""
    last = [body for body in counting(entries) if isinstance(body, Closing | CameBack)]
    return bool(last) and isinstance(last[-1], Closing)


def linkable(store: Store, job: str, earlier: str) -> ReturnOf:
    """The fact that links a job to an earlier one.

    Raises
    ------
    FactError
        When the earlier one is the job itself, or was never closed.
    NotThereError
        When there is no such job.
    """
    if earlier == job:
        msg = "a job cannot be a return for itself"
        raise FactError(msg)
    if closed_job(store, earlier) is None:
        msg = "that job was never closed; a return is for a job that was"
        raise FactError(msg)
    return ReturnOf(job=earlier)
