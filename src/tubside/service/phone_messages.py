"""Messages of phones before they are taken: whose turn it is, and which phone is locked out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection

from tubside.service.devices import LOCKED, SENT
from tubside.service.logins import Session
from tubside.service.sent import Batch
from tubside.service.tries import Bucket, Rule, filled, one_less, wait_for_one
from tubside.store import logins as kept
from tubside.store import settings

OFTEN = Rule(60, 1.0)
"""Messages of one login: sixty at once, and one more each second (by judgement)."""


@dataclass(frozen=True, slots=True)
class Message:
    """What a phone sent, when it came, and from whom; ``address`` counts where nobody logs in."""

    batch: Batch
    session: Session | None
    address: str
    now: datetime

    @property
    def key(self) -> str:
        """The bucket of turns that it takes one of."""
        return turn_key(self.session, self.address)

    @property
    def by_another(self) -> bool:
        """Whether its facts were told by another account than the one that sends them."""
        name = "" if self.session is None else self.session.user.name
        return self.batch.user not in {"", name}


@dataclass(frozen=True, slots=True)
class NotTaken:
    """Why a message is not taken as a whole; ``wait`` is until there is a turn again [s]."""

    why: Literal["too-often", "locked", "by-another"]
    wait: float = 0.0


def turn_key(session: Session | None, address: str) -> str:
    """The bucket that a login's messages take turns of, or an address's without one."""
    return f"sync:{address if session is None else session.id}"


def looked_through(opened: Connection, messages: Sequence[Message]) -> list[NotTaken | None]:
    """Take a turn for each, and note of those to be taken by which name the phone sends.

    To be called in a writing transaction; whoever comes first in the list has the first turn.
    """
    waits = _turns(opened, messages)
    names = {LOCKED + one.batch.device for one in messages}
    names |= {SENT + one.session.id for one in messages if one.session is not None}
    known = settings.settings_named(opened, names)
    found = [_why_not(one, wait, known) for one, wait in zip(messages, waits, strict=True)]
    settings.keep_settings(
        opened,
        {
            SENT + one.session.id: one.batch.device
            for one, why_not in zip(messages, found, strict=True)
            if why_not is None
            and one.session is not None
            and known.get(SENT + one.session.id) != one.batch.device
        },
    )
    return found


def _why_not(one: Message, wait: float, known: dict[str, str]) -> NotTaken | None:
    if wait:
        return NotTaken("too-often", wait)
    if LOCKED + one.batch.device in known:
        return NotTaken("locked")
    return NotTaken("by-another") if one.by_another else None


def _turns(opened: Connection, messages: Sequence[Message]) -> list[float]:
    """How long each has to wait [s]; 0 where its turn was there to be taken."""
    buckets = kept.tries_of(opened, {one.key for one in messages})
    waits = []
    for one in messages:
        row = buckets.get(one.key, kept.TriesRow(one.key, float(OFTEN.size), one.now))
        bucket = filled(Bucket(row.left, row.at), OFTEN, one.now)
        missing = wait_for_one(bucket, OFTEN)
        after = bucket if missing else one_less(bucket)
        buckets[one.key] = kept.TriesRow(one.key, after.left, after.at)
        waits.append(missing)
    kept.put_tries(opened, list(buckets.values()))
    return waits
