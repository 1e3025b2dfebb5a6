"""What a fact may say of a phone's recordings."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

RecordingRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
"""A random reference of a recording kept beside the facts."""
RecordingOf = Literal["lamps", "sound", "spin", "shake"]


class RecordingKept(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
    tag="recording",
):
    """A clip, a sound or a log kept beside the facts, and what was to be read from it."""

    ref: RecordingRef
    of: RecordingOf
