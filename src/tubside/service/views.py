"""What the pages see of jobs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from tubside.errors import Problem
from tubside.pack.schema import Danger
from tubside.service.job_file import JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.people import Person
from tubside.service.records import Body, Closing, Consent, Payer, Visit
from tubside.service.telling import SafetyStep
from tubside.service.told import ToldAdvice
from tubside.service.visit_records import MachineMoved, Waiting

Stage = Literal["call", "waiting", "visit booked", "on site", "closed"]


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
    """A check made while elsewhere a remedy was done, or a machine released while elsewhere
    it was tested or worked on: which came first is not known, so it is shown, and does not
    count."""


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
    waiting: Waiting | None = None
    """What it waits for, None when for nothing; a visit booked later ends the wait."""
    machine_at: MachineMoved | None = None


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
