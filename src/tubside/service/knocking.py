"""Logging in: tries are counted first, then name and password are looked at."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from argon2 import PasswordHasher

from tubside.errors import TooManyTriesError, WrongLoginError
from tubside.service.logins import NAME, SESSION_IDLE, SESSION_LIFE, digest
from tubside.service.passwords import HASHER, fits
from tubside.service.tries import Bucket, Rule, filled, one_less, wait_for_one
from tubside.store import logins as kept
from tubside.store.opening import Store

RULES: Mapping[str, Rule] = {"pair": Rule(5, 60), "from": Rule(20, 30), "name": Rule(50, 60)}
"""Tries of one name from one address, of one address, and of one name from anywhere. The
last is wide, so that a stranger cannot lock somebody out (common practice, no source)."""
FORGET_TRIES = timedelta(hours=2)
"""By then every bucket of :data:`RULES` is full again."""


@dataclass(frozen=True, slots=True)
class Knock:
    """One try to log in: what was typed, the address it came from, and with which browser."""

    name: str
    password: str
    address: str
    device: str = ""


def fresh_token() -> str:
    """Return 256 random bits as text."""
    return secrets.token_urlsafe(32)


@dataclass(frozen=True, slots=True)
class Lock:
    """How passwords are hashed, and where session tokens come from."""

    hasher: PasswordHasher = HASHER
    token: Callable[[], str] = fresh_token


LOCK = Lock()


def log_in(store: Store, knock: Knock, now: datetime, lock: Lock = LOCK) -> str:
    """Return the token of a new session.

    Raises
    ------
    TooManyTriesError
        After too many tries; the password was not looked at.
    WrongLoginError
        When name and password do not fit.
    """
    name = knock.name.strip().lower()
    _count_try(store, name, knock.address, now)
    user = _account(store, name)
    if not fits(lock.hasher, user.password if user else None, knock.password) or user is None:
        msg = "this name and this password do not fit"
        raise WrongLoginError(msg)
    if lock.hasher.check_needs_rehash(user.password):
        rehashed = lock.hasher.hash(knock.password)
        with store.writing() as opened:
            kept.replace_password(opened, name, user.password, rehashed)
    return _new_session(store, knock, now, lock.token())


def _account(store: Store, name: str) -> kept.UserRow | None:
    if not NAME.fullmatch(name):
        return None
    with store.reading() as opened:
        return kept.user(opened, name)


def _new_session(store: Store, knock: Knock, now: datetime, token: str) -> str:
    name = knock.name.strip().lower()
    hashed = digest(token)
    row = kept.SessionRow(
        token_hash=hashed,
        id=digest(hashed)[:16],
        user=name,
        since=now,
        seen_at=now,
        device=_device(knock.device),
    )
    with store.writing() as opened:
        kept.forget_sessions(
            opened, started_before=now - SESSION_LIFE, idle_since=now - SESSION_IDLE
        )
        _forget_tries(opened, name, knock.address)
        if kept.user(opened, name) is None:
            msg = "this account was removed just now"
            raise WrongLoginError(msg)
        kept.add_session(opened, row)
    return token


def _count_try(store: Store, name: str, address: str, now: datetime) -> None:
    wait = 0.0
    with store.writing() as opened:
        kept.forget_tries(opened, now - FORGET_TRIES)
        for key, rule in _buckets(name, address).items():
            row = kept.tries(opened, kept.TriesRow(key, float(rule.size), now))
            bucket = filled(Bucket(row.left, row.at), rule, now)
            missing = wait_for_one(bucket, rule)
            after = bucket if missing else one_less(bucket)
            kept.set_tries(opened, kept.TriesRow(key, after.left, after.at))
            wait = max(wait, missing)
    if wait:
        raise TooManyTriesError(wait)


def _buckets(name: str, address: str) -> dict[str, Rule]:
    """Return bucket -> rule; what was typed as a name may be a password, so it is hashed."""
    keys = {"pair": f"{address} {name}", "from": address, "name": name}
    return {f"{kind}:{digest(key)[:32]}": RULES[kind] for kind, key in keys.items()}


def _forget_tries(opened: kept.Opened, name: str, address: str) -> None:
    """Let who came in start afresh; the address keeps its count, as others knock from it."""
    for key in _buckets(name, address):
        if not key.startswith("from:"):
            kept.drop_tries(opened, key)


def _device(words: str) -> str:
    return "".join(letter for letter in words if letter.isprintable())[:120]
