"""The shape of a reading: a check whose outcome is a number with a unit."""

from __future__ import annotations

from typing import Literal

import msgspec

from tubside.pack.record import Record


class Reading(Record, frozen=True, kw_only=True):
    """What is measured, in which unit it is told, and how well each observer measures.

    An error without unit is a share of the value (of counts and ratios it is absolute),
    one with a unit is absolute, and "0.05 and 2 mm" has both; each is a standard
    deviation. ``likely`` holds the two ends between which a number raises no question,
    ``possible`` those outside which it cannot be, and ``most`` is where measuring ends.
    ``spoiled_by`` holds causes that no parameter of the machine stands for, with the
    chance that the number is anything at all.
    """

    quantity: str
    unit: str
    error: dict[Literal["customer", "technician"], str]
    likely: list[str] = msgspec.field(default_factory=list)
    possible: list[str] = msgspec.field(default_factory=list)
    most: str | None = None
    needs_fault: bool = False
    spoiled_by: dict[str, float] = msgspec.field(default_factory=dict)
