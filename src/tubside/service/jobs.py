"""Jobs as the pages see them: facts in, views out.

Nothing is changed in place: :func:`record` appends, :func:`take_back` appends a
fact that retracts another, and every view is computed from the facts and the
packs. Clocks and ids are handed in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from tubside.errors import FactError, JobFileError, NotThereError, Problem
from tubside.service.authors import Author, Recorded, Written
from tubside.service.coding import coded_facts
from tubside.service.job_list import job_line
from tubside.service.library import Library
from tubside.service.records import AdviceShown, Body, Retract, Slip
from tubside.service.refs import check_ref, need_job, need_ref
from tubside.service.replay import latest, source_of
from tubside.service.told import ToldAdvice
from tubside.service.viewing import advised_on, view_of
from tubside.service.views import Entry, JobLine, JobView, PhotoNote, Stage
from tubside.service.writing import append, made_elsewhere, made_here
from tubside.store import facts as kept
from tubside.store import job_rows
from tubside.store.opening import Store

__all__ = [
    "Author",
    "Entry",
    "JobLine",
    "JobView",
    "PhotoNote",
    "Recorded",
    "Stage",
    "Written",
    "check_body",
    "job_lines",
    "job_view",
    "new_job",
    "record",
    "record_advice",
    "record_written",
    "take_back",
]

ADVISED_CAUSES = 5


def new_job(store: Store, author: Author, bodies: Sequence[Body]) -> str:
    """Open a job with its first facts (at least one), all or none; the job's id.

    Raises
    ------
    FactError
        When a body holds what its kind does not allow.
    """
    if not bodies:
        msg = "a job needs a first fact"
        raise FactError(msg)
    job_id = check_ref(author.fresh_id())
    with store.writing() as opened:
        _, rows = made_here(opened, job_id, author, bodies)
        append(opened, job_id, rows)
    return job_id


def record(
    store: Store,
    job_id: str,
    author: Author,
    body: Body,
    computed_from: str | None = None,
    seen: Mapping[str, int] | None = None,
) -> str:
    """Append a fact; its id. Safe on disk when this returns.

    ``computed_from`` and ``seen`` are those of the page that the author looked at;
    without ``seen``, everything kept counts as seen.

    Raises
    ------
    FactError
        When the body holds what its kind does not allow.
    FactClashError
        When ``author.fresh_id`` gives the id of another fact.
    NotThereError
        When there is no such job.
    """
    with store.writing() as opened:
        need_job(opened, job_id)
        ids, rows = made_here(opened, job_id, author, [body], seen, computed_from)
        append(opened, job_id, rows)
    return ids[0]


def check_body(library: Library, view: JobView, body: Body) -> None:
    """Refuse a fact that names what the job's pack or panel does not know.

    Raises
    ------
    JobFileError, UnknownNameError
        What is wrong and how to mend it.
    """
    probe = Entry("", "", datetime.max.replace(tzinfo=UTC), body, None, None, doubtful=False)
    source = source_of((*view.entries, probe))
    if source.job.family is None and source.job.model is None:
        return
    known = library.of(source.job)
    try:
        coded_facts(source, known)
    except JobFileError as wrong:
        mine = [p for p in wrong.problems if p.line == len(view.entries) + 1]
        if mine:
            raise JobFileError([_plain(problem) for problem in mine]) from None


def _plain(problem: Problem) -> Problem:
    return replace(problem, file="this fact", line=1)


def record_written(
    store: Store, job_id: str, facts: Sequence[tuple[Written, Body]], now: datetime
) -> Recorded:
    """Append facts made elsewhere, all or none; the same facts again change nothing.

    Raises
    ------
    FactError
        When a body or its authorship is not allowed.
    FactClashError
        When an id or a (device, sequence) is taken by a fact that says something else.
    """
    check_ref(job_id)
    rows = list(made_elsewhere(job_id, facts, now))
    with store.writing() as opened:
        added = {row.id for row in append(opened, job_id, rows)} if rows else set()
    ids = dict.fromkeys(row.id for row in rows)
    return Recorded(
        tuple(name for name in ids if name in added),
        tuple(name for name in ids if name not in added),
    )


def take_back(
    store: Store, job_id: str, author: Author, fact_id: str, reason: Slip = "other"
) -> str:
    """Append a fact that takes another one of the job back; its id.

    Raises
    ------
    NotThereError
        When the job has no such fact.
    """
    with store.writing() as opened:
        need_job(opened, job_id)
        need_ref(fact_id, "fact")
        there = kept.fact(opened, fact_id)
        if there is None or there.job != job_id:
            msg = f"this job has no fact {fact_id!a}"
            raise NotThereError(msg)
        ids, rows = made_here(opened, job_id, author, [Retract(fact=fact_id, reason=reason)])
        append(opened, job_id, rows)
    return ids[0]


def record_advice(store: Store, library: Library, job_id: str, author: Author) -> str | None:
    """Append what is advised now, unless that was the last thing advised; its id or None.

    To be called after every fact taken from a form: it also makes the next page quick.
    """
    found = advised_on(store, library, job_id)
    if found.advice is None:
        return None
    shown = _shown(found.advice)
    if latest(found.entries, AdviceShown) == shown:
        return None
    return record(store, job_id, author, shown, found.computed_from, found.seen)


def _shown(advice: ToldAdvice) -> AdviceShown:
    steps = [step.id for step in advice.steps]
    leading = {c.id: round(c.probability, 4) for c in advice.causes[:ADVISED_CAUSES]}
    return AdviceShown(steps=steps, first=steps[0] if steps else None, leading=leading)


def job_view(store: Store, library: Library, job_id: str) -> JobView:
    """The whole job, computed from its facts.

    Raises
    ------
    NotThereError
        When there is no such job.
    """
    return view_of(store, library, job_id)


def job_lines(
    store: Store,
    library: Library,
    limit: int = 50,
    after: str | None = None,
    *,
    closed: bool = False,
) -> list[JobLine]:
    """Open jobs (or the closed ones), the one with the latest fact first.

    ``after`` is the id of the last job of the page before; NotThereError if there is
    no such job.
    """
    with store.reading() as opened:
        if after is not None:
            need_job(opened, after)
        rows = job_rows.listed(opened, closed=closed, limit=limit, after=after)
    return [job_line(library, row, data) for row, data in rows]
