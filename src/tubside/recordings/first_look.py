"""Decode the very first of a recording: whatever is damaged or locked shows at once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tubside.errors import RecordingError
from tubside.recordings.file_kinds import LOGS
from tubside.recordings.opening import Declared, Need, checked_kind, declared, opened

if TYPE_CHECKING:
    from av.container import InputContainer

MOST_PACKETS = 400
"""Without one picture or a bit of sound in them, it holds none that can be read."""


def first_look(path: Path, need: Need | None) -> Declared:
    """What a recording declares of itself, once its first picture or sound was decoded.

    ``need`` None is for a log of numbers, which is decoded by its reader alone.

    Raises
    ------
    RecordingError
        When it is no such recording, or nothing in it can be decoded.
    """
    if need is None:
        checked_kind(path, LOGS)
        return Declared(None, 0, 0, 0, 0.0)
    with opened(path, need) as container:
        size = declared(container)
        if next(first_decoded(container, need), None) is None:
            msg = f"nothing in {path.name} can be decoded; send the original file once more"
            raise RecordingError(msg)
        return size


def first_decoded(container: InputContainer, need: Need) -> Iterator[Any]:
    """Frames of the first packets of the stream that is needed, undecodable ones left out."""
    import av.error  # noqa: PLC0415  # an extra, loaded only when a recording is read

    pictures, sounds = container.streams.video[:1], container.streams.audio[:1]
    stream = {"pictures": pictures, "sound": sounds, "either": pictures or sounds}[need][0]
    for packet in islice(container.demux(stream), MOST_PACKETS):
        try:
            yield from packet.decode()
        except av.error.InvalidDataError:
            continue
