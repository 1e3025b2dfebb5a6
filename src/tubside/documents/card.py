"""A contact as a vCard, version 4.0 (RFC 6350), for the phone's own address book."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from tubside.documents.content_lines import escaped, in_utc, joined
from tubside.documents.message import dialled
from tubside.errors import DocumentError

CONTENT_TYPE = "text/vcard; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Contact:
    """Whom to reach, and where."""

    uid: str
    name: str  # as it is spoken
    family_name: str = ""
    given_name: str = ""
    shop: str = ""
    telephones: tuple[str, ...] = ()
    email: str = ""
    street: str = ""
    town: str = ""
    postcode: str = ""
    country: str = ""
    notes: str = ""
    place: tuple[float, float] | None = None  # latitude and longitude [degrees]


def card(contact: Contact, changed: datetime) -> str:
    """Return the contact as a card; ``changed`` is when it last was, with its zone.

    Raises
    ------
    DocumentError
        When there is no name, a telephone number is none, or the time has no zone.
    """
    if not contact.name.strip():
        msg = "a card needs a name; write one"
        raise DocumentError(msg)
    return joined(_lines(contact, changed))


def _lines(contact: Contact, changed: datetime) -> Iterator[str]:
    yield "BEGIN:VCARD"
    yield "VERSION:4.0"
    yield f"UID;VALUE=text:{escaped(contact.uid)}"
    yield f"REV:{in_utc(changed)}"
    yield f"FN:{escaped(contact.name)}"
    if contact.family_name or contact.given_name:
        yield f"N:{_parts(contact.family_name, contact.given_name, '', '', '')}"
    if contact.shop:
        yield f"ORG:{escaped(contact.shop)}"
    for number in contact.telephones:
        yield f"TEL;VALUE=uri:tel:{dialled(number)}"
    if contact.email:
        yield f"EMAIL:{escaped(contact.email)}"
    address = ("", "", contact.street, contact.town, "", contact.postcode, contact.country)
    if any(address):
        yield f"ADR:{_parts(*address)}"
    if contact.place is not None:
        yield f"GEO:geo:{contact.place[0]:.6f},{contact.place[1]:.6f}"
    if contact.notes:
        yield f"NOTE:{escaped(contact.notes)}"
    yield "END:VCARD"


def _parts(*values: str) -> str:
    """A structured value: its parts in order, a semicolon between them."""
    return ";".join(escaped(value) for value in values)
