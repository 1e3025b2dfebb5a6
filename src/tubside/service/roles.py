"""Who may see and do what: a technician the own day, the office everybody's."""

from __future__ import annotations

from collections.abc import Mapping

from tubside.errors import LoginError
from tubside.service.logins import Role, User

ROLE_WORDS: Mapping[Role, str] = {"technician": "technician", "office": "office"}
"""Role -> the word for it on pages."""


def is_office(user: User | None) -> bool:
    """Whether somebody may see and do all; so may everybody where nobody needs to log in.

    >>> is_office(None)
    True
    """
    return user is None or user.role == "office"


def may_see_day(user: User | None, technician: str) -> bool:
    """Whether somebody may see the day of a technician: the own one, the office all."""
    return user is None or is_office(user) or user.name == technician


def goes_there(user: User | None, technician: str) -> bool:
    """Whether a round is somebody's own: what only who goes there needs is for them.

    The office sees every round and goes to none but those under its own name. Where nobody
    needs to log in, the one who looks is the one who goes.

    >>> goes_there(None, "ida")
    True
    """
    return user is None or user.name == technician


def check_office(user: User | None, what: str) -> None:
    """Refuse what only the office may do; ``what`` says it, such as "lock out a phone".

    Raises
    ------
    LoginError
        When a technician asks for it.
    """
    if not is_office(user):
        msg = f"only the office may {what}; log in with an office account, or ask there"
        raise LoginError(msg)
