"""Phones that keep jobs for when there is no signal: whose they are, and locking one out.

A phone gives its facts a name of its own with them. A session is tied to that name
when the phone first sends; locking the session out ends it, and locks the name too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import msgspec
from sqlalchemy import Connection

from tubside.service.logins import User, digest
from tubside.service.roles import check_office
from tubside.store import logins as kept
from tubside.store import settings
from tubside.store.opening import Store

SENT, LOCKED, ENDED = "device.sent:", "device.locked:", "device.ended:"
"""Settings: session -> its phone's name; locked name -> what of it; locked session."""


@dataclass(frozen=True, slots=True)
class LockedPhone:
    """A phone that was locked out: its name, whose, on what, and since when (UTC)."""

    name: str
    user: str
    device: str
    since: datetime


def ended_by_lock(store: Store, token: str) -> bool:
    """Whether the session of this token was ended by locking its phone out."""
    with store.reading() as opened:
        return settings.setting(opened, ENDED + digest(token)) is not None


def lock_out(store: Store, session_id: str, by: User, now: datetime) -> bool:
    """End a session and lock its phone out; whether there was such a session.

    Raises
    ------
    LoginError
        When it is not the office that asks.
    """
    check_office(by, "lock out a phone")
    with store.writing() as opened:
        rows = [row for row in kept.all_sessions(opened) if row.id == session_id]
        for row in rows:
            _lock(opened, row, now)
    return bool(rows)


def _lock(opened: Connection, row: kept.SessionRow, now: datetime) -> None:
    name = settings.setting(opened, SENT + row.id)
    phone = LockedPhone(name or f"session-{row.id}", row.user, row.device, now)
    settings.keep_setting(opened, LOCKED + phone.name, msgspec.json.encode(phone).decode())
    settings.keep_setting(opened, ENDED + row.token_hash, phone.name)
    settings.drop_setting(opened, SENT + row.id)
    kept.end_session(opened, row.id, None)


def let_in(store: Store, name: str, by: User) -> bool:
    """Let a locked phone send again; whether it was locked.

    Raises
    ------
    LoginError
        When it is not the office that asks.
    """
    check_office(by, "let a phone in again")
    with store.writing() as opened:
        for token, locked in settings.settings_under(opened, ENDED).items():
            if locked == name:
                settings.drop_setting(opened, ENDED + token)
        return settings.drop_setting(opened, LOCKED + name) > 0


def locked_phones(store: Store) -> list[LockedPhone]:
    """Every phone that is locked out, the latest first."""
    with store.reading() as opened:
        found = settings.settings_under(opened, LOCKED).values()
    phones = [msgspec.json.decode(text, type=LockedPhone) for text in found]
    return sorted(phones, key=lambda phone: phone.since, reverse=True)
