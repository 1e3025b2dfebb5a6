"""What a fact may say of trips: how one ended, what a job waits for, where its machine is."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

VisitStatus = Literal["wanted", "booked", "cancelled", "failed", "given-up", "done"]
Trouble = Literal[
    "nobody-home", "no-access", "wrong-address", "unsafe-place", "animal", "threatened", "other"
]
"""Why a visit failed or was given up."""
WaitFor = Literal["part", "quote", "ring-back", "visit", "customer", "workshop"]
Minutes = Annotated[float, Meta(ge=1, le=1440)]
When = Annotated[datetime, Meta(tz=True)]


MailAbout = Literal["booked", "between", "late"]
MailState = Literal["begun", "sent", "failed", "unsure"]
MailTrouble = Literal[
    "no-answer", "not-safe", "login", "password", "sender", "recipient", "refused"
]
WordsRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused."""


class OnSite(_Record, frozen=True, kw_only=True):
    """How long the visit is expected to take [min]: mean, and the range of 80 %."""

    mean: Minutes
    low: Minutes
    high: Minutes


class Waiting(_Record, frozen=True, kw_only=True, tag_field="kind", tag="waiting"):
    """What a job waits for, and until when; the latest counts, and no ``what`` ends it."""

    what: WaitFor | None = None
    until: When | None = None


class MachineMoved(_Record, frozen=True, kw_only=True, tag_field="kind", tag="machine-moved"):
    """The machine was taken to the workshop, or returned to its home."""

    to: Literal["workshop", "home"]


class MailTold(_Record, frozen=True, kw_only=True, tag_field="kind", tag="mail"):
    """A mail to the customer by the shop's own server: begun, then what became of it.

    ``words`` is what it says, kept beside the facts; both facts of one mail name the same.
    """

    about: MailAbout
    state: MailState
    words: WordsRef
    why: MailTrouble | None = None


WaitingBody = Waiting | MachineMoved | MailTold
"""What is told around a visit."""
