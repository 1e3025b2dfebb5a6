"""Facts about the shop's own parts."""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta

PartNumber = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9][A-Za-z0-9._-]{0,39}\Z")]
PlaceName = Annotated[str, Meta(pattern=r"\A(workshop|van:[a-z0-9]([a-z0-9._-]{0,38}[a-z0-9])?)\Z")]


class PartUsed(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
    tag="part-used",
):
    """Units of one of the shop's parts that stay in the machine, and where they came from.

    The stock follows the fact, and comes back when the fact is taken back.
    """

    part: PartNumber
    units: Annotated[int, Meta(ge=1, le=100)] = 1
    place: PlaceName
