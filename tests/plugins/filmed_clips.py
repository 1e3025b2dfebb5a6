"""Clips of invented panels, filmed by brute force: light counted in steps of 20 µs, by rows.

A textured panel in colour moves under a hand, each sensor row is exposed at its own time and
place, light falls on a Bayer mosaic with noise, and gain, glare, mains ripple, gamma and
dropped frames do what they do in a laundry. Shares nothing with the reader, nor with the fast
simulator: two of them can be held against each other. All of it is simulated.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Picture = NDArray[np.uint8]

STEP_S = 20e-6
RGGB = cv2.COLOR_BayerBG2RGB  # OpenCV names the pattern by its second row and column
COLOURS = ((1.0, 0.55, 0.08), (1.0, 0.12, 0.08), (0.2, 1.0, 0.3), (0.9, 0.95, 1.0), (0.25, 0.45, 1))


@dataclass(frozen=True, slots=True)
class FilmedLamp:
    """What a lamp does and where: panel pixels, seconds; ``spans`` are lit (start, end)."""

    state: str
    at: tuple[float, float]
    radius: float
    colour: tuple[float, float, float]
    level: float
    slot: float
    spans: Floats
    period_s: float | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Camera:
    """How it is filmed; hertz, seconds, pixels. ``shake`` is in pixels, ``lean`` in degrees."""

    width: int = 320
    height: int = 180
    fps: float = 30.0
    length_s: float = 8.0
    exposure_s: float = 0.004
    readout_s: float = 0.015
    multiplex_hz: float = 200.0
    share: float = 0.125
    shake: float = 2.0
    lean: float = 1.5
    zoom: float = 0.03
    gamma: float = 2.2
    noise: float = 0.01
    ripple: float = 0.1
    mains_hz: float = 50.0
    gain_steps: int = 1
    glare: float = 0.0
    drops: float = 0.0
    blur: int = 1


@dataclass(frozen=True, slots=True)
class Filmed:
    """A clip as frames, with the truth: taps, states, which lit lamps were ever caught."""

    times_s: Floats
    lamps: tuple[FilmedLamp, ...]
    camera: Camera
    taps: dict[str, tuple[float, float]]
    caught: NDArray[np.bool_]
    light: Floats
    pictures: list[Picture]

    @property
    def seen_share(self) -> float:
        """Share of frames in which a lit lamp shows, one or more when always."""
        camera = self.camera
        tall = 2 * max(lamp.radius for lamp in self.lamps) / camera.height
        crossing = tall * camera.readout_s
        return (camera.exposure_s + crossing) * camera.multiplex_hz + camera.share

    @property
    def beat_hz(self) -> float:
        """The rate at which a strobing lamp seems to beat."""
        fps = self.camera.fps
        return abs(self.camera.multiplex_hz - fps * round(self.camera.multiplex_hz / fps))


@dataclass(frozen=True, slots=True)
class Hand:
    """A slow random motion: five tones each of shift x, shift y, lean and zoom."""

    size: Floats
    rate: Floats
    phase: Floats

    def at(self, t: Floats) -> Floats:
        """Return shift x, shift y [px], lean [rad] and log zoom at times, shape (4, times)."""
        turns = self.rate[:, :, None] * t + self.phase[:, :, None]
        return np.asarray((self.size[:, :, None] * np.sin(2 * np.pi * turns)).sum(1))


def hand(rng: np.random.Generator, camera: Camera) -> Hand:
    """Return a hand that shakes as the camera says."""
    rate = rng.uniform(0.1, 1.0, (4, 5)) * np.array([0.6, 1.0, 2.0, 4.0, 8.0])
    most = np.array([camera.shake, camera.shake, np.radians(camera.lean), camera.zoom])
    falling = rng.uniform(0.3, 1.0, (4, 5)) / np.array([1.0, 1.4, 2.5, 6.0, 15.0])
    return Hand(most[:, None] * falling / falling.sum(1, keepdims=True), rate, rng.random((4, 5)))


def panel_picture(
    rng: np.random.Generator, camera: Camera, lamps: tuple[FilmedLamp, ...]
) -> NDArray[np.float32]:
    """Return the panel's own light, linear RGB: a plate with labels, lines, lenses and dirt."""
    wide, high = camera.width, camera.height
    ground = rng.uniform(0.12, 0.4) * rng.uniform(0.9, 1.1, 3)
    plate = np.ones((high, wide, 3), np.float32) * ground.astype(np.float32)
    for _ in range(26):
        x, y = int(rng.integers(wide)), int(rng.integers(high))
        box = rng.integers(6, max(8, wide // 6)), rng.integers(3, max(5, high // 10))
        shade = (ground * rng.uniform(0.45, 1.6)).tolist()
        cv2.rectangle(plate, (x, y), (x + int(box[0]), y + int(box[1])), shade, -1)
    rough = rng.normal(0.0, 1.0, (high // 4, wide // 4, 1)).astype(np.float32)
    grain = cv2.resize(rough, (wide, high), interpolation=cv2.INTER_CUBIC)
    plate *= 1.0 + 0.07 * grain[:, :, None]
    for lamp in lamps:
        r = lamp.radius
        centre = (round(lamp.at[0]), round(lamp.at[1]))
        cv2.circle(plate, centre, round(r * 1.5 + 2), (ground * 0.9).tolist(), -1)
        cv2.circle(plate, centre, round(r), (ground * rng.uniform(0.6, 1.0)).tolist(), -1)
    text = plate.copy()
    marked = np.ascontiguousarray(np.clip(text * 255, 0, 255).astype(np.uint8))
    for k, lamp in enumerate(lamps):
        at = (int(lamp.at[0] - 6), int(lamp.at[1] + 3.2 * lamp.radius + 12))
        cv2.putText(marked, f"L{k}", at, cv2.FONT_HERSHEY_SIMPLEX, wide / 900, (230, 230, 230), 1)
    return np.asarray(np.maximum(marked.astype(np.float32) / 255.0, 0.01), np.float32)


@dataclass(frozen=True, slots=True)
class Shooting:
    """All that is fixed while a clip is filmed."""

    camera: Camera
    lamps: tuple[FilmedLamp, ...]
    panel: NDArray[np.float32]
    hand: Hand
    counts: NDArray[np.int64]
    gain_at: Floats
    gain: Floats
    glare_at: tuple[float, float, float, float, float]

    def lit(self, lamp: int, start: Floats, length_s: float) -> Floats:
        """Return the share of windows in which a lamp gave light, counted in steps."""
        steps = max(1, round(length_s / STEP_S))
        first = np.clip(np.round(start / STEP_S).astype(np.int64), 0, self.counts.shape[1] - 1)
        last = np.clip(first + steps, 0, self.counts.shape[1] - 1)
        return np.asarray((self.counts[lamp, last] - self.counts[lamp, first]) / steps)


def stepped_counts(camera: Camera, lamps: tuple[FilmedLamp, ...]) -> NDArray[np.int64]:
    """Return how many steps each lamp has been on up to each step, shape (lamps, steps)."""
    t = np.arange(0.0, camera.length_s + 3.0, STEP_S)
    counts = np.zeros((len(lamps), len(t) + 1), np.int64)
    for k, lamp in enumerate(lamps):
        rhythm = np.zeros(len(t), dtype=np.bool_)
        for start, end in lamp.spans:
            rhythm[max(0, int(start / STEP_S)) : max(0, int(end / STEP_S))] = True
        driven = (t * camera.multiplex_hz - lamp.slot) % 1.0 < camera.share
        counts[k, 1:] = np.cumsum(rhythm & driven)
    return counts


def _panel_places(shooting: Shooting, t: Floats) -> tuple[Singles, Singles]:
    """Return which panel place each pixel sees, rows at their own times ``t``."""
    camera = shooting.camera
    dx, dy, lean, zoom = shooting.hand.at(t)
    x0, y0 = camera.width / 2, camera.height / 2
    c, s = np.cos(lean) / np.exp(zoom), np.sin(lean) / np.exp(zoom)
    y = np.arange(camera.height) - y0 - dy
    x = np.arange(camera.width, dtype=np.float32)[None, :] - np.float32(x0)
    across = (s * y + x0 - c * dx).astype(np.float32)[:, None]
    down = (c * y + y0 + s * dx).astype(np.float32)[:, None]
    cos, sin = c.astype(np.float32)[:, None], s.astype(np.float32)[:, None]
    return cos * x + across, down - sin * x


def _window(lamp: FilmedLamp, places: tuple[Singles, Singles]) -> tuple[slice, slice]:
    """Return the rows and columns in which a lamp can shine: all places within six radii."""
    px, py = places
    wide = 6 * lamp.radius
    middle = py.shape[0] // 2
    near = (np.abs(px[middle] - lamp.at[0]) < 1.5 * wide).nonzero()[0]
    rows = (np.abs(py[:, near].min(1) - lamp.at[1]) < 1.5 * wide).nonzero()[0]
    if not len(near) or not len(rows):
        return slice(0, 0), slice(0, 0)
    return slice(rows[0], rows[-1] + 1), slice(near[0], near[-1] + 1)


def _add_lamp(
    picture: Singles, lamp: FilmedLamp, places: tuple[Singles, Singles], lit: Floats
) -> None:
    """Add a lamp's light, ``lit`` by row: a soft disc and a weak wide halo."""
    rows, columns = _window(lamp, places)
    if not lit[rows].any():
        return
    d = np.hypot(places[0][rows, columns] - lamp.at[0], places[1][rows, columns] - lamp.at[1])
    soft = 0.15 * lamp.radius + 0.3
    shape = 1 / (1 + np.exp(np.clip((d - lamp.radius) / soft, -30, 30)))
    shape += 0.035 * np.exp(-((d / (2.2 * lamp.radius)) ** 2))
    shine = shape * (lit[rows] * lamp.level)[:, None].astype(np.float32)
    picture[rows, columns] += shine[:, :, None] * np.array(lamp.colour, np.float32)


def _glare(shooting: Shooting, t: float, shape: tuple[int, int]) -> Singles:
    """Return the light of a reflection that drifts over the panel."""
    x, y, vx, vy, wide = shooting.glare_at
    across = np.exp(-((np.arange(shape[1]) - x - vx * t) ** 2) / (2 * wide**2))
    down = np.exp(-((np.arange(shape[0]) - y - vy * t) ** 2) / (2 * wide**2))
    return np.asarray(shooting.camera.glare * down[:, None] * across, np.float32)


def picture_of(shooting: Shooting, start: float, rng: np.random.Generator) -> Picture:
    """Return one frame as 8-bit RGB."""
    camera = shooting.camera
    rows_s = start + np.arange(camera.height) / camera.height * camera.readout_s
    part_s = camera.exposure_s / camera.blur
    seen = np.zeros((camera.height, camera.width, 3), np.float32)
    for part in range(camera.blur):
        seen += _exposed(shooting, rows_s + part * part_s, part_s) / np.float32(camera.blur)
    if camera.glare:
        seen += _glare(shooting, start, (camera.height, camera.width))[:, :, None]
    seen *= np.float32(np.interp(start, shooting.gain_at, shooting.gain))
    return developed(seen, camera, rng)


def _exposed(shooting: Shooting, begin: Floats, part_s: float) -> Singles:
    """Return the light of one part of the exposure, rows begun at their own times."""
    camera = shooting.camera
    places = _panel_places(shooting, begin + part_s / 2)
    seen = cv2.remap(
        shooting.panel, *places, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    ).astype(np.float32)
    swing = camera.ripple * np.sinc(2 * camera.mains_hz * part_s)
    ripple = 1 + swing * np.cos(4 * np.pi * camera.mains_hz * (begin + part_s / 2))
    seen *= ripple.astype(np.float32)[:, None, None]
    for k, lamp in enumerate(shooting.lamps):
        _add_lamp(seen, lamp, places, shooting.lit(k, begin, part_s) / camera.share)
    return seen


def developed(seen: Singles, camera: Camera, rng: np.random.Generator) -> Picture:
    """Return light as a phone stores it: mosaic, noise, demosaicing, gamma."""
    mosaic = np.empty(seen.shape[:2], np.float32)
    for row, column, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        mosaic[row::2, column::2] = seen[row::2, column::2, channel]
    noise = np.float32(camera.noise) * np.sqrt(0.25 + np.clip(mosaic, 0, 1))
    mosaic += noise * rng.standard_normal(mosaic.shape, dtype=np.float32)
    rgb = cv2.cvtColor((np.clip(mosaic, 0, 1) * 65535).astype(np.uint16), RGGB)
    return np.asarray(_tones(camera.gamma)[rgb])


@cache
def _tones(gamma: float) -> Picture:
    """Return the stored value of every 16-bit light."""
    return np.round((np.arange(65536) / 65535.0) ** (1 / gamma) * 255).astype(np.uint8)


def _gains(rng: np.random.Generator, camera: Camera) -> tuple[Floats, Floats]:
    """Return times and values of a gain that steps now and then."""
    at, value = [0.0], [1.0]
    for when in np.sort(rng.uniform(0.5, max(0.6, camera.length_s), camera.gain_steps)):
        at += [float(when), float(when) + rng.uniform(0.05, 0.4)]
        value += [value[-1], float(np.clip(value[-1] * rng.uniform(0.75, 1.3), 0.7, 1.4))]
    return np.array(at), np.array(value)


def shooting_of(
    rng: np.random.Generator, camera: Camera, lamps: tuple[FilmedLamp, ...]
) -> Shooting:
    """Return all that is fixed while the lamps are filmed."""
    at, value = _gains(rng, camera)
    wide, high = camera.width, camera.height
    drift = rng.uniform(-0.05, 0.05, 2) * wide
    glare = (rng.uniform(0, wide), rng.uniform(0, high), *drift, rng.uniform(0.06, 0.15) * wide)
    return Shooting(
        camera,
        lamps,
        panel_picture(rng, camera, lamps),
        hand(rng, camera),
        stepped_counts(camera, lamps),
        at,
        value,
        glare,
    )


def filmed(
    rng: np.random.Generator,
    camera: Camera,
    lamps: tuple[FilmedLamp, ...],
    scene: Callable[[float], NDArray[np.float32]] | None = None,
) -> Filmed:
    """Return a clip of the lamps, before what a scene shows at each time, else on a plate."""
    shooting = shooting_of(rng, camera, lamps)
    starts = 0.2 + np.arange(int(camera.length_s * camera.fps)) / camera.fps
    starts = starts + rng.normal(0.0, 4e-5, len(starts))
    keep = rng.random(len(starts)) >= camera.drops
    keep[0] = True
    starts = starts[keep]
    pictures = [
        picture_of(replace(shooting, panel=scene(start)) if scene else shooting, start, rng)
        for start in starts
    ]
    light = np.array(
        [
            shooting.lit(
                k, starts + lamp.at[1] / camera.height * camera.readout_s, camera.exposure_s
            )
            for k, lamp in enumerate(lamps)
        ]
    )
    caught = light.max(1) > 0.1 * camera.share
    taps = {f"L{k}": _tapped(rng, shooting, lamp, starts[0]) for k, lamp in enumerate(lamps)}
    return Filmed(starts - starts[0], lamps, camera, taps, caught, light, pictures)


def _tapped(
    rng: np.random.Generator, shooting: Shooting, lamp: FilmedLamp, t: float
) -> tuple[float, float]:
    """Return where a finger taps a lamp in a frame taken at ``t``, a little beside it."""
    camera = shooting.camera
    row_s = lamp.at[1] / camera.height * camera.readout_s
    dx, dy, lean, zoom = shooting.hand.at(np.array([t + row_s + camera.exposure_s / 2]))[:, 0]
    x, y = lamp.at[0] - camera.width / 2, lamp.at[1] - camera.height / 2
    c, s = np.cos(lean) * np.exp(zoom), np.sin(lean) * np.exp(zoom)
    off = rng.normal(0.0, 0.25 * lamp.radius, 2)
    return (
        float(c * x - s * y + camera.width / 2 + dx + off[0]),
        float(s * x + c * y + camera.height / 2 + dy + off[1]),
    )


def swapped(clip: Filmed) -> Filmed:
    """Return the clip with its frames in no order."""
    order = np.random.default_rng(7).permutation(len(clip.pictures))
    return Filmed(
        clip.times_s,
        clip.lamps,
        clip.camera,
        clip.taps,
        clip.caught,
        clip.light,
        [clip.pictures[k] for k in order],
    )


def by_name(clip: Filmed) -> Iterator[tuple[str, FilmedLamp]]:
    """Yield the lamps with their ids."""
    return ((f"L{k}", lamp) for k, lamp in enumerate(clip.lamps))
