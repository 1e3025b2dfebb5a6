"""From a lamp's small pictures to its brightness in each frame.

A lamp's disc minus what lies around it, in units of the panel's own light, with the camera's
gain divided out. Light that spreads from a lit lamp (bloom) is the lamp's; a reflection that
fills disc and ring alike (glare) hides it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.panel.straightening import mapped
from tubside.recordings.clip.in_range import in_range
from tubside.recordings.clip.light import LIGHT
from tubside.recordings.clip.measuring import Walked
from tubside.recordings.clip.placing import Placed
from tubside.recordings.lamp_series import LampSeries

Array = NDArray[np.float64]

INNER, OUTER = (1.5, 2.3), (2.3, 3.3)
"""Rings around a disc, in radii."""
SPREAD = 1.7
"""So far out a lit lamp's own light is gathered, in radii."""
CHUNK = 256
READOUT_S, READOUT_SHARE = 0.016, 0.7
"""Phones read a frame in 10 to 25 ms, and in less than its period (from memory)."""
NEAR = 0.9
BESIDE = 1.5
"""A tap is no further from its lamp, in radii."""
WIDE, OVER, UNSEEN = 1.6, 0.2, 0.7
"""Spots are looked for so far out; no lamp's fills more of that edge; taken where none shows."""
ROUND = 1.3
"""Mean square distance from the middle over a disc's of the same area: no edge, no label."""
STILL, LENS = 0.25, (0.15, 0.6)
"""A brightness between these (panel's light) that varies by less than that share of itself may be
a light lens that is not lit (common practice, no source)."""
CLEAR = 0.25
"""A spot this far above its surround is a lit lamp, in units of the panel's light."""
RAISED, GLARING = 0.15, 2.0
"""Rings raised by less are left as they are, by more hide all but bright lamps (panel's light)."""
HEADROOM = 0.4
USUAL = 2.0
"""Light of a lamp where none is seen lit, in units of the panel's (common practice)."""
FEWEST_DIM = 25
DIM, DIM_SHARE = 0.3, 0.2
"""Brightness below which a lamp may be dark under a reflection, and as a share of its top."""


@dataclass(frozen=True, slots=True)
class _Levels:
    """Light of discs and rings, each of shape (lamps, frames)."""

    disc: Array
    inner: Array
    outer: Array


def _apart(side: int, centre: Array) -> Array:
    """How far each pixel of a square lies from a place given from its middle."""
    rows, columns = np.indices((side, side)) - side // 2
    return np.asarray(np.hypot(columns - centre[0], rows - centre[1]))


def _spots(clip: Walked) -> list[tuple[Array, Array]]:
    """How far each pixel of a lamp's square changes, and comes above its surround.

    The latter at its brightest. What changes is a lamp, not a label beside it.
    """
    every = max(1, len(clip.times_s) // 240)
    kept = np.flatnonzero(clip.found)[::every]
    side = clip.patches.shape[2]
    ring = _apart(side, np.zeros(2)) > OUTER[0] * clip.radius / clip.grain
    found = []
    for k in range(clip.patches.shape[1]):
        light = LIGHT[clip.patches[kept, k].max(-1)] / clip.gain[kept, None, None]
        low, top = np.quantile(light, [0.1, 0.95], axis=0) / clip.panel
        found.append((np.asarray(top - low), np.asarray(top - np.median(top[ring]))))
    return found


def _fine_places(clip: Walked) -> tuple[Array, float]:
    """Where the lit spots are, from the taps, shape (lamps, 2), and their common radius.

    Both in pixels of the small pictures. Reflections widen what they touch, so that the
    smaller spots give the radius.
    """
    shifts, radii = np.zeros((len(clip.xy), 2)), []
    size = clip.radius / clip.grain
    for k, (changing, light) in enumerate(_spots(clip)):
        spot = _spot(changing, size) or _spot(light, size)
        if spot is not None:
            shifts[k] = spot[0]
            radii.append(spot[1])
    radius = float(np.quantile(radii, 0.3)) if radii else UNSEEN * size
    radius = float(np.clip(radius, 1.5, 1.15 * size))
    shifts[np.hypot(*shifts.T) > BESIDE * radius] = 0.0
    return shifts, radius


def _spot(light: Array, size: float) -> tuple[Array, float] | None:
    """Where a spot's middle is, from the square's, and its radius; none where it runs on."""
    side = light.shape[0]
    apart = _apart(side, np.zeros(2))
    near = apart < WIDE * size
    edge = near & (apart > WIDE * size - 1.0)
    peak = float(np.where(near, light, 0.0).max())
    lit = near & (light > peak / 2)
    if peak < CLEAR or not lit.any() or lit[edge].mean() > OVER:
        return None
    rows, columns = np.indices((side, side)) - side // 2
    shift = np.average([columns[lit], rows[lit]], axis=1, weights=light[lit])
    radius = float(np.sqrt(lit.sum() / np.pi))
    wide = float(np.mean(_apart(side, shift)[lit] ** 2)) / (radius**2 / 2)
    return (shift, radius) if np.hypot(*shift) < NEAR * size and wide < ROUND else None


def fine_places(clip: Walked) -> tuple[Array, float]:
    """Return the lamps' middles in the first frame, shape (lamps, 2), and their radius.

    Both in working pixels: the taps, mended where a lit spot is seen beside them.
    """
    shifts, radius = _fine_places(clip)
    return clip.xy + shifts * clip.grain, radius * clip.grain


def _free(clip: Walked, shifts: Array, radius: float, k: int) -> NDArray[np.bool_]:
    """Pixels of a lamp's square that lie on no other lamp."""
    side = clip.patches.shape[2]
    free = np.ones((side, side), dtype=np.bool_)
    for j in range(len(clip.xy)):
        if j != k:
            away = (clip.xy[j] - clip.xy[k]) / clip.grain + shifts[j]
            free &= _apart(side, away) > 1.6 * radius
    return free


def _levels(clip: Walked, shifts: Array, radius: float) -> _Levels:
    """Light of the discs and rings, walked in pieces to keep memory small."""
    n, lamps, side = clip.patches.shape[:3]
    disc, inner, outer = (np.empty((lamps, n)) for _ in range(3))
    for k in range(lamps):
        apart = _apart(side, shifts[k])
        free = _free(clip, shifts, radius, k)
        masks = [apart <= max(radius, 1.2)]
        masks += [_ring(apart, free, low * radius, high * radius) for low, high in (INNER, OUTER)]
        for start in range(0, n, CHUNK):
            light = LIGHT[clip.patches[start : start + CHUNK, k].max(-1)]
            part = slice(start, start + CHUNK)
            disc[k, part] = light[:, masks[0]].mean(1)
            inner[k, part] = np.median(light[:, masks[1]], axis=1)
            outer[k, part] = np.median(light[:, masks[2]], axis=1)
    return _Levels(disc, inner, outer)


def _refined(clip: Walked, places: tuple[Array, float], above: Array) -> Array:
    """Brightness of lamps that were seen lit, by the parts of their pictures within range."""
    shifts, radius = places
    found = above.copy()
    for k, row in enumerate(above):
        if not (row > CLEAR).any():
            continue
        apart, free = _apart(clip.patches.shape[2], shifts[k]), _free(clip, shifts, radius, k)
        masks = free & (apart <= SPREAD * radius), _ring(apart, free, *(r * radius for r in OUTER))
        found[k] = in_range(clip.patches[:, k], masks, np.maximum(clip.gain, 0.05), row)
    return found


def _ring(apart: Array, free: NDArray[np.bool_], low: float, high: float) -> NDArray[np.bool_]:
    ring = (apart > low) & (apart <= max(high, low + 1.5))
    return ring & free if (ring & free).sum() >= 6 else ring


def _reflections(levels: _Levels, clip: Walked) -> Array:
    """How far a reflection raises a lamp's rings, three numbers a frame (3, lamps, frames).

    The raise of the outer ring, how much more the inner one is raised, and the first one
    squared, in units of the panel's light.
    """
    scale = clip.panel * clip.gain
    outer, inner = levels.outer / scale, levels.inner / scale
    raised = np.maximum(outer - np.quantile(outer, 0.25, axis=1, keepdims=True), 0.0)
    bent = inner - outer
    bent = bent - np.quantile(bent, 0.25, axis=1, keepdims=True)
    return np.stack([raised, bent, raised**2])


def _without_reflection(y: Array, raises: Array, usual: float) -> Array:
    """One lamp's brightness with what goes along with a reflection taken out.

    Fitted on frames in which the lamp is dark or dim, by least squares with outliers left
    out; reflections beyond those seen there are held to them, and none takes more than it
    raised. A lamp's own bloom raises its rings too, so that dim means far below its top.
    """
    seen = np.isfinite(y)
    top = float(np.quantile(y[seen], 0.95)) if seen.any() else 0.0
    ok = seen & (y < min(0.5 * usual, max(DIM, DIM_SHARE * top)))
    if raises[0].max() < RAISED or ok.sum() < FEWEST_DIM:
        return y
    columns = np.vstack([np.ones(len(y)), raises]).T
    keep = ok
    found = np.zeros(columns.shape[1])
    for _ in range(3):
        found = np.linalg.lstsq(columns[keep], y[keep], rcond=None)[0]
        off = np.abs(y - columns @ found)
        keep = ok & (off < 2.5 * np.median(off[ok]) + 0.02)
        if keep.sum() < FEWEST_DIM:
            return y
    held = np.clip(raises, raises[:, ok].min(1)[:, None], raises[:, ok].max(1)[:, None])
    most = raises[0] + np.abs(raises[1])
    taken = np.clip(found[1:] @ held, -most, most)
    return np.asarray(y - np.where(raises[0] > RAISED / 3, taken, 0.0))


def lamp_series(clip: Walked, lamps: Placed) -> LampSeries:
    """Return the brightness of each lamp over the frames of a clip."""
    shifts, radius = _fine_places(clip)
    levels = _levels(clip, shifts, radius)
    scale = clip.panel * np.maximum(clip.gain, 0.05)
    above = (levels.disc - levels.outer) / scale
    tops = np.quantile(above, 0.95, axis=1)
    usual = float(np.median(tops[tops > CLEAR])) if (tops > CLEAR).any() else USUAL
    raises = _reflections(levels, clip)
    hidden = (1.0 - levels.outer) / scale < HEADROOM * usual
    hidden |= (raises[0] > GLARING) & (above < usual)
    hidden |= ~_inside(clip) | ~clip.found
    above[hidden] = np.nan
    above = _refined(clip, (shifts, radius), above)
    rows = _rows(clip)
    brightness = [
        _without_reflection(y, seen, usual)
        for y, seen in zip(above, np.moveaxis(raises, 1, 0), strict=True)
    ]
    told = np.array([np.where(light_lens(y), np.nan, y) for y in brightness])
    return LampSeries(lamps.names, clip.times_s, told, rows.mean(axis=1), rows)


def light_lens(y: Array) -> bool:
    """Return whether a lamp's brightness may be that of a light lens which is not lit.

    >>> light_lens(np.full(60, 0.4)), light_lens(np.full(60, 2.0)), light_lens(np.zeros(60))
    (True, False, False)
    """
    seen = y[np.isfinite(y)]
    if not len(seen):
        return False
    low, middle, high = np.quantile(seen, [0.05, 0.5, 0.95])
    return bool(LENS[0] < middle < LENS[1] and high - low < STILL * middle)


def _places(clip: Walked) -> Array:
    """Where the lamps lie in each frame, working pixels, shape (lamps, frames, 2)."""
    return np.stack([mapped(motion.matrix, clip.xy) for motion in clip.motions], axis=1)


def _inside(clip: Walked) -> NDArray[np.bool_]:
    places = _places(clip)
    width, height = clip.size.working
    edge = 0.5 * clip.radius
    x, y = places[..., 0], places[..., 1]
    return (x > edge) & (y > edge) & (x < width - edge) & (y < height - edge)


def _rows(clip: Walked) -> Array:
    """When each lamp is read after a frame's first row [s], shape (lamps, frames)."""
    places = (_places(clip) + 0.5) / clip.size.scale
    share = clip.size.row_share(places[..., 0], places[..., 1])
    readout = min(READOUT_S, READOUT_SHARE * float(np.median(np.diff(clip.times_s), axis=0)))
    return np.asarray(np.clip(share, 0.0, 1.0) * readout)
