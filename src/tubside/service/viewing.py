"""A job computed from its facts, and its line in the list of jobs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

import msgspec
from sqlalchemy import Connection

from tubside import __version__
from tubside.errors import FactsDisagreeError, JobFileError, Problem, UnknownNameError
from tubside.pack.schema import DANGERS, Danger
from tubside.service.advise import advise
from tubside.service.danger import dangers
from tubside.service.job_file import JobFile, JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.parts.shelf import Stocked, stocked_kinds, with_stock
from tubside.service.people import Person, person_in
from tubside.service.records import (
    Body,
    Closing,
    Consent,
    DangerTold,
    Payer,
    PersonNamed,
    PhotoKept,
    Visit,
)
from tubside.service.refs import need_job, need_ref
from tubside.service.replay import latest, line_of, seen_of, source_of, stage_of, waiting_of
from tubside.service.told import ToldAdvice, safety, tell
from tubside.service.views import Entry, JobView, PhotoNote
from tubside.service.visit_records import MachineMoved
from tubside.store import beside
from tubside.store import facts as kept
from tubside.store.facts import FactRow
from tubside.store.opening import Store
from tubside.store.tables import PHOTOS


@dataclass(frozen=True, slots=True)
class Outcome:
    """What advising came to: advice, or the facts that cannot all be true."""

    advice: ToldAdvice | None = None
    disagree: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Known:
    """What is to be told of a job before any advice."""

    source: JobSource | None
    known: Knowledge | None
    computed_from: str | None
    dangers: tuple[Danger, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class _Beside:
    """What lies beside the facts."""

    person: Person | None
    words: dict[str, str | None]
    photos: tuple[PhotoNote, ...]


@dataclass(frozen=True, slots=True)
class Advised:
    """A job's facts and what is advised on them, without what lies beside the facts."""

    entries: tuple[Entry, ...]
    seen: dict[str, int]
    computed_from: str | None
    advice: ToldAdvice | None


def advised_on(store: Store, library: Library, job_id: str) -> Advised:
    """What is advised on a job; NotThereError when there is no such job."""
    need_ref(job_id, "job")
    with store.reading() as opened:
        rows = kept.of_job(opened, job_id)
        if not rows:
            need_job(opened, job_id)
        entries = line_of(rows)
        stocked = stocked_kinds(opened, _who_goes(entries))
    found = _known(library, entries, stocked)
    outcome, _ = _outcome(store, found, max(row.received_at for row in rows))
    return Advised(entries, seen_of(rows), found.computed_from, outcome.advice)


def view_of(store: Store, library: Library, job_id: str, *, advised: bool = True) -> JobView:
    """The whole job, without advice if none is wanted; NotThereError when there is no such job."""
    with store.reading() as opened:
        need_job(opened, job_id)
        rows = kept.of_job(opened, job_id)
        entries = line_of(rows)
        extras = _beside(opened, job_id, entries)
        stocked = stocked_kinds(opened, _who_goes(entries))
    found = _known(library, entries, stocked)
    last = max(row.received_at for row in rows)
    outcome, problems = _outcome(store, found, last) if advised else (Outcome(), found.problems)
    return _view(job_id, rows, entries, extras, (found, outcome, problems))


def bare_views(store: Store, library: Library, jobs: Collection[str]) -> list[JobView]:
    """Several jobs with what their facts alone say: no advice, no person, words and photos.

    Those that are not there are left out; they are read in one question.
    """
    with store.glancing() as opened:
        found = kept.of_jobs_or_named(opened, jobs, ())
    by_job: dict[str, list[FactRow]] = {}
    for row in found:
        by_job.setdefault(row.job, []).append(row)
    nothing, views = _Beside(None, {}, ()), []
    for job, rows in by_job.items():
        entries = line_of(rows)
        known = _known(library, entries, {})
        views.append(_view(job, rows, entries, nothing, (known, Outcome(), known.problems)))
    return views


def _view(
    job_id: str,
    rows: Sequence[FactRow],
    entries: tuple[Entry, ...],
    extras: _Beside,
    told: tuple[_Known, Outcome, tuple[Problem, ...]],
) -> JobView:
    found, outcome, problems = told
    return JobView(
        id=job_id,
        stage=stage_of(entries),
        opened_at=min(row.at for row in rows),
        entries=entries,
        seen=seen_of(rows),
        source=found.source,
        known=found.known,
        computed_from=found.computed_from,
        advice=outcome.advice,
        problems=problems,
        disagree=outcome.disagree,
        dangers=found.dangers,
        safety=safety(found.dangers),
        danger_asked=latest(entries, DangerTold) is not None,
        person=extras.person,
        words=extras.words,
        photos=extras.photos,
        payer=latest(entries, Payer),
        consent=latest(entries, Consent),
        visit=latest(entries, Visit),
        closing=latest(entries, Closing),
        waiting=waiting_of(entries),
        machine_at=latest(entries, MachineMoved),
    )


def _who_goes(entries: Sequence[Entry]) -> str | None:
    """Who makes the visit that is booked; None where none is, or the day's plan is to say."""
    visit = latest(entries, Visit)
    return visit.technician if visit is not None and visit.status == "booked" else None


def _beside(opened: Connection, job_id: str, entries: Sequence[Entry]) -> _Beside:
    named = latest(entries, PersonNamed)
    types = beside.file_types(opened, PHOTOS, job_id)
    bodies: list[Body] = [e.body for e in entries if e.retracted_by is None]
    notes = [PhotoNote(b.ref, b.of, types.get(b.ref)) for b in bodies if isinstance(b, PhotoKept)]
    person = None if named is None else person_in(opened, named.ref)
    return _Beside(person, beside.words_of(opened, job_id), tuple(notes))


def _known(library: Library, entries: Sequence[Entry], stocked: Stocked) -> _Known:
    source = source_of(entries)
    told = tuple(d for d in DANGERS if d in source.job.danger)
    if source.job.family is None and source.job.model is None:
        return _Known(None, None, None, told)
    try:
        known = library.of(source.job)
    except UnknownNameError as wrong:
        key = "model" if source.job.model is not None else "family"
        problem = source.document.problem((key,), str(wrong), "take it back and name another")
        return _Known(source, None, None, told, (problem,))
    source = JobSource(with_stock(source.job, known.pack, stocked), source.document)
    found = tuple(dangers(source.job, known.pack))
    return _Known(source, known, library.content_hash(source.job), found)


def _outcome(store: Store, found: _Known, now: datetime) -> tuple[Outcome, tuple[Problem, ...]]:
    """Advice where there is enough to advise on, taken from the store if it is there."""
    if found.source is None or found.known is None or not _enough(found):
        return Outcome(), found.problems
    key = told_key(found.source.job, str(found.computed_from))
    with store.glancing() as opened:
        outcome = _unpacked(beside.told(opened, key))
    if outcome is not None:
        return outcome, ()
    try:
        outcome = Outcome(tell(advise(found.source, found.known)))
    except FactsDisagreeError as clash:
        outcome = Outcome(None, clash.facts)
    except JobFileError as wrong:
        return Outcome(), wrong.problems
    with store.noting() as opened:
        beside.keep_told(opened, key, msgspec.json.encode(outcome).decode(), now)
    return outcome, ()


def _enough(found: _Known) -> bool:
    job = found.source.job if found.source is not None else JobFile()
    return bool(job.reported or job.indication or job.clip or found.dangers)


def told_key(job: JobFile, computed_from: str) -> str:
    """Everything advice depends on: the program, the knowledge, and what was told."""
    told = msgspec.json.encode(job, order="sorted")
    return sha256(f"{__version__}\0{computed_from}\0".encode() + told).hexdigest()


def _unpacked(text: str | None) -> Outcome | None:
    """What was kept; None when there is nothing, or another program wrote it otherwise."""
    if text is None:
        return None
    try:
        return msgspec.json.decode(text, type=Outcome)
    except msgspec.DecodeError:
        return None
