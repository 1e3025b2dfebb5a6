"""People of a job: kept beside the facts, under references that say nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tubside.store.opening import Store


@dataclass(frozen=True, slots=True)
class PersonData:
    """What is known of a person; "" where nothing is."""

    name: str = ""
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""


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
    """
    raise NotImplementedError


def read_person(store: Store, ref: str) -> Person:
    """A person; NotThereError for an unknown reference."""
    raise NotImplementedError


def erase_person(store: Store, ref: str, now: datetime) -> None:
    """Erase a person with all earlier versions, and the words and photos of their jobs.

    The facts stay, so every belief stays computable. Cannot be undone; backups made
    before still hold what was erased.
    """
    raise NotImplementedError
