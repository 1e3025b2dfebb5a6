"""Facts of a phone that had no signal: kept once each, and what others told meanwhile.

The job is the union of its facts by id, in whatever order and however often they come:
what does not fit the pack, or contradicts another phone, is kept and shown on the job's
page, where it can be taken back. Refused is only what cannot be kept at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import msgspec
from sqlalchemy import Connection

from tubside.errors import FactClashError, FactError, TubsideError
from tubside.service.attachments import add_photo, add_words
from tubside.service.authors import Written
from tubside.service.people import add_person
from tubside.service.records import Body, encoded
from tubside.service.replay import seen_of
from tubside.service.sent import (
    TELL_AGAIN,
    Batch,
    Result,
    SentBeside,
    SentFact,
    SentPerson,
    SentWords,
    read_beside,
    read_fact,
    refused,
)
from tubside.service.writing import append, made_elsewhere
from tubside.store import facts as kept
from tubside.store import job_rows
from tubside.store.facts import FactRow
from tubside.store.opening import Store

MOST_NEWS = 500
"""Facts of other devices told about in one answer, of one job."""


@dataclass(frozen=True, slots=True)
class News:
    """A fact that another device added; ``body`` is the stored JSON."""

    id: str
    device: str
    sequence: int
    at: datetime
    body: msgspec.Raw


@dataclass(frozen=True, slots=True)
class JobNews:
    """What a phone lacked of a job, and the highest number of each device here now."""

    seen: Mapping[str, int]
    others: tuple[News, ...]


@dataclass(frozen=True, slots=True)
class Synced:
    """The answer to a batch: what became of each thing sent, in the order sent, and news."""

    results: tuple[Result, ...]
    beside: tuple[Result, ...]
    jobs: Mapping[str, JobNews]
    touched: tuple[str, ...]
    """Jobs that got a fact by this batch."""


Told = tuple[int, SentFact, Body]
"""A fact with its place in the batch."""


def sync(store: Store, batch: Batch, now: datetime) -> Synced:
    """Keep what a phone sends; the same again, in whole or in part, changes nothing.

    Each job's facts are kept all at once; where one of them clashes with a fact that is
    there, the others are kept all the same.
    """
    results: dict[int, Result] = {}
    by_job: dict[str, list[Told]] = {}
    for place, raw in enumerate(batch.facts):
        found = read_fact(raw, place)
        if isinstance(found, Result):
            results[place] = found
        else:
            by_job.setdefault(found[0].job, []).append((place, *found))
    for job, told in by_job.items():
        results |= _keep(store, job, batch.device, told, now)
    beside = [_keep_beside(store, raw, place, now) for place, raw in enumerate(batch.beside)]
    touched = {told[0][1].job for told in by_job.values() if _any_kept(told, results)}
    return Synced(
        results=tuple(results[place] for place in range(len(batch.facts))),
        beside=tuple(beside),
        jobs=_news(store, batch, [*batch.known, *by_job]),
        touched=tuple(sorted(touched)),
    )


def _any_kept(told: Sequence[Told], results: Mapping[int, Result]) -> bool:
    return any(results[place].result == "kept" for place, _, _ in told)


def _keep(
    store: Store, job: str, device: str, told: Sequence[Told], now: datetime
) -> dict[int, Result]:
    """Results of facts of one job; a clash is narrowed down by halves."""
    try:
        with store.writing() as opened:
            return _kept(opened, job, device, told, now)
    except FactClashError as wrong:
        if len(told) == 1:
            place, sent, _ = told[0]
            where = f"fact {place + 1} of the message, of job {job}"
            return {place: refused(sent.id, str(wrong), where)}
    half = len(told) // 2
    first = _keep(store, job, device, told[:half], now)
    return first | _keep(store, job, device, told[half:], now)


def _kept(
    opened: Connection, job: str, device: str, told: Sequence[Told], now: datetime
) -> dict[int, Result]:
    there = kept.by_ids(opened, [sent.id for _, sent, _ in told])
    results: dict[int, Result] = {}
    fresh: list[tuple[int, FactRow]] = []
    for place, sent, body in told:
        row = there.get(sent.id)
        if row is not None and (row.job, row.body) == (job, encoded(body)):
            results[place] = Result(sent.id, "there")  # also a form whose answer was lost
            continue
        written = Written(sent.id, device, sent.sequence, sent.at, sent.seen, sent.computed_from)
        try:
            fresh += [(place, row) for row in made_elsewhere(job, [(written, body)], now)]
        except FactError as wrong:
            where = f"fact {place + 1} of the message, of job {job}"
            results[place] = refused(sent.id, str(wrong), where)
    if fresh:
        added = {row.id for row in append(opened, job, [row for _, row in fresh])}
        for place, row in fresh:
            results[place] = Result(row.id, "kept" if row.id in added else "there")
    return results


def _keep_beside(store: Store, raw: msgspec.Raw, place: int, now: datetime) -> Result:
    found = read_beside(raw, place)
    if isinstance(found, Result):
        return found
    try:
        _put_beside(store, found, now)
    except TubsideError as wrong:
        return refused(found.ref, str(wrong), f"beside the facts of job {found.job}", TELL_AGAIN)
    return Result(found.ref, "kept")


def _put_beside(store: Store, found: SentBeside, now: datetime) -> None:
    if isinstance(found, SentWords):
        add_words(store, found.job, found.ref, found.text, now)
    elif isinstance(found, SentPerson):
        add_person(store, found.ref, found.data, now, found.replaces)
    else:
        add_photo(store, found.job, found.ref, found.content, now)


def _news(store: Store, batch: Batch, jobs: Sequence[str]) -> dict[str, JobNews]:
    news: dict[str, JobNews] = {}
    with store.reading() as opened:
        for job in dict.fromkeys(jobs):
            if not job_rows.exists(opened, job):
                continue
            rows = kept.of_job(opened, job)
            had = batch.known.get(job, {})
            lacked = [
                row
                for row in rows
                if row.device != batch.device and row.sequence > had.get(row.device, 0)
            ]
            lacked.sort(key=lambda row: (row.at, row.id))
            news[job] = JobNews(seen_of(rows), tuple(map(_told, lacked[:MOST_NEWS])))
    return news


def _told(row: FactRow) -> News:
    return News(row.id, row.device, row.sequence, row.at, msgspec.Raw(row.body.encode()))
