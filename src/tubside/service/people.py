"""People of a job: kept beside the facts, under references that say nothing."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import datetime

import msgspec
from sqlalchemy import Connection

from tubside.errors import AttachmentError, NotThereError
from tubside.service.records import PersonNamed, encoded, kind_of
from tubside.service.refs import check_ref, need_ref
from tubside.store import beside, facts
from tubside.store.opening import Store
from tubside.store.tables import PEOPLE

FIELD_LIMIT = 500
"""Characters."""


@dataclass(frozen=True, slots=True)
class PersonData:
    """What is known of a person; "" where nothing is."""

    name: str = ""
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""
    place: str = ""
    """Latitude and longitude [degrees] such as "52.1, 0.25", or a map's link."""


@dataclass(frozen=True, slots=True)
class Person:
    """A person by reference; ``data`` is None once it was erased."""

    ref: str
    data: PersonData | None


def add_person(
    store: Store, ref: str, data: PersonData, now: datetime, replaces: str | None = None
) -> Person:
    """Keep a person under a fresh reference; ``replaces`` names the one this corrects.

    The same data under the same reference again changes nothing. A job gets the
    person by a fact: ``record(..., PersonNamed(ref=ref))``.

    Raises
    ------
    AttachmentError
        When a field is longer than 500 characters or holds control characters, or
        the reference is taken.
    NotThereError
        When the one it replaces is not there.
    """
    row = {"id": check_ref(ref), "data": _encoded(data), "replaces": replaces, "kept_at": now}
    with store.writing() as opened:
        if replaces is not None:
            person_in(opened, replaces)
        beside.add(opened, PEOPLE, row)
        return person_in(opened, ref)


def read_person(store: Store, ref: str) -> Person:
    """A person; NotThereError for an unknown reference."""
    with store.reading() as opened:
        return person_in(opened, ref)


def person_in(opened: Connection, ref: str) -> Person:
    """A person, read in a transaction; NotThereError for an unknown reference."""
    need_ref(ref, "person")
    there, data = beside.person(opened, ref)
    if not there:
        msg = f"there is no person {ref!a}"
        raise NotThereError(msg)
    return Person(ref, None if data is None else person_data(data))


def person_data(text: str) -> PersonData:
    """What is kept of a person, decoded."""
    return msgspec.json.decode(text, type=PersonData)


def erase_person(store: Store, ref: str, now: datetime) -> None:
    """Erase a person with all earlier versions, and the words and photos of their jobs.

    The facts stay, so every belief stays computable. Cannot be undone; backups made
    before still hold what was erased. NotThereError for an unknown reference.
    """
    with store.writing() as opened:
        person_in(opened, ref)
        versions = beside.versions_of(opened, ref)
        bodies = [encoded(PersonNamed(ref=one)) for one in versions]
        jobs = facts.jobs_naming(opened, kind_of(PersonNamed(ref=ref)), bodies)
        beside.erase_people(opened, versions, now)
        beside.erase_of_jobs(opened, jobs, now)
    store.settle()


def _encoded(data: PersonData) -> str:
    for name in PersonData.__slots__:
        check_text(name, getattr(data, name), FIELD_LIMIT)
    told: dict[str, str] = msgspec.to_builtins(data)
    if not data.place:
        del told["place"]  # as written before there was one, so that a resend stays the same
    return msgspec.json.encode(told).decode()


def check_text(what: str, text: str, limit: int) -> None:
    """Refuse text that is too long, or that a page or a database cannot hold.

    Raises
    ------
    AttachmentError
        Naming what is wrong.
    """
    if len(text) > limit:
        msg = f"the {what} has {len(text)} characters; at most {limit} are kept"
        raise AttachmentError(msg)
    if any(unicodedata.category(c) in {"Cc", "Cs"} and c not in "\n\r\t" for c in text):
        msg = f"the {what} holds control characters; write plain text"
        raise AttachmentError(msg)
