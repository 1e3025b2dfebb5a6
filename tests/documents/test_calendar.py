"""Tests of the calendar feed, read back by another program."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from tubside.documents.calendar import Appointment, calendar_feed
from tubside.documents.content_lines import OCTETS, escaped, folded
from tubside.errors import DocumentError

NINE = datetime(2026, 12, 1, 9, 0, tzinfo=UTC)
VISIT = Appointment(
    uid="visit-17",
    begins=NINE,
    ends=NINE + timedelta(hours=1),
    stamp=NINE - timedelta(days=3),
    summary="Aldermoor Tern, won't drain; bring trays, towels",
    sequence=2,
    where="14 Ropewalk, side door\nElverdale",
    notes="Ring first.\n" + "Dog \\ cat; " * 20,
    place=(52.1234567, -0.25),
)
plain = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=120)


def event(feed: str) -> Any:
    """Return the only event of a feed, as another program reads it."""
    (found,) = Calendar.from_ical(feed).walk("VEVENT")
    return found


def test_read_back() -> None:
    """Tests that another program reads every property as it was meant."""
    feed = calendar_feed("Van 1, Mill Lane", [VISIT])
    read = event(feed)
    assert str(read["UID"]) == "visit-17"
    assert read["DTSTART"].dt == NINE
    assert read["DTEND"].dt == NINE + timedelta(hours=1)
    assert read["DTSTAMP"].dt == NINE - timedelta(days=3)
    assert read["SEQUENCE"] == 2
    assert str(read["SUMMARY"]) == VISIT.summary
    assert str(read["LOCATION"]) == VISIT.where
    assert str(read["DESCRIPTION"]) == VISIT.notes
    assert (read["GEO"].latitude, read["GEO"].longitude) == (52.123457, -0.25)
    assert read["STATUS"] == "CONFIRMED"
    calendar = Calendar.from_ical(feed)
    assert str(calendar["VERSION"]) == "2.0"
    # it takes NAME for a property of unknown type; RFC 7986, section 5.1 says TEXT
    assert "\r\nNAME:Van 1\\, Mill Lane\r\n" in feed
    assert all(not part.errors for part in calendar.walk())


def test_form_of_lines() -> None:
    """Tests line ends, the length of lines in octets, and one component inside the other."""
    lines = calendar_feed("Übersicht " * 20, [VISIT]).split("\r\n")
    assert lines[-1] == ""
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2] == "END:VCALENDAR"
    assert all(len(line.encode()) <= OCTETS for line in lines)
    assert not any("\n" in line or "\r" in line for line in lines)
    assert any(line.startswith(" ") for line in lines)


def test_cancelled_and_changed() -> None:
    """Tests that a visit called off keeps its id and says so."""
    off = Appointment("visit-17", NINE, NINE + timedelta(hours=1), NINE, "x", 3, cancelled=True)
    read = event(calendar_feed("x", [off]))
    assert (read["STATUS"], read["SEQUENCE"], str(read["UID"])) == ("CANCELLED", 3, "visit-17")


def test_zones_become_utc() -> None:
    """Tests times of summer and winter of a zone against the same moments in UTC."""
    zone = ZoneInfo("Europe/London")
    for month, hour in ((7, 8), (12, 9)):
        begins = datetime(2026, month, 1, 9, 0, tzinfo=zone)
        one = Appointment("a", begins, begins + timedelta(hours=2), begins, "x")
        feed = calendar_feed("x", [one])
        assert f"DTSTART:2026{month:02}01T{hour:02}0000Z" in feed
        assert event(feed)["DTSTART"].dt == begins


def test_what_cannot_stand_in_a_feed() -> None:
    """Tests that times without a zone, ends before begins and ids twice are refused."""
    bare = datetime(2026, 12, 1, 9, 0)  # noqa: DTZ001 - without a zone is what is tried
    with pytest.raises(DocumentError, match="says no zone"):
        calendar_feed("x", [Appointment("a", bare, NINE, NINE, "x")])
    with pytest.raises(DocumentError, match="ends before"):
        calendar_feed("x", [Appointment("a", NINE, NINE, NINE, "x")])
    with pytest.raises(DocumentError, match="an id of its own"):
        calendar_feed("x", [VISIT, VISIT])


@settings(max_examples=60, deadline=None)
@given(plain, st.lists(plain, max_size=3))
def test_any_words(summary: str, notes: list[str]) -> None:
    """Tests that any words come back as they were, through folding and escaping."""
    one = Appointment(
        "a", NINE, NINE + timedelta(1), NINE, f"x{summary}", notes="x" + "\n".join(notes)
    )
    read = event(calendar_feed("x", [one]))
    assert str(read["SUMMARY"]) == f"x{summary}"
    assert str(read["DESCRIPTION"]) == "x" + "\n".join(notes)


@given(st.text(max_size=300))
def test_nothing_breaks_out(text: str) -> None:
    """Tests that no text makes a line of its own, and that every piece is short."""
    pieces = folded(f"SUMMARY:{escaped(text)}").split("\r\n")
    assert pieces[0].startswith("SUMMARY:")
    assert all(piece.startswith(" ") for piece in pieces[1:])
    assert all(len(piece.encode()) <= OCTETS for piece in pieces)
    assert not any(mark in piece for piece in pieces for mark in "\r\n\x00\x07")
