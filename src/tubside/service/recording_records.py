"""What a fact may say of a phone's recordings."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

RecordingRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
"""A random reference of a recording kept beside the facts."""
ReadName = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
Likelihood = Annotated[float, Meta(gt=0, le=1)]
LampState = Literal["off", "steady", "flashing", "unknown"]
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


class RecordingRead(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
    tag="recording-read",
):
    """What was read from recordings of the panel, or of its sound, taken together.

    ``likelihoods`` are P(recorded | indication) up to one factor, for every indication
    of the panel and for a panel that shows nothing: never a posterior. The latest reading
    of lamps counts, and the latest of sound: the same clip read twice says no more, and
    several clips are read together, not multiplied.
    """

    refs: Annotated[list[RecordingRef], Meta(min_length=1, max_length=6)]
    of: Literal["lamps", "sound"]
    likelihoods: Annotated[dict[ReadName, Likelihood], Meta(min_length=1, max_length=200)]
    lamps: Annotated[dict[ReadName, LampState], Meta(max_length=60)] = {}
    sound: ReadName | None = None


RecordingBody = RecordingKept | RecordingRead
