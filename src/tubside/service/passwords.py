"""Passwords: what is taken, how they are hashed, and whether one fits."""

from __future__ import annotations

import secrets

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from tubside.errors import LoginError

SHORTEST, LONGEST = 12, 256
"""Characters. The least is common practice, no source; the most bounds the work of a hash."""
HASHER = PasswordHasher()
"""Argon2id with the second recommended option of RFC 9106, section 4: 64 MiB, 3 passes."""

_DECOYS: dict[str, str] = {}


def check_password(name: str, password: str) -> None:
    """Refuse a password that is too easy for the account ``name``.

    Raises
    ------
    LoginError
        When it is too short, too long, holds the name, or repeats a few letters.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        msg = f"a password has {SHORTEST} to {LONGEST} characters; a few words in a row are good"
        raise LoginError(msg)
    if name in password.lower() or len(set(password)) < 5:
        msg = "this password is too easy; use a few words that have nothing to do with you"
        raise LoginError(msg)


def fits(hasher: PasswordHasher, hashed: str | None, password: str) -> bool:
    """Return whether a password is the one that was hashed.

    Without a hash (no such account) a decoy is worked on as long, so that the time
    tells nobody which names there are.
    """
    try:
        hasher.verify(hashed or _decoy(hasher), password[:LONGEST])
    except (VerificationError, InvalidHashError, UnicodeError):
        return False
    return hashed is not None and len(password) <= LONGEST


def _decoy(hasher: PasswordHasher) -> str:
    work = f"{hasher.time_cost} {hasher.memory_cost} {hasher.parallelism}"
    if work not in _DECOYS:
        _DECOYS[work] = hasher.hash(secrets.token_urlsafe(16))
    return _DECOYS[work]
