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

from tubside.errors import FactClashError, TubsideError
from tubside.service.attachments import add_photo, add_words
from tubside.service.keeping_sent import Kept, Told, keep_narrowed, keep_together
from tubside.service.people import add_person
from tubside.service.phone_messages import Message, NotTaken, looked_through
from tubside.service.replay import seen_of
from tubside.service.sent import (
    TELL_AGAIN,
    Batch,
    Result,
    SentBeside,
    SentPerson,
    SentWords,
    read_beside,
    read_fact,
    refused,
)
from tubside.store import facts as kept
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


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of the facts of a message, by their place, and the facts of their jobs."""

    results: Mapping[int, Result]
    jobs: Mapping[str, Sequence[FactRow] | None]
    """None where nobody has looked yet."""
    touched: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Read:
    """A message as far as it can be read."""

    told: Sequence[Told]
    refused: Mapping[int, Result]


def take(store: Store, messages: Sequence[Message]) -> list[Taken | NotTaken]:
    """Keep the facts of many phones in one transaction; those that clash are refused alone.

    The same message again, in whole or in part, changes nothing.
    What lies beside the facts, and the news for each phone, is left to :func:`answer`.
    """
    read = [_read(one.batch, one.now) for one in messages]
    try:
        with store.writing() as opened:
            why_not = looked_through(opened, messages)
            told = _told_by(read, why_not)
            found = keep_together(opened, told) if told else Kept((), {})
    except FactClashError:
        with store.writing() as opened:
            why_not = looked_through(opened, messages)
        found = keep_narrowed(store, _told_by(read, why_not))
    results = iter(found.results)
    return [
        _taken(one, [next(results) for _ in one.told], found.jobs) if no is None else no
        for one, no in zip(read, why_not, strict=True)
    ]


def answer(store: Store, batch: Batch, taken: Taken, now: datetime) -> Synced:
    """Keep what lies beside the facts of a message, and tell the phone what it lacks."""
    beside = [_keep_beside(store, raw, place, now) for place, raw in enumerate(batch.beside)]
    return Synced(
        results=tuple(taken.results[place] for place in range(len(batch.facts))),
        beside=tuple(beside),
        jobs=_news(store, batch, taken.jobs),
        touched=taken.touched,
    )


def _read(batch: Batch, now: datetime) -> _Read:
    told: list[Told] = []
    wrong: dict[int, Result] = {}
    for place, raw in enumerate(batch.facts):
        found = read_fact(raw, place)
        if isinstance(found, Result):
            wrong[place] = found
        else:
            told.append(Told(batch.device, place, *found, now))
    return _Read(told, wrong)


def _told_by(read: Sequence[_Read], why_not: Sequence[NotTaken | None]) -> list[Told]:
    pairs = zip(read, why_not, strict=True)
    return [told for one, no in pairs if no is None for told in one.told]


def _taken(read: _Read, results: Sequence[Result], jobs: Mapping[str, Sequence[FactRow]]) -> Taken:
    pairs = list(zip(read.told, results, strict=True))
    by_place = {one.place: result for one, result in pairs}
    touched = {one.sent.job for one, result in pairs if result.result == "kept"}
    mine = dict.fromkeys(one.sent.job for one in read.told)
    return Taken(
        {**read.refused, **by_place}, {job: jobs.get(job) for job in mine}, tuple(sorted(touched))
    )


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


def _news(
    store: Store, batch: Batch, jobs: Mapping[str, Sequence[FactRow] | None]
) -> dict[str, JobNews]:
    found: dict[str, Sequence[FactRow] | None] = {**dict.fromkeys(batch.known), **jobs}
    unread = [job for job, rows in found.items() if rows is None]
    if unread:
        with store.reading() as opened:
            found |= {job: kept.of_job(opened, job) for job in unread}
    return {job: _lacked(batch, job, rows) for job, rows in found.items() if rows}


def _lacked(batch: Batch, job: str, rows: Sequence[FactRow]) -> JobNews:
    had = batch.known.get(job, {})
    others = [row for row in rows if row.device != batch.device]
    lacked = [row for row in others if row.sequence > had.get(row.device, 0)]
    lacked.sort(key=lambda row: (row.at, row.id))
    return JobNews(seen_of(rows), tuple(map(_told, lacked[:MOST_NEWS])))


def _told(row: FactRow) -> News:
    return News(row.id, row.device, row.sequence, row.at, msgspec.Raw(row.body.encode()))
