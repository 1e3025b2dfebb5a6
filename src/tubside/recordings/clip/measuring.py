"""Small upright pictures of every lamp in every frame, and the camera's gain.

The clip is walked once; what is kept of a frame is a square of pixels around each lamp,
brought back onto the first frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.panel.straightening import mapped
from tubside.recordings.clip.clock import on_the_clock
from tubside.recordings.clip.decoding import NO_COLOUR, Frame, Grey, Size, frames
from tubside.recordings.clip.following import Follower, Motion, follower
from tubside.recordings.clip.light import LIGHT
from tubside.recordings.clip.mains import without_mains
from tubside.recordings.clip.placing import Placed

Array = NDArray[np.float64]

BLOCK = 8
SHARE_OF_SPACING, SMALLEST, LARGEST = 0.25, 2.2, 60.0
FINEST = 6.0
"""Radius of a lamp in its small picture [its pixels], larger ones are brought down to it."""
ALONE = 0.02
HALF = np.array([[0.5, 0.0, -0.25], [0.0, 0.5, -0.25], [0.0, 0.0, 1.0]])
"""From pixels of luma to those of colour, middle to middle."""
ROOM = 3.4
"""Kept around a lamp, in radii."""
MOST_LOST = 0.4
"""A clip with more frames lost than this share shows no panel that stays."""
JUMPY = 1.2
LEAST_SHAKE = 0.5
DARK, CLIPPED = 0.004, 0.9


@dataclass(frozen=True, slots=True)
class Walked:
    """What is kept of a clip.

    ``patches`` are red, green and blue, shape (frames, lamps, side, side, 3), ``grain`` working
    pixels to each of theirs; ``gain`` the panel's light as a share of the first frame's, shape
    (frames,); ``motions`` one a frame; ``xy`` and ``radius`` in working pixels; ``panel`` the
    panel's light in the first frame, 0 to 1.
    """

    size: Size
    times_s: Array
    patches: NDArray[np.uint8]
    gain: Array
    motions: tuple[Motion, ...]
    xy: Array
    radius: float
    grain: float
    panel: float

    @property
    def found(self) -> NDArray[np.bool_]:
        """In which frames the panel was found."""
        return np.array([motion.found for motion in self.motions])


@dataclass(frozen=True, slots=True)
class _Panel:
    """Light of the panel in the first frame, in blocks, with those that count."""

    light: NDArray[np.float32]
    counts: NDArray[np.bool_]

    def gain(self, back: Grey) -> float:
        now = _blocks(back)
        counts = self.counts & (now > DARK) & (now < CLIPPED)
        if counts.sum() < 12:
            return 1.0
        return float(np.median(now[counts] / self.light[counts]))


def _blocks(grey: Grey) -> NDArray[np.float32]:
    height, width = grey.shape
    small = cv2.resize(grey, (width // BLOCK, height // BLOCK), interpolation=cv2.INTER_AREA)
    return np.asarray(LIGHT[small])


def _panel(grey: Grey, xy: Array, radius: float) -> _Panel:
    """Return the blocks around the lamps but not on them; all there are if those are few."""
    light = _blocks(grey)
    rows, columns = np.indices(light.shape) * BLOCK + BLOCK / 2
    apart = np.hypot(columns[..., None] - xy[:, 0], rows[..., None] - xy[:, 1])
    usable = (apart.min(2) > 2.5 * radius + BLOCK) & (light > DARK) & (light < CLIPPED)
    near = max(np.ptp(xy, axis=0).max(initial=0.0), 8 * radius)
    low, high = xy.min(0) - 0.4 * near, xy.max(0) + 0.4 * near
    inside = (columns > low[0]) & (columns < high[0]) & (rows > low[1]) & (rows < high[1])
    counts = usable & inside
    return _Panel(light, counts if counts.sum() >= 12 else usable)


def lamp_radius(lamps: Placed, size: Size) -> float:
    """Return how large lamps are taken to be at first [working pixels]."""
    if lamps.radius is not None:
        radius = float(np.median(lamps.radius))
    elif np.isfinite(lamps.spacing):
        radius = SHARE_OF_SPACING * lamps.spacing
    else:
        radius = ALONE * max(size.width, size.height)
    return float(np.clip(radius * size.scale, SMALLEST, LARGEST))


@dataclass(slots=True)
class _Walk:
    """The walk through one clip, begun at its first frame."""

    follower: Follower
    panel: _Panel
    xy: Array
    radius: float

    @property
    def grain(self) -> float:
        return max(1.0, self.radius / FINEST)

    @property
    def side(self) -> int:
        return 2 * int(np.ceil(ROOM * self.radius / self.grain + 2)) + 1

    def step(self, frame: Frame) -> tuple[Motion, NDArray[np.uint8], float]:
        motion, back = self.follower.follow(frame.grey)
        patches = cut(frame, motion.matrix, self.xy, (self.side, self.grain))
        return motion, patches, self.panel.gain(back)


def cut(frame: Frame, matrix: Array, xy: Array, square: tuple[int, float]) -> NDArray[np.uint8]:
    """Return the squares around the lamps in red, green and blue, (lamps, side, side, 3).

    ``square`` is their side and how many working pixels go to one of theirs.
    """
    side, grain = square
    half = grain * (side // 2)
    found = np.empty((len(xy), side, side, 3), np.uint8)
    for k, (x, y) in enumerate(xy):
        corner = np.array([[grain, 0.0, x - half], [0.0, grain, y - half], [0.0, 0.0, 1.0]])
        onto = matrix @ corner
        light = _part(frame.grey, onto, side, cv2.BORDER_CONSTANT)
        blue, red = (_part(p, HALF @ onto, side, cv2.BORDER_REPLICATE) for p in frame.colour)
        found[k] = _colours(light, blue - NO_COLOUR, red - NO_COLOUR)
    return found


def _part(plane: Grey, onto: Array, side: int, border: int) -> NDArray[np.float32]:
    """A square of a plane, as seen from where the first frame was taken."""
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    part = cv2.warpPerspective(plane, onto, (side, side), flags=flags, borderMode=border)
    return np.asarray(part, np.float32)


def _colours(
    light: NDArray[np.float32], blue: NDArray[np.float32], red: NDArray[np.float32]
) -> NDArray[np.uint8]:
    """Red, green and blue of luma and colour (ITU-R BT.601, section 2.5, solved for the three)."""
    three = [light + 1.402 * red, light - 0.344 * blue - 0.714 * red, light + 1.772 * blue]
    return np.asarray(np.clip(np.round(np.stack(three, axis=-1)), 0, 255), np.uint8)


def walked(path: Path, lamps: Placed) -> Walked:
    """Return what is kept of a clip for its lamps.

    Raises
    ------
    RecordingError
        What :func:`frames` refuses; lamps outside the picture; no panel to hold on to, a
        scene that moves, or frames out of order.
    """
    walk: _Walk | None = None
    seen: list[tuple[Size, float, float]] = []
    patches: list[NDArray[np.uint8]] = []
    motions: list[Motion] = []
    gains: list[float] = []
    for size, frame in frames(path):
        walk = _begun(path, lamps, size, frame) if walk is None else walk
        motion, patch, gain = walk.step(frame)
        seen.append((size, frame.time_s, frame.tick_s))
        patches.append(patch)
        motions.append(motion)
        gains.append(gain)
    if walk is None:
        msg = f"{path.name} has no frames that can be read; send the original file"
        raise RecordingError(msg)
    times_s = on_the_clock(np.array([time_s - seen[0][1] for _, time_s, _ in seen]), seen[0][2])
    found = Walked(
        size=seen[0][0],
        times_s=times_s,
        patches=_stacked(patches),
        gain=without_mains(times_s, np.maximum(gains, 0.05)),
        motions=tuple(motions),
        xy=walk.xy,
        radius=walk.radius,
        grain=walk.grain,
        panel=float(np.median(walk.panel.light[walk.panel.counts])),
    )
    _need_still(path.name, found)
    return found


def _stacked(patches: list[NDArray[np.uint8]]) -> NDArray[np.uint8]:
    """All small pictures in one array, each given up as it is copied."""
    whole = np.empty((len(patches), *patches[0].shape), np.uint8)
    for n in range(len(patches) - 1, -1, -1):
        whole[n] = patches.pop()
    return whole


def _begun(path: Path, lamps: Placed, size: Size, frame: Frame) -> _Walk:
    outside = (lamps.xy < 0).any(1) | (lamps.xy >= [size.width, size.height]).any(1)
    if outside.any():
        name = lamps.names[int(outside.argmax())]
        msg = f"lamp '{name}' lies outside {path.name}, which is {size.width} x {size.height}"
        msg += " pixels when upright; tap in its first frame, and film the whole panel"
        raise RecordingError(msg)
    radius = lamp_radius(lamps, size)
    xy = (lamps.xy + 0.5) * size.scale - 0.5
    return _Walk(follower(frame.grey, xy, 1.6 * radius), _panel(frame.grey, xy, radius), xy, radius)


def _need_still(name: str, clip: Walked) -> None:
    """Refuse what is no film of one panel."""
    lost = 1.0 - clip.found.mean()
    if lost > MOST_LOST:
        msg = f"{name}: the panel is lost in {lost:.0%} of the frames; hold the phone still, "
        msg += "with the whole panel in the picture"
        raise RecordingError(msg)
    middle = clip.xy.mean(0)
    paths = [mapped(one.matrix, middle)[0] for one in clip.motions if one.found]
    if jumpy(np.array(paths)):
        msg = f"{name}: the frames are not in order of time; send the original file"
        raise RecordingError(msg)


def jumpy(path: Array) -> bool:
    """Return whether a path leaps about as no hand does, shape (frames, 2).

    The mean square step over the variance (von Neumann 1941; from memory) is 2 for places
    in no order, and near 0 for a hand's.

    >>> hand = np.sin(np.arange(200) / 9.0)[:, None] * [3.0, 2.0]
    >>> jumpy(hand), jumpy(np.random.default_rng(1).permutation(hand))
    (False, True)
    """
    spread = path.var(axis=0).sum()
    steps = np.array([here - there for there, here in pairwise(path)])
    return bool(spread > LEAST_SHAKE**2 and (steps**2).sum(1).mean() > JUMPY * spread)
