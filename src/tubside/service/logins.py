"""Accounts and sessions: who may come in, where they are logged in, and until when."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Literal, cast, get_args

from argon2 import PasswordHasher

from tubside.errors import LoginError
from tubside.service.passwords import HASHER, check_password
from tubside.store import logins as kept
from tubside.store.opening import Store

Role = Literal["technician", "office"]
"""An office account may end anybody's sessions; both may do all else."""
NAME = re.compile(r"[a-z0-9]([a-z0-9._-]{0,38}[a-z0-9])?")
SESSION_LIFE = timedelta(days=30)
SESSION_IDLE = timedelta(days=7)
SEEN_EVERY = timedelta(minutes=10)
"""How often the use of a session is noted: reading a page shall not cost a write."""


@dataclass(frozen=True, slots=True)
class User:
    """An account, without its password."""

    name: str
    role: Role
    since: datetime


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that is logged in; ``id`` names it in lists and opens nothing."""

    id: str
    user: User
    since: datetime
    seen_at: datetime
    device: str


def has_users(store: Store) -> bool:
    """Return whether there is any account, so that a login is needed."""
    with store.reading() as opened:
        return kept.any_user(opened)


def add_user(store: Store, user: User, password: str, hasher: PasswordHasher = HASHER) -> None:
    """Add an account.

    Raises
    ------
    LoginError
        When the name is taken or malformed, the role unknown, or the password too easy.
    """
    if not NAME.fullmatch(user.name):
        msg = f"'{user.name}' cannot be a name; use small letters, digits, dot, dash (40 at most)"
        raise LoginError(msg)
    if user.role not in get_args(Role):
        msg = f"there is no role '{user.role}'; write technician or office"
        raise LoginError(msg)
    check_password(user.name, password)
    row = kept.UserRow(user.name, user.role, hasher.hash(password), user.since)
    with store.writing() as opened:
        if kept.user(opened, user.name) is not None:
            msg = f"there is an account '{user.name}' already; remove it first or take another name"
            raise LoginError(msg)
        kept.add_user(opened, row)


def change_password(store: Store, name: str, password: str, hasher: PasswordHasher = HASHER) -> int:
    """Give an account another password and end its sessions; how many there were.

    Raises
    ------
    LoginError
        When there is no such account, or the password is too easy.
    """
    check_password(name, password)
    hashed = hasher.hash(password)
    with store.writing() as opened:
        row = _known(opened, name)
        kept.replace_password(opened, name, row.password, hashed)
        return kept.end_all(opened, name)


def users(store: Store) -> list[User]:
    """Return every account, by name."""
    with store.reading() as opened:
        return [_user(row) for row in kept.all_users(opened)]


def remove_user(store: Store, name: str) -> int:
    """Remove an account and end its sessions; how many there were.

    Raises
    ------
    LoginError
        When there is no such account.
    """
    with store.writing() as opened:
        _known(opened, name)
        ended = kept.end_all(opened, name)
        kept.remove_user(opened, name)
    return ended


def session_of(store: Store, token: str, now: datetime) -> Session | None:
    """Return the session behind a token, None if it ended, was idle or never was."""
    if not 20 <= len(token) <= 100:
        return None
    with store.glancing() as opened:
        found = kept.session_and_user(opened, digest(token))
    if found is None or not _counts(found[0], now):
        return None
    if now - found[0].seen_at >= SEEN_EVERY:
        with store.noting() as opened:
            kept.note_seen(opened, found[0].token_hash, now)
    return _session(*found)


def sessions(store: Store, now: datetime, name: str | None = None) -> list[Session]:
    """Return the sessions that count now, of one account or of all, latest first."""
    with store.reading() as opened:
        known = {row.name: row for row in kept.all_users(opened)}
        rows = kept.all_sessions(opened)
    found = [
        _session(row, known[row.user])
        for row in rows
        if row.user in known and name in {None, row.user} and _counts(row, now)
    ]
    return sorted(found, key=lambda session: session.seen_at, reverse=True)


def end_session(store: Store, session_id: str, by: User) -> bool:
    """End one session, one's own or, from the office, anybody's; whether there was one."""
    with store.writing() as opened:
        of = None if by.role == "office" else by.name
        return kept.end_session(opened, session_id, of) > 0


def end_sessions(store: Store, name: str) -> int:
    """End all sessions of an account; how many there were.

    Raises
    ------
    LoginError
        When there is no such account.
    """
    with store.writing() as opened:
        _known(opened, name)
        return kept.end_all(opened, name)


def digest(text: str) -> str:
    """Return SHA-256 in hexadecimal: enough for what is random already."""
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _counts(row: kept.SessionRow, now: datetime) -> bool:
    return now - row.since < SESSION_LIFE and now - row.seen_at < SESSION_IDLE


def _known(opened: kept.Opened, name: str) -> kept.UserRow:
    row = kept.user(opened, name)
    if row is None:
        msg = f"there is no account '{name}'; tubside user list names them"
        raise LoginError(msg)
    return row


def _user(row: kept.UserRow) -> User:
    return User(row.name, cast("Role", row.role), row.since)


def _session(row: kept.SessionRow, user: kept.UserRow) -> Session:
    return Session(row.id, _user(user), row.since, row.seen_at, row.device)
