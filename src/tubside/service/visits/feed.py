"""The secret link under which a phone's calendar fetches one technician's visits."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from secrets import token_urlsafe

from tubside.documents.calendar import Appointment, calendar_feed
from tubside.errors import NotThereError
from tubside.service.visits.booked import Booked, booked_on, midnight_of
from tubside.service.visits.shop_day import Shop
from tubside.store.settings import drop_setting, keep_setting, setting, settings_under

FEED = "day/feed/"
DAYS = (-1, 14)
"""From yesterday to two weeks ahead; our own choice."""


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
    today = now.astimezone(shop.zone).date()
    days = [today + timedelta(days=n) for n in range(*DAYS)]
    found = [one for day in days for one in _mine(shop, day, name)]
    return calendar_feed(f"Visits of {name}", [_appointment(one) for one in found])


def _mine(shop: Shop, day: date, name: str) -> list[Booked]:
    visits = booked_on(shop.store, shop.library, day, shop.zone)
    return [one for one in visits if one.visit.technician == name]


def _appointment(one: Booked) -> Appointment:
    begins = one.visit.arrive_from or midnight_of(date(1970, 1, 1), UTC)
    ends = one.visit.arrive_until or begins
    return Appointment(
        uid=f"{one.job}@tubside",
        begins=begins,
        ends=max(ends, begins + timedelta(minutes=1)),
        stamp=one.told_at,
        sequence=one.told_times - 1,
        summary=f"Job {one.job[:8]}",
        where=one.street,
    )


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()
