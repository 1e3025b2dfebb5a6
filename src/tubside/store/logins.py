"""Rows of accounts, sessions and tries to log in."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import Connection, bindparam, delete, insert, or_, select, update

from tubside.store.tables import SESSIONS, TRIES, USERS
from tubside.store.upserting import added_if_absent, written_anew

Opened = Connection
"""A transaction of the store, handed on from one call to the next."""


@dataclass(frozen=True, slots=True)
class UserRow:
    """An account; ``password`` is its hash."""

    name: str
    role: str
    password: str
    since: datetime


@dataclass(frozen=True, slots=True)
class SessionRow:
    """A session; its token is kept as a hash only."""

    token_hash: str
    id: str
    user: str
    since: datetime
    seen_at: datetime
    device: str


@dataclass(frozen=True, slots=True)
class TriesRow:
    """How many tries a bucket held at a moment."""

    key: str
    left: float
    at: datetime


# made once: a question asked for every page shall not be put together each time
_OF_TOKEN = (
    select(SESSIONS, USERS)
    .join(USERS, USERS.c.name == SESSIONS.c.user)
    .where(SESSIONS.c.token_hash == bindparam("token"))
)
_TRIES_OF = select(TRIES).where(TRIES.c.key.in_(bindparam("keys", expanding=True)))
# in one order for everybody, so that nobody waits in a ring
_HELD_TRIES = _TRIES_OF.order_by(TRIES.c.key).with_for_update()


def any_user(opened: Opened) -> bool:
    """Return whether there is an account."""
    return opened.execute(select(USERS.c.name).limit(1)).first() is not None


def user(opened: Opened, name: str) -> UserRow | None:
    """Return an account by name."""
    row = opened.execute(select(USERS).where(USERS.c.name == name)).mappings().first()
    return None if row is None else UserRow(**row)


def all_users(opened: Opened) -> list[UserRow]:
    """Return every account, by name."""
    rows = opened.execute(select(USERS).order_by(USERS.c.name)).mappings()
    return [UserRow(**row) for row in rows]


def add_user(opened: Opened, row: UserRow) -> None:
    """Add an account."""
    opened.execute(insert(USERS).values(asdict(row)))


def replace_password(opened: Opened, name: str, old: str, new: str) -> None:
    """Put a new hash in place of the old one, unless somebody was quicker."""
    mine = (USERS.c.name == name) & (USERS.c.password == old)
    opened.execute(update(USERS).where(mine).values(password=new))


def remove_user(opened: Opened, name: str) -> None:
    """Remove an account, its sessions with it."""
    opened.execute(delete(USERS).where(USERS.c.name == name))


def add_session(opened: Opened, row: SessionRow) -> None:
    """Add a session."""
    opened.execute(insert(SESSIONS).values(asdict(row)))


def session_and_user(opened: Opened, token_hash: str) -> tuple[SessionRow, UserRow] | None:
    """Return the session of a token and its account, in one question; None without both."""
    row = opened.execute(_OF_TOKEN, {"token": token_hash}).first()
    wide = len(SESSIONS.columns)
    return None if row is None else (SessionRow(*row[:wide]), UserRow(*row[wide:]))


def all_sessions(opened: Opened) -> list[SessionRow]:
    """Return every session, of whoever and however old."""
    return [SessionRow(**row) for row in opened.execute(select(SESSIONS)).mappings()]


def note_seen(opened: Opened, token_hash: str, at: datetime) -> None:
    """Note that a session was used."""
    mine = SESSIONS.c.token_hash == token_hash
    opened.execute(update(SESSIONS).where(mine).values(seen_at=at))


def end_session(opened: Opened, session_id: str, of: str | None) -> int:
    """End a session, of this account only unless ``of`` is None; how many rows went."""
    mine = SESSIONS.c.id == session_id
    if of is not None:
        mine &= SESSIONS.c.user == of
    return opened.execute(delete(SESSIONS).where(mine)).rowcount


def end_all(opened: Opened, name: str) -> int:
    """End every session of an account; how many rows went."""
    return opened.execute(delete(SESSIONS).where(SESSIONS.c.user == name)).rowcount


def forget_sessions(opened: Opened, *, started_before: datetime, idle_since: datetime) -> None:
    """Remove sessions that no longer count."""
    old = or_(SESSIONS.c.since < started_before, SESSIONS.c.seen_at < idle_since)
    opened.execute(delete(SESSIONS).where(old))


def tries(opened: Opened, full: TriesRow) -> TriesRow:
    """Return the bucket of that key, ``full`` if there was none; held until the end.

    It is put there first, so that of many at the same moment each waits for the last.
    """
    opened.execute(added_if_absent(opened, TRIES), asdict(full))
    held = select(TRIES).where(TRIES.c.key == full.key).with_for_update()
    row = opened.execute(held).mappings().first()
    return full if row is None else TriesRow(**row)


def set_tries(opened: Opened, row: TriesRow) -> None:
    """Keep what is left of a bucket that is held."""
    changed = update(TRIES).where(TRIES.c.key == row.key)
    opened.execute(changed.values(left=row.left, at=row.at))


def tries_of(opened: Opened, keys: Collection[str]) -> dict[str, TriesRow]:
    """Return those of these buckets that are there; for who holds the lock of writers."""
    found = opened.execute(_TRIES_OF, {"keys": list(keys)})
    return {row.key: row for row in (TriesRow(*one) for one in found)}


def held_tries(opened: Opened, keys: Collection[str]) -> dict[str, TriesRow]:
    """Return those of these buckets that are there, each held until the transaction ends."""
    found = opened.execute(_HELD_TRIES, {"keys": list(keys)})
    return {row.key: row for row in (TriesRow(*one) for one in found)}


def put_tries(opened: Opened, rows: Sequence[TriesRow]) -> None:
    """Keep what is left of these buckets, each there before or not."""
    if rows:
        opened.execute(written_anew(opened, TRIES), [asdict(row) for row in rows])


def drop_tries(opened: Opened, key: str) -> None:
    """Forget a bucket: it counts as full."""
    opened.execute(delete(TRIES).where(TRIES.c.key == key))


def forget_tries(opened: Opened, before: datetime, prefix: str = "") -> None:
    """Remove buckets that are full again, those whose key begins so alone."""
    old = TRIES.c.at < before
    if prefix:
        old &= TRIES.c.key.startswith(prefix, autoescape=True)
    opened.execute(delete(TRIES).where(old))
