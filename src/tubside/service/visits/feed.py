"""The secret link under which a phone's calendar fetches one technician's visits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from hashlib import sha256
from secrets import token_urlsafe

from tubside.documents.calendar import Appointment, calendar_feed
from tubside.errors import NotThereError
from tubside.service.records import Visit
from tubside.service.replay import line_of
from tubside.service.viewing import view_of
from tubside.service.views import Entry
from tubside.service.visits.booked import MOST, midnight_of
from tubside.service.visits.shop_day import Shop
from tubside.store import facts as kept
from tubside.store import job_rows
from tubside.store.settings import drop_setting, keep_setting, setting, settings_under

FEED = "day/feed/"
DAYS = (-1, 14)
"""From yesterday to two weeks ahead; our own choice."""
TOLD = {"booked", "cancelled", "wanted"}
"""What changes an appointment; each change, taken back or not, raises its SEQUENCE."""


def new_link(shop: Shop, name: str) -> str:
    """Return a fresh secret for a technician's feed; the one before stops working.

    Only its hash is kept, so it is told once.
    """
    secret = token_urlsafe(24)
    with shop.store.writing() as opened:
        for digest, owner in settings_under(opened, FEED).items():
            if owner == name:
                drop_setting(opened, FEED + digest)
        keep_setting(opened, FEED + _digest(secret), name)
    return secret


def feed_of(shop: Shop, secret: str, now: datetime) -> str:
    """Return the feed as text: windows, streets and job numbers, nobody's name or number.

    Raises
    ------
    NotThereError
        When no feed has this secret, or it was renewed since.
    """
    with shop.store.reading() as opened:
        name = setting(opened, FEED + _digest(secret))
    if name is None:
        msg = "there is no such calendar; ask the office for a new link"
        raise NotThereError(msg)
    first = midnight_of(now.astimezone(shop.zone).date() + timedelta(days=DAYS[0]), shop.zone)
    until = first + timedelta(days=DAYS[1] - DAYS[0])
    found = [one for one in _appointments(shop, name) if first <= one.begins < until]
    found.sort(key=lambda one: (one.begins, one.uid))
    return calendar_feed(f"Visits of {name}", found)


def _appointments(shop: Shop, name: str) -> Iterator[Appointment]:
    with shop.store.reading() as opened:
        rows = job_rows.listed(opened, closed=False, limit=MOST, after=None)
        rows += job_rows.listed(opened, closed=True, limit=200, after=None)
        lines = {row.id: line_of(kept.of_job(opened, row.id)) for row, _ in rows}
    for job, entries in lines.items():
        told = [(e, e.body) for e in entries if isinstance(e.body, Visit) and e.body.status in TOLD]
        if any(body.technician == name for _, body in told):
            yield from _appointment(shop, job, name, told)


def _appointment(
    shop: Shop, job: str, name: str, told: Sequence[tuple[Entry, Visit]]
) -> Iterator[Appointment]:
    """The visit as last given to ``name``; cancelled where it was called off or given away."""
    alive = [(e, body) for e, body in told if e.retracted_by is None and not e.doubtful]
    mine = [(e, body) for e, body in told if body.technician == name and body.arrive_from]
    counting = [(e, body) for e, body in mine if (e, body) in alive]
    if not mine:
        return
    last = (counting or mine)[-1][1]
    stands = bool(alive) and alive[-1][1].status == "booked" and alive[-1][1].technician == name
    assert last.arrive_from is not None
    begins, ends = last.arrive_from, last.arrive_until or last.arrive_from
    view = view_of(shop.store, shop.library, job, advised=False)
    data = view.person.data if view.person is not None else None
    yield Appointment(
        uid=f"{job}@tubside",
        begins=begins,
        ends=max(ends, begins + timedelta(minutes=1)),
        stamp=max(e.at for e, _ in told),
        sequence=len(told) + sum(e.retracted_by is not None for e, _ in told) - 1,
        summary=f"Job {job[:8]}",
        where=data.address if data is not None and stands else "",
        cancelled=not stands,
    )


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()
