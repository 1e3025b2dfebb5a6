"""Tests of contact cards, read back by another program."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar.parser import Contentlines

from tubside.documents.card import Contact, card
from tubside.errors import DocumentError

NOW = datetime(2026, 11, 27, 8, 0, tzinfo=UTC)
INES = Contact(
    uid="person-4",
    name="Ines Calloway",
    family_name="Calloway",
    given_name="Ines",
    shop="Mill Lane; Repairs",
    telephones=("+44 1632 960017", "01632/960018"),
    email="ines@example.org",
    street="14 Ropewalk, side door",
    town="Elverdale",
    postcode="EL1 2AB",
    notes="Rings twice,\nhas a dog",
    place=(52.1, -0.25),
)
plain = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=90)


def lines(text: str) -> list[str]:
    """Return a card's lines unfolded by another program."""
    read: list[str] = Contentlines.from_ical(text)  # type: ignore[no-untyped-call]
    return [str(line) for line in read if line]


def unescaped(text: str) -> str:
    """Return a text value as it was, read letter by letter."""
    read, letters = [], iter(text)
    for letter in letters:
        if letter == "\\":
            following = next(letters)
            read.append("\n" if following in "nN" else following)
        else:
            read.append(letter)
    return "".join(read)


def test_a_whole_card() -> None:
    """Tests every line of a card against RFC 6350, sections 6.1 to 6.7."""
    assert lines(card(INES, NOW)) == [
        "BEGIN:VCARD",
        "VERSION:4.0",
        "UID;VALUE=text:person-4",
        "REV:20261127T080000Z",
        "FN:Ines Calloway",
        "N:Calloway;Ines;;;",
        "ORG:Mill Lane\\; Repairs",
        "TEL;VALUE=uri:tel:+441632960017",
        "TEL;VALUE=uri:tel:01632960018",
        "EMAIL:ines@example.org",
        "ADR:;;14 Ropewalk\\, side door;Elverdale;;EL1 2AB;",
        "GEO:geo:52.100000,-0.250000",
        "NOTE:Rings twice\\,\\nhas a dog",
        "END:VCARD",
    ]


def test_what_is_unknown_is_left_out() -> None:
    """Tests that a bare name gives the lines that must be, and no empty ones."""
    assert [line.split(":")[0] for line in lines(card(Contact("a", "Ines"), NOW))] == [
        "BEGIN", "VERSION", "UID;VALUE=text", "REV", "FN", "END",
    ]  # fmt: skip


def test_what_is_no_contact() -> None:
    """Tests that a card without a name, or with words for a number, is refused."""
    with pytest.raises(DocumentError, match="needs a name"):
        card(Contact("a", " "), NOW)
    with pytest.raises(DocumentError, match="no telephone number"):
        card(Contact("a", "x", telephones=("ring the neighbour",)), NOW)


@settings(max_examples=60, deadline=None)
@given(plain, plain)
def test_any_words(name: str, notes: str) -> None:
    """Tests that any words come back through folding and escaping."""
    read = lines(card(Contact("a", f"x{name}", notes=f"x{notes}\ny"), NOW))
    found = {line.partition(":")[0]: unescaped(line.partition(":")[2]) for line in read}
    assert found["FN"] == f"x{name}"
    assert found["NOTE"] == f"x{notes}\ny"
