"""The same clip with every lamp as the eye would have seen it; all else as it was.

Frames keep their times and sound is copied as it is. Three walks through the clip: what the
lamps do, how they look lit and dark, and the painting.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.clip.brightness import fine_places, lamp_series
from tubside.recordings.clip.decoding import Size, raw_frames
from tubside.recordings.clip.measuring import Walked, walked
from tubside.recordings.clip.painting import Look, Spot, look_of, mark, paint
from tubside.recordings.clip.placing import Placed
from tubside.recordings.clip.planes import Planes, planes_of
from tubside.recordings.clip.steadying import Looks, Plan, looks, plan_of
from tubside.recordings.lamps_read import ReadPanel
from tubside.recordings.opening import opened

Array = NDArray[np.float64]

LABEL_ROWS = 3
QUALITY = {"crf": "17", "preset": "veryfast"}
KINDS = (".mp4", ".mov", ".mkv")
LONGEST_GAP = 6
"""Frames over which the panel's place is carried between two in which it was found."""


@dataclass(frozen=True, slots=True)
class _Painted:
    """One lamp to be painted: where, when lit, and its looks."""

    name: str
    spot: Spot
    lit: NDArray[np.bool_]
    looks: Looks
    when_lit: Look | None = None
    when_dark: Look | None = None


def steady(path: Path, lamps: Placed, out: Path, *, marked: bool = False) -> ReadPanel:
    """Write a clip again with its lamps redrawn, and return what they do.

    Parameters
    ----------
    path : Path
        The clip.
    lamps : Placed
        Its lamps in the first frame.
    out : Path
        Where to write: .mp4, .mov or .mkv, H.264.
    marked : bool
        Whether a ring and the id and state are drawn at each lamp.

    Raises
    ------
    RecordingError
        A clip that cannot be read, no lamp of which anything is known, or a kind of file
        that cannot be written.
    """
    if out.suffix.lower() not in KINDS:
        msg = f"{out.name} is no kind of clip that is written; name it .mp4, .mov or .mkv"
        raise RecordingError(msg)
    if out.exists() and out.samefile(path):
        msg = f"{out.name} is the clip itself; give --out another name"
        raise RecordingError(msg)
    walk = walked(path, lamps)
    series = lamp_series(walk, lamps)
    plan = plan_of(series)
    if all(lit is None for lit in plan.lit.values()):
        msg = f"no lamp of {path.name} can be told, so none is redrawn. "
        raise RecordingError(msg + " ".join(plan.panel.advice))
    painted = []
    for k, (name, spot) in enumerate(zip(lamps.names, _spots(walk), strict=True)):
        lit = plan.lit[name]
        if lit is not None:
            painted.append(_Painted(name, spot, lit, looks(series, lit, k)))
    motions = _motions(walk)
    ready = _with_looks(path, walk, painted, motions)
    labels = _labels(plan, lamps, _spots(walk)) if marked else {}
    _write(path, out, _Job(walk, motions, tuple(ready), labels))
    return plan.panel


def _spots(walk: Walked) -> list[Spot]:
    xy, radius = fine_places(walk)
    full = (xy + 0.5) / walk.size.scale - 0.5
    return [Spot(float(x), float(y), radius / walk.size.scale) for x, y in full]


def _labels(plan: Plan, lamps: Placed, spots: list[Spot]) -> dict[str, Spot]:
    states = plan.panel.lamps
    return {
        f"{name}: {states[name].state}": spot for name, spot in zip(lamps.names, spots, strict=True)
    }


def _motions(walk: Walked) -> list[Array | None]:
    """Where each frame's panel lies, full pixels; carried over short gaps, else None."""
    shift = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    to_working = np.diag([walk.size.scale, walk.size.scale, 1.0]) @ shift
    to_working = np.linalg.inv(shift) @ to_working
    back = np.linalg.inv(to_working)
    found = np.flatnonzero(walk.found)
    motions: list[Array | None] = []
    for n in range(len(walk.motions)):
        at = int(np.searchsorted(found, n))
        if at < len(found) and found[at] == n:
            matrix = walk.motions[n].matrix
        elif 0 < at < len(found) and found[at] - found[at - 1] <= LONGEST_GAP:
            before, after = int(found[at - 1]), int(found[at])
            share = (n - before) / (after - before)
            ends = walk.motions[before].matrix, walk.motions[after].matrix
            matrix = (1 - share) * ends[0] + share * ends[1]
        else:
            motions.append(None)
            continue
        motions.append(back @ matrix @ to_working)
    return motions


def _with_looks(
    path: Path, walk: Walked, painted: list[_Painted], motions: list[Array | None]
) -> Iterator[_Painted]:
    """Yield the lamps with their looks, taken in one walk through the clip."""
    wanted = {int(n) for lamp in painted for n in (*lamp.looks.lit, *lamp.looks.dark)}
    kept: dict[tuple[str, bool], list[Look]] = {}
    with opened(path, "pictures") as container:
        for n, frame in enumerate(raw_frames(container, path.name)):
            matrix = motions[n] if n < len(motions) else None
            if n not in wanted or matrix is None:
                continue
            picture = (planes_of(frame, walk.size.turns), matrix, float(walk.gain[n]))
            for lamp in painted:
                for lit, chosen in ((True, lamp.looks.lit), (False, lamp.looks.dark)):
                    if n in chosen:
                        kept.setdefault((lamp.name, lit), []).append(look_of([picture], lamp.spot))
    for lamp in painted:
        look, other = (_mean(kept.get((lamp.name, way), [])) for way in (True, False))
        yield _Painted(lamp.name, lamp.spot, lamp.lit, lamp.looks, look, other)


def _mean(found: list[Look]) -> Look | None:
    if not found:
        return None
    planes = zip(*(look.planes for look in found), strict=True)
    return Look(tuple(np.mean(np.array(parts), axis=0, dtype=np.float32) for parts in planes))


@dataclass(frozen=True, slots=True)
class _Job:
    """All that the painting needs."""

    walk: Walked
    motions: list[Array | None]
    lamps: tuple[_Painted, ...]
    labels: Mapping[str, Spot]

    @property
    def size(self) -> Size:
        return self.walk.size

    def redrawn(self, n: int, planes: Planes) -> None:
        """Paint and mark the lamps of frame ``n``, in place."""
        matrix = self.motions[n]
        if matrix is None:
            return
        gain = float(self.walk.gain[n])
        for lamp in self.lamps:
            look = lamp.when_lit if lamp.lit[n] else lamp.when_dark
            if look is not None and lamp.lit.any():
                paint(planes, look, lamp.spot, matrix, gain)
        for row, (text, spot) in enumerate(self.labels.items()):
            mark(planes, text, spot, matrix, row % LABEL_ROWS)


def _write(path: Path, out: Path, job: _Job) -> None:
    """Write the clip, painted, its sound copied packet by packet."""
    part = out.with_name(out.name + ".part" + out.suffix)
    try:
        with opened(path, "pictures") as source, av.open(str(part), "w") as target:
            sound = source.streams.audio[0] if source.streams.audio else None
            copy = None if sound is None else target.add_stream_from_template(sound)
            video = _stream(source, target, job.size)
            for n, frame in enumerate(raw_frames(source, path.name)):
                if n >= len(job.motions):
                    break
                planes = planes_of(frame, job.size.turns)
                job.redrawn(n, planes)
                made = planes.frame(frame)
                target.mux(video.encode(made))
            target.mux(video.encode(None))
            if sound is not None and copy is not None:
                _copy_sound(path, target, copy)
        part.replace(out)
    except (av.FFmpegError, ValueError) as wrong:
        msg = f"{out.name} cannot be written ({wrong}); name it .mkv, which takes every sound"
        raise RecordingError(msg) from None
    finally:
        part.unlink(missing_ok=True)


def _stream(
    source: av.container.InputContainer, target: av.container.OutputContainer, size: Size
) -> av.VideoStream:
    told = source.streams.video[0]
    rate = told.average_rate or Fraction(30)
    video = target.add_stream("libx264", rate=rate, options=dict(QUALITY))
    video.width, video.height, video.pix_fmt = size.width, size.height, "yuv420p"
    here, there = video.codec_context, told.codec_context
    assert told.time_base is not None
    video.time_base = here.time_base = told.time_base
    here.color_range = 2 if told.pix_fmt and told.pix_fmt.startswith("yuvj") else there.color_range
    here.colorspace, here.color_primaries = there.colorspace, there.color_primaries
    here.color_trc = there.color_trc
    return video


def _copy_sound(path: Path, target: av.container.OutputContainer, copy: av.AudioStream) -> None:
    """Copy the first sound track as it is."""
    with opened(path, "pictures") as source:
        for packet in source.demux(source.streams.audio[0]):
            if packet.dts is not None:
                packet.stream = copy
                target.mux(packet)
