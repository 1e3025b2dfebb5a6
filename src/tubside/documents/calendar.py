"""A technician's visits as a calendar feed (RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986).

Times are written in UTC, so that no table of a zone's changes has to go along; the phone
shows them in its own zone. A visit keeps its UID for life; its SEQUENCE grows with each
change, and one called off stays in the feed as cancelled, so that it vanishes everywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tubside.documents.content_lines import escaped, in_utc, joined
from tubside.errors import DocumentError

PRODUCT = "-//tubside//day//EN"
CONTENT_TYPE = "text/calendar; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Appointment:
    """One visit as a calendar shows it. Times with their zone."""

    uid: str
    begins: datetime
    ends: datetime
    stamp: datetime  # when it was last changed
    summary: str
    sequence: int = 0
    where: str = ""
    notes: str = ""
    place: tuple[float, float] | None = None  # latitude and longitude [degrees]
    cancelled: bool = False


def calendar_feed(name: str, appointments: Sequence[Appointment], refresh_minutes: int = 15) -> str:
    """Return the feed of one technician.

    Raises
    ------
    DocumentError
        When a time has no zone, an appointment ends before it begins, or an id comes twice.
    """
    uids = [one.uid for one in appointments]
    if len(set(uids)) != len(uids) or not all(uids):
        msg = "every appointment of a feed needs an id of its own"
        raise DocumentError(msg)
    return joined(_lines(name, appointments, refresh_minutes))


def _lines(name: str, appointments: Sequence[Appointment], minutes: int) -> Iterator[str]:
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield f"PRODID:{PRODUCT}"
    yield "CALSCALE:GREGORIAN"
    yield "METHOD:PUBLISH"
    yield f"NAME:{escaped(name)}"
    yield f"X-WR-CALNAME:{escaped(name)}"  # what most phones read in place of NAME
    yield f"REFRESH-INTERVAL;VALUE=DURATION:PT{minutes}M"
    for one in appointments:
        yield from _event(one)
    yield "END:VCALENDAR"


def _event(one: Appointment) -> Iterator[str]:
    begins, ends = in_utc(one.begins), in_utc(one.ends)
    if one.ends <= one.begins:
        msg = f"appointment {one.uid} ends before it begins; mend its times"
        raise DocumentError(msg)
    yield "BEGIN:VEVENT"
    yield f"UID:{escaped(one.uid)}"
    yield f"DTSTAMP:{in_utc(one.stamp)}"
    yield f"LAST-MODIFIED:{in_utc(one.stamp)}"
    yield f"DTSTART:{begins}"
    yield f"DTEND:{ends}"
    yield f"SEQUENCE:{one.sequence}"
    yield f"SUMMARY:{escaped(one.summary)}"
    if one.where:
        yield f"LOCATION:{escaped(one.where)}"
    if one.notes:
        yield f"DESCRIPTION:{escaped(one.notes)}"
    if one.place is not None:
        yield f"GEO:{one.place[0]:.6f};{one.place[1]:.6f}"
    yield f"STATUS:{'CANCELLED' if one.cancelled else 'CONFIRMED'}"
    yield "END:VEVENT"
