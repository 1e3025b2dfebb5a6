"""Jobs as the pages see them: facts in, views out.

Nothing is changed in place: :func:`record` appends, :func:`take_back` appends a
fact that retracts another, and every view is computed from the facts and the
packs. Clocks and ids are handed in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from tubside.errors import Problem
from tubside.pack.schema import Danger
from tubside.service.job_file import JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.people import Person
from tubside.service.records import Body, Closing, Consent, Payer, Slip, Visit
from tubside.service.telling import SafetyStep
from tubside.service.told import ToldAdvice
from tubside.store.opening import Store

Stage = Literal["call", "waiting", "visit booked", "on site", "closed"]


@dataclass(frozen=True, slots=True)
class Author:
    """Who writes facts on this server: a device, its clock, and a source of ids.

    A page that must not be counted twice puts an id into its form and hands it back
    as ``fresh_id``: the same fact under the same id is kept once.
    """

    device: str
    clock: Callable[[], datetime]
    fresh_id: Callable[[], str]


@dataclass(frozen=True, slots=True)
class Written:
    """Authorship of a fact made elsewhere, such as on a phone without signal."""

    id: str
    device: str
    sequence: int
    at: datetime
    seen: Mapping[str, int] = field(default_factory=dict)
    computed_from: str | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of facts sent: ids now kept, and those that were there before."""

    added: tuple[str, ...]
    known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """One fact of a job as it hangs on the line, retracted ones included."""

    id: str
    device: str
    at: datetime
    body: Body
    computed_from: str | None
    retracted_by: str | None
    """Id of the fact that took this one back, None while it counts."""
    doubtful: bool
    """A check made while elsewhere a remedy was done: which came first is not known,
    so it is shown, and does not count."""


@dataclass(frozen=True, slots=True)
class PhotoNote:
    """A photo of a job; ``media_type`` None when it was erased."""

    ref: str
    of: str
    media_type: str | None


@dataclass(frozen=True, slots=True)
class JobView:
    """Everything a job's page shows.

    ``advice`` is None until the family and a trouble or a danger are known, when
    ``problems`` name what the pack does not know, and when ``disagree`` lists facts
    that cannot all be true. A problem's line is the number of an entry, from 1.
    ``safety`` comes before everything else and needs no machine known.
    """

    id: str
    stage: Stage
    opened_at: datetime
    entries: tuple[Entry, ...]
    seen: Mapping[str, int]
    """To be put into forms and handed back to ``record``: what this page had seen."""
    source: JobSource | None
    known: Knowledge | None
    computed_from: str | None
    advice: ToldAdvice | None
    problems: tuple[Problem, ...]
    disagree: tuple[str, ...]
    dangers: tuple[Danger, ...]
    safety: tuple[SafetyStep, ...]
    danger_asked: bool
    person: Person | None
    words: Mapping[str, str | None]
    """Reference -> words, None when erased."""
    photos: tuple[PhotoNote, ...]
    payer: Payer | None
    consent: Consent | None
    visit: Visit | None
    closing: Closing | None


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in the list of jobs at hand."""

    id: str
    stage: Stage
    since: datetime
    """When its last fact was written (UTC)."""
    machine: str
    """Title of the model or the family, "" while unknown."""
    trouble: tuple[str, ...]
    """Titles of what was reported, or the words of the panel."""
    danger: bool
    person: str | None
    place: str | None
    leading: str | None
    """Title of the leading cause in the advice last shown."""
    chance: float | None


def new_job(store: Store, author: Author, bodies: Sequence[Body]) -> str:
    """Open a job with its first facts (at least one), all or none; the job's id.

    Raises
    ------
    FactError
        When a body holds what its kind does not allow.
    """
    raise NotImplementedError


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
    raise NotImplementedError


def check_body(library: Library, view: JobView, body: Body) -> None:
    """Refuse a fact that names what the job's pack or panel does not know.

    Raises
    ------
    JobFileError, UnknownNameError
        What is wrong and how to mend it.
    """
    raise NotImplementedError


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
    raise NotImplementedError


def take_back(
    store: Store, job_id: str, author: Author, fact_id: str, reason: Slip = "other"
) -> str:
    """Append a fact that takes another one of the job back; its id.

    Raises
    ------
    NotThereError
        When the job has no such fact.
    """
    raise NotImplementedError


def record_advice(store: Store, library: Library, job_id: str, author: Author) -> str | None:
    """Append what is advised now, unless that was the last thing advised; its id or None.

    To be called after every fact taken from a form: it also makes the next page quick.
    """
    raise NotImplementedError


def job_view(store: Store, library: Library, job_id: str) -> JobView:
    """The whole job, computed from its facts.

    Raises
    ------
    NotThereError
        When there is no such job.
    """
    raise NotImplementedError


def job_lines(
    store: Store,
    library: Library,
    limit: int = 50,
    after: str | None = None,
    *,
    closed: bool = False,
) -> list[JobLine]:
    """Open jobs (or the closed ones), the one with the latest fact first.

    ``after`` is the id of the last job of the page before.
    """
    raise NotImplementedError
