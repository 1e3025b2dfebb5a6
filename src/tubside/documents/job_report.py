"""A job told to the customer: what was wrong, what was done, what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tubside.documents.parties import DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportReading:
    """A reading in words: "supply pressure", "2.1 ± 0.1 bar", "1 to 10 bar"."""

    what: str
    value: str
    expected: str = ""
    when: str = ""  # "before" or "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportPhoto:
    """A photo, already without any data about where it was taken."""

    picture: bytes  # JPEG or PNG
    caption: str
    when: str = ""  # "before" or "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobReport:
    """What a customer keeps of a job."""

    job: str
    dated: date
    shop: Party
    customer: Party
    machine: DocumentMachine
    technician: str = ""
    payer: str = ""  # when another pays
    authority: str = ""  # number under which the payer agreed
    reported: str = ""
    found: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    readings: tuple[ReportReading, ...] = ()
    photos: tuple[ReportPhoto, ...] = ()
    cautions: tuple[str, ...] = ()  # printed before the advice
    heeded: tuple[str, ...] = ()  # what was acknowledged while the work was done
    safety: str = ""  # verdict in words
    released: bool | None = None  # None: no test was needed or made
    advice: tuple[str, ...] = ()
    warranty: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
