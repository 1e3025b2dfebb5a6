"""Signed links of the customer's own check: to one job for some days, or to the front door.

The signature (HMAC by ``itsdangerous``) covers what the link opens and its last moment, so
none can be made elsewhere or carried over to another job. A front door's link also carries
the number of the door: a new door shuts the old one, on every paper it was printed on.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

import msgspec

from tubside.errors import LinkError
from tubside.service.refs import check_ref, need_job
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

KEY = "own-check-link-key"
DOOR = "own-check-door"
SALT = "tubside.own-check"
WRONG = "this link is not right; ask the shop for a new one"
PAST = "this link is past its last day; ask the shop for a new one"
JOB_DAYS, DOOR_DAYS = 7, 730
"""How long links hold: to a job until it is looked at, on paper for two years."""


@dataclass(frozen=True, slots=True)
class Opens:
    """What a link opens: one job, or the front door (None)."""

    job: str | None
    until: datetime


class _Bound(msgspec.Struct, frozen=True, array_like=True):
    """What is signed."""

    kind: str
    what: str
    until: int


def job_link(store: Store, job: str, now: datetime, days: int = JOB_DAYS) -> str:
    """The token of a link to one job; NotThereError when there is no such job."""
    with store.reading() as opened:
        need_job(opened, job)
    return _signed(store, ["job", job, int((now + timedelta(days=days)).timestamp())])


def door_link(store: Store, now: datetime, *, anew: bool = False) -> str:
    """The token of the front door's link; ``anew`` shuts every one given out before."""
    with store.writing() as opened:
        door = setting(opened, DOOR)
        if door is None or anew:
            door = secrets.token_urlsafe(6)
            keep_setting(opened, DOOR, door)
    return _signed(store, ["door", door, int((now + timedelta(days=DOOR_DAYS)).timestamp())])


def opened_by(store: Store, token: str, now: datetime) -> Opens:
    """What a token opens.

    Raises
    ------
    LinkError
        When it was not made here, is past its last moment, or is of a door that was shut.
    """
    from itsdangerous import BadData, URLSafeSerializer  # noqa: PLC0415  # of the app extra

    with store.reading() as opened:
        key, door = setting(opened, KEY), setting(opened, DOOR)
    if key is None:
        raise LinkError(WRONG)
    try:
        bound = msgspec.convert(URLSafeSerializer(key, salt=SALT).loads(token), _Bound)
    except (BadData, msgspec.ValidationError):
        raise LinkError(WRONG) from None
    if now.timestamp() >= bound.until:
        raise LinkError(PAST)
    until = datetime.fromtimestamp(bound.until, now.tzinfo)
    if bound.kind == "job":
        return Opens(check_ref(bound.what), until)
    if bound.kind != "door" or door is None or not secrets.compare_digest(bound.what, door):
        raise LinkError(WRONG)
    return Opens(None, until)


def _signed(store: Store, bound: list[str | int]) -> str:
    from itsdangerous import URLSafeSerializer  # noqa: PLC0415  # of the app extra

    with store.writing() as opened:
        key = setting(opened, KEY)
        if key is None:
            key = secrets.token_hex(32)
            keep_setting(opened, KEY, key)
    return str(URLSafeSerializer(key, salt=SALT).dumps(bound))
