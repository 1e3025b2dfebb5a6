"""What the facts say of a machine that nobody has taught: its kind, and its panel."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

PlateCode = Annotated[str, Meta(max_length=24, pattern=r"\A[A-Z0-9]+(-[A-Z0-9]+)*\Z")]
"""Letters and digits of a type plate, in groups."""
SerialCode = Annotated[str, Meta(max_length=40, pattern=r"\A[A-Z0-9]+(-[A-Z0-9]+)*\Z")]
"""Letters and digits of a machine's serial number, in groups."""
LampWords = Annotated[
    str, Meta(pattern=r"\A(off|steady|flashing|not sure|([2-9]|1[0-2]) blinks)\Z")
]
DisplayText = Annotated[str, Meta(max_length=24, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
LabelsRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
"""A random reference of words kept beside the facts."""


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused, and what is absent was not asked."""


class KindTold(_Record, frozen=True, kw_only=True, tag_field="kind", tag="kind-told"):
    """The two plain questions after a machine's family: what it does, where clothes go in."""

    does: Literal["washes", "dries", "dishes", "not-sure"]
    opening: Literal["top", "front", "not-sure"] = "not-sure"


class PanelSketched(_Record, frozen=True, kw_only=True, tag_field="kind", tag="sketch"):
    """The panel of a model that nobody has taught, and what each lamp does, in order.

    ``labels`` refers to the words beside the lamps; the latest sketch counts.
    """

    layout: Literal["row", "column", "ring", "grid"]
    lamps: Annotated[list[LampWords], Meta(min_length=1, max_length=12)]
    sound: Literal["none", "notes", "pulses", "steady tone"] | None = None
    has_display: bool = False
    display: DisplayText | None = None
    labels: LabelsRef | None = None


PanelBody = KindTold | PanelSketched
"""What is told of a panel that nobody has taught."""
