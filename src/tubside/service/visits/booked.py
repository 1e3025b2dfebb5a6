"""The visits of one day, from the facts of their jobs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Literal

from tubside.day.problem import MINUTE, Place, Stop, TimeOnSite, Window
from tubside.errors import DayError
from tubside.service.library import Library
from tubside.service.people import PersonData
from tubside.service.records import Place as PlaceTold
from tubside.service.records import Visit
from tubside.service.viewing import view_of
from tubside.service.views import Entry, JobView
from tubside.service.visit_records import OnSite
from tubside.service.visits.mail_told import Mailed, mailed_of
from tubside.service.visits.place_text import place_in
from tubside.store import job_rows
from tubside.store.opening import Store

MOST = 2000
USUAL = OnSite(mean=45.0, low=25.0, high=75.0)
"""Time on site of a visit whose job has no plan; common practice, no source."""
State = Literal["to come", "under way", "done"]


@dataclass(frozen=True, slots=True)
class Booked:
    """One visit of the day as its job tells it."""

    job: str
    label: str
    street: str
    place: Place | None
    """None where nobody knows the coordinates."""
    visit: Visit
    state: State
    since: datetime | None
    """When it was last known to be so: at the machine, or done."""
    phone: str = ""
    email: str = ""
    trouble: str = ""
    access: str = ""
    mails: tuple[Mailed, ...] = ()

    def stop(self, stands_in: Place, midnight: datetime) -> Stop:
        """Return it as a stop of the day; times in seconds after ``midnight``."""
        visit, took = self.visit, self.visit.on_site or USUAL
        promised = None
        if visit.arrive_from is not None and visit.arrive_until is not None:
            promised = Window(
                (visit.arrive_from - midnight).total_seconds(),
                (visit.arrive_until - midnight).total_seconds(),
            )
        return Stop(
            id=self.job,
            place=self.place or stands_in,
            on_site=TimeOnSite(took.mean * MINUTE, took.low * MINUTE, took.high * MINUTE),
            promised=promised,
            skills=frozenset(visit.skills),
            people=visit.people,
            technician=visit.technician,
        )


def midnight_of(day: date, zone: tzinfo | None) -> datetime:
    """Return when the day begins in ``zone``, or where this machine stands."""
    return datetime.combine(day, time(), zone).astimezone(zone)


def booked_on(store: Store, library: Library, day: date, zone: tzinfo | None) -> list[Booked]:
    """Return the visits booked for a day, those already made included, by their promise."""
    with store.reading() as opened:
        rows = job_rows.listed(opened, closed=False, limit=MOST, after=None)
        rows += job_rows.listed(opened, closed=True, limit=200, after=None)
    begin = midnight_of(day, zone)
    found: list[Booked] = []
    for row, _ in rows:
        if row.stage != "call":
            found += _booked(view_of(store, library, row.id, advised=False), begin)
    return sorted(found, key=lambda one: (one.visit.arrive_from or begin, one.job))


def booked_of(view: JobView) -> Booked | None:
    """Return the visit that a job has, whatever the day; None where none was booked."""
    found = [e for e in _counting(view.entries) if isinstance(e.body, Visit)]
    booked = [e for e in found if isinstance(e.body, Visit) and e.body.status == "booked"]
    if not booked:
        return None
    last = booked[-1]
    assert isinstance(last.body, Visit)
    state, since = _state(view, last)
    data = view.person.data if view.person is not None else None
    return _told(view, data or PersonData(), last.body, (state, since))


def waiting_visit(view: JobView, visit: Visit) -> Booked:
    """Return a job as if this visit were booked for it: to see what that would cost."""
    data = view.person.data if view.person is not None else None
    return _told(view, data or PersonData(), visit, ("to come", None))


def _booked(view: JobView, begin: datetime) -> Sequence[Booked]:
    one = booked_of(view)
    if one is None or one.visit.arrive_from is None or _called_off(view):
        return ()
    return (one,) if begin <= one.visit.arrive_from < begin + timedelta(days=1) else ()


def _called_off(view: JobView) -> bool:
    return view.visit is not None and view.visit.status in {"cancelled", "wanted"}


def _counting(entries: Sequence[Entry]) -> list[Entry]:
    return [e for e in entries if e.retracted_by is None and not e.doubtful]


def _state(view: JobView, booked: Entry) -> tuple[State, datetime | None]:
    """How far the visit is: what was said of the job since it was booked decides."""
    alive = _counting(view.entries)
    state: State = "to come"
    since: datetime | None = None
    for entry in alive[alive.index(booked) + 1 :]:
        body = entry.body
        if isinstance(body, PlaceTold) and state != "done":
            state, since = ("under way" if body.where == "site" else "done"), entry.at
        elif isinstance(body, Visit) and body.status in {"failed", "given-up", "done"}:
            state, since = "done", entry.at
    if view.closing is not None and state != "done":
        state, since = "done", max(entry.at for entry in alive)
    return state, since


def _told(
    view: JobView, data: PersonData, visit: Visit, how_far: tuple[State, datetime | None]
) -> Booked:
    known = view.known
    machine = "machine not named yet"
    if known is not None:
        machine = known.panel.name if known.panel is not None else known.pack.title
    return Booked(
        job=view.id,
        label=data.name or machine,
        street=data.address,
        place=_place(data),
        visit=visit,
        state=how_far[0],
        since=how_far[1],
        phone=data.phone,
        email=data.email,
        trouble=machine,
        access=(view.words.get(visit.words) or "") if visit.words else "",
        mails=tuple(mailed_of(view.entries)),
    )


def _place(data: PersonData) -> Place | None:
    try:
        return place_in(data.place) if data.place else None
    except DayError:
        return None  # from an older phone: the day says that it is not known
