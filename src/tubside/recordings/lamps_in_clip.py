"""What the lamps do in one clip, or in several of the same panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from tubside.errors import RecordingError
from tubside.recordings.clip.extra import require_recordings
from tubside.recordings.clip.taps import Taps, checked_taps
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import ReadPanel, read_lamps

if TYPE_CHECKING:
    from tubside.recordings.clip.placing import Drawn

MOST_CLIPS = 6
PIECE_S = 20.0


class LampAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """One lamp, as it is told to other programs."""

    state: str
    probability: dict[str, float]
    period_s: float | None = None
    duty: float | None = None
    group: int | None = None
    counts: list[int] = []


class ClipAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """All lamps, and what to do about those that stay unknown."""

    lamps: dict[str, LampAnswer]
    advice: list[str]


class _Drawn(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    x: float
    y: float
    size: float


class _Options(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What goes with the clips: taps for each or once for all, and the drawing's lamps."""

    taps: list[dict[str, tuple[float, float]]]
    drawn: dict[str, _Drawn] | None = None


def read_clip(
    paths: Sequence[Path], taps: Taps | Sequence[Taps], drawn: Mapping[str, Drawn] | None = None
) -> ReadPanel:
    """Return what the lamps of a panel do, from clips of it in the same indication.

    Parameters
    ----------
    paths : sequence of Path
        Clips in H.264, HEVC, VP9 or MJPEG, a minute at most each.
    taps : mapping, or sequence of mappings
        Lamp id -> (x, y) in pixels of the first frame, turned upright; one mapping for each
        clip, or one for the first clip, onto which the others are then laid.
    drawn : mapping, optional
        The lamps of the panel's drawing, from which those not tapped are placed.

    Raises
    ------
    RecordingError
        Saying which clip or tap cannot be read, and what to do.
    """
    require_recordings()
    from tubside.recordings.clip.brightness import lamp_series  # noqa: PLC0415  # start-up
    from tubside.recordings.clip.joining import places_in_each  # noqa: PLC0415
    from tubside.recordings.clip.measuring import walked  # noqa: PLC0415

    if not 0 < len(paths) <= MOST_CLIPS:
        msg = f"give one to {MOST_CLIPS} clips of the same panel"
        raise RecordingError(msg)
    given = [taps] if isinstance(taps, Mapping) else list(taps)
    places = places_in_each(paths, given, drawn)
    whole = [lamp_series(walked(path, at), at) for path, at in zip(paths, places, strict=True)]
    return read_lamps([part for series in whole for part in pieces(series)])


def pieces(series: LampSeries) -> list[LampSeries]:
    """Return a series in even pieces of about 20 s at most, read like several clips.

    What reading takes of time and memory grows with the square of the length.
    """
    count = int(np.ceil(series.length_s / PIECE_S - 0.25))
    ends = np.linspace(0, len(series.times_s), max(count, 1) + 1).astype(np.int64)
    parts = [slice(int(a), int(b)) for a, b in pairwise(ends)]
    rows = series.row_times_s
    return [
        replace(
            series,
            times_s=series.times_s[part],
            brightness=series.brightness[:, part],
            row_times_s=None if rows is None else rows[:, part],
        )
        for part in parts
    ]


def told(panel: ReadPanel) -> ClipAnswer:
    """Return what was read, as it is told to other programs."""
    return ClipAnswer(
        lamps={
            name: LampAnswer(
                state=lamp.state,
                probability=dict(lamp.probability),
                period_s=lamp.period_s,
                duty=lamp.duty,
                group=lamp.group,
                counts=list(lamp.counts),
            )
            for name, lamp in panel.lamps.items()
        },
        advice=list(panel.advice),
    )


def answer(paths: Sequence[Path], options: bytes) -> bytes:
    """Return what the lamps do as JSON, for a process of its own.

    ``options`` is JSON: ``{"taps": [{"lamp id": [x, y]}, ...], "drawn": {"lamp id": {"x",
    "y", "size"}} or null}``, taps for each clip or once for all.

    Raises
    ------
    RecordingError
        Options that are none, and what :func:`read_clip` refuses.
    """
    from tubside.recordings.clip.placing import Drawn  # noqa: PLC0415

    try:
        given = msgspec.json.decode(options, type=_Options)
    except msgspec.DecodeError as wrong:
        msg = f"the places of the lamps cannot be read ({wrong}); tap them again"
        raise RecordingError(msg) from None
    taps = [checked_taps(one, "taps") for one in given.taps]
    drawn = {n: Drawn(at.x, at.y, at.size) for n, at in (given.drawn or {}).items()}
    return msgspec.json.encode(told(read_clip(paths, taps, drawn or None)))
