"""Facts about what follows a repair: its warranty, a return for it, and where things went."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

Days = Annotated[int, Meta(ge=0, le=3660)]
JobRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
WordsRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]

Thing = Literal["machine", "parts"]
Way = Literal["recycled", "left-with-customer", "back-to-supplier", "passed-on", "kept-for-parts"]


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused."""


class ReturnOf(_Record, frozen=True, kw_only=True, tag_field="kind", tag="return-of"):
    """A job that is a return for the trouble of an earlier one."""

    job: JobRef


class WarrantyGiven(_Record, frozen=True, kw_only=True, tag_field="kind", tag="warranty"):
    """How long the shop answers for its work and for the parts, from the closing on."""

    labour_days: Days
    part_days: Days


class Disposed(_Record, frozen=True, kw_only=True, tag_field="kind", tag="disposed"):
    """Where the machine or its old parts went; ``words`` tell the place or the receipt."""

    what: Thing
    way: Way
    words: WordsRef | None = None


AfterBody = ReturnOf | WarrantyGiven | Disposed
"""What follows a repair."""
