"""Lamps of a multiplexed panel as a camera sees them: an exact, fast simulation.

A lamp shines while its rhythm says so *and* while its slot of the multiplex is on. A row of
the picture gathers light during the exposure, later rows later (rolling shutter). The light
gathered is the integral of rhythm times slot over that window, found here in closed form.
All of it is simulated; the reader of clips shares no number with this module.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ROW_OFFSETS = np.linspace(-0.5, 0.5, 7)


@dataclass(frozen=True, slots=True)
class TrueLamp:
    """What one lamp really does; times in seconds, lit spans as pairs of (start, end)."""

    state: str
    slot: float
    level: float
    lit: Array
    period_s: float | None = None
    duty: float | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Shot:
    """How a clip was taken: seconds and hertz; ``share`` is the slot's share of a period."""

    exposure_s: float
    multiplex_hz: float
    share: float
    crossing_s: float
    readout_s: float
    starts_s: Array

    @property
    def seen_share(self) -> float:
        """Share of frames in which a lit lamp is seen, one or more when always."""
        return (self.exposure_s + self.crossing_s) * self.multiplex_hz + self.share


@dataclass(frozen=True, slots=True)
class FilmedPanel:
    """Brightness of each lamp in each frame, and the truth behind it.

    ``brightness`` is lamp minus surround in units of the panel's own brightness, shape
    (lamps, frames), NaN under glare; ``row_s`` is the delay of each lamp's row, shape (lamps,).
    """

    times_s: Array
    row_s: Array
    brightness: Array
    lamps: tuple[TrueLamp, ...]
    shot: Shot
    sampled: NDArray[np.bool_]


def slot_time(t: Array, shot: Shot, slot: float) -> Array:
    """Return how long a slot has been on from time zero to ``t``, in seconds."""
    turns = t * shot.multiplex_hz - slot
    whole = np.floor(turns)
    part = np.minimum(turns - whole, shot.share)
    return np.asarray((whole * shot.share + part) / shot.multiplex_hz)


def light(shot: Shot, lamp: TrueLamp, row_s: float) -> Array:
    """Return the share of the exposure in which a lamp gave light, by frame.

    Averaged over the rows that the lamp covers.
    """
    if not len(lamp.lit):
        return np.zeros(len(shot.starts_s))
    ends = slot_time(lamp.lit.ravel(), shot, lamp.slot).reshape(-1, 2)
    before = np.concatenate([[0.0], np.cumsum(ends[:, 1] - ends[:, 0])])

    def gathered(t: Array) -> Array:
        span = np.searchsorted(lamp.lit[:, 0], t, side="right") - 1
        inside = np.clip(t, lamp.lit[span, 0], lamp.lit[span, 1])
        part = slot_time(inside, shot, lamp.slot) - ends[span, 0]
        return np.where(span < 0, 0.0, before[span] + part)

    rows = row_s + ROW_OFFSETS[:, None] * shot.crossing_s
    start = shot.starts_s[None, :] + rows
    caught = gathered(start + shot.exposure_s) - gathered(start)
    return np.asarray(caught.mean(0) / shot.exposure_s)


def frame_starts(rng: np.random.Generator, fps: float, length_s: float, drops: float) -> Array:
    """Return the frame starts of a clip: jittered by a little, some frames dropped."""
    n = int(length_s * fps)
    starts = 1.0 + np.arange(n) / fps + rng.normal(0.0, 5e-5, n)
    return starts[rng.random(n) >= drops]


def regular(period: float, duty: float, begin: float, until: float) -> Array:
    """Return the lit spans of an even flash."""
    on = np.arange(begin - period, until, period)
    return np.stack([on, on + duty * period], axis=1)


def counted(count: int, blink: float, gap: float, begin: float, until: float) -> Array:
    """Return the lit spans of groups of ``count`` equal blinks with gaps between groups."""
    group = 2 * blink * count + gap
    first = np.arange(begin - group, until, group)
    on = (first[:, None] + np.arange(count)[None, :] * 2 * blink).ravel()
    return np.stack([on, on + blink], axis=1)


def true_lamp(
    rng: np.random.Generator, rhythm: tuple[float, float, float], until: float
) -> TrueLamp:
    """Return a lamp drawn at random; ``rhythm`` is the panel's period, duty and phase."""
    slot, level = rng.random(), rng.uniform(0.5, 2.5)
    kind = rng.choice(["off", "steady", "flashing", "counted"], p=[0.35, 0.3, 0.3, 0.05])
    period, duty, phase = rhythm
    if kind == "off":
        return TrueLamp("off", slot, level, np.empty((0, 2)))
    if kind == "steady":
        return TrueLamp("steady", slot, level, np.array([[0.0, until + 9.0]]))
    if kind == "counted":
        count, blink = int(rng.integers(2, 6)), rng.uniform(0.15, 0.3)
        spans = counted(count, blink, blink * rng.uniform(4.0, 6.0), rng.random(), until)
        return TrueLamp("flashing", slot, level, spans, count=count)
    begin = phase + (period / 2 if rng.random() < 0.4 else 0.0)  # in turn, or together
    spans = regular(period, duty, begin, until)
    return TrueLamp("flashing", slot, level, spans, period, duty)


@dataclass(frozen=True, slots=True)
class Box:
    """The ranges that clips are drawn from; a pair is (low, high)."""

    exposure_s: tuple[float, float] = (1 / 1500, 1 / 30)
    multiplex_hz: tuple[float, float] = (50.0, 1000.0)
    shares: tuple[float, ...] = (1 / 4, 1 / 6, 1 / 8, 1 / 16)
    rates: tuple[float, ...] = (24.0, 29.97, 30.0, 60.0)
    length_s: float = 8.0
    glare: float = 0.3
    locked: bool = False


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    """Return a number whose logarithm is uniform."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def draw_shot(rng: np.random.Generator, box: Box) -> Shot:
    """Return how a clip is taken; when locked, the multiplex is a multiple of the rate."""
    fps = float(rng.choice(box.rates))
    multiplex = log_uniform(rng, *box.multiplex_hz)
    if box.locked:
        multiplex = fps * max(2, round(multiplex / fps)) + rng.normal(0.0, 1e-3)
    drops = 0.05 if rng.random() < 0.2 else 0.0
    return Shot(
        exposure_s=min(log_uniform(rng, *box.exposure_s), 0.98 / fps),
        multiplex_hz=multiplex,
        share=float(rng.choice(box.shares)),
        crossing_s=rng.uniform(4e-4, 1e-3),
        readout_s=rng.uniform(0.008, 0.9 / fps if fps > 35 else 0.025),
        starts_s=frame_starts(rng, fps, box.length_s, drops),
    )


def on_camera(
    rng: np.random.Generator, shot: Shot, lamps: tuple[TrueLamp, ...], glare: float
) -> FilmedPanel:
    """Return the series that a camera makes of lamps: gain, steps, glare and noise added."""
    rows = np.sort(rng.choice([0.35, 0.6], len(lamps))) * shot.readout_s
    lit = np.stack([light(shot, lamp, row) for lamp, row in zip(lamps, rows, strict=True)])
    level = np.array([lamp.level for lamp in lamps])
    seen = np.minimum(lit / shot.share * level[:, None], 4.5)
    n = seen.shape[1]
    step = np.where(np.arange(n) > rng.integers(n), rng.uniform(0.9, 1.1), 1.0)
    noise = rng.normal(size=seen.shape) * np.sqrt(0.015**2 + 0.0015 * seen)
    shown = seen * step + rng.uniform(-0.06, 0.06, (len(lamps), 1)) + noise
    if rng.random() < glare:
        hidden = int(rng.integers(len(lamps)))
        start = int(rng.integers(n))
        shown[hidden, start : start + n // 3] = np.nan
    return FilmedPanel(shot.starts_s, rows, shown, lamps, shot, seen.max(1) > 0.1 * level)


def film(rng: np.random.Generator, box: Box | None = None) -> FilmedPanel:
    """Return a panel of four to eight lamps, filmed once; everything drawn from ``box``."""
    box = box or Box()
    shot = draw_shot(rng, box)
    return on_camera(rng, shot, draw_lamps(rng, box.length_s), box.glare)


def draw_lamps(rng: np.random.Generator, length_s: float) -> tuple[TrueLamp, ...]:
    """Return the lamps of a panel; those that flash do so together or in turn."""
    rhythm = (log_uniform(rng, 0.3, 2.0), rng.uniform(0.3, 0.7), rng.random())
    return tuple(true_lamp(rng, rhythm, length_s + 2.0) for _ in range(int(rng.integers(4, 9))))
