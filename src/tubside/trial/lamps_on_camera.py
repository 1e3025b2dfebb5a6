"""Lamps of a multiplexed panel as a camera sees them: an exact, fast simulation.

A lamp shines while its rhythm says so *and* while its slot of the multiplex is on. A row of
the picture gathers light during the exposure, later rows later (rolling shutter). The light
gathered is the integral of rhythm times slot over that window, found here in closed form.
All of it is simulated; the reader of clips shares no number with this module.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ROW_OFFSETS = np.linspace(-0.5, 0.5, 7)
SOFT_EDGES = np.linspace(-0.5, 0.5, 5)


@dataclass(frozen=True, slots=True)
class TrueLamp:
    """What one lamp really does; times in seconds, lit spans as pairs of (start, end).

    ``multiplex_hz`` is that of a second group of lamps, where it differs from the first's.
    """

    state: str
    slot: float
    level: float
    lit: Array
    period_s: float | None = None
    duty: float | None = None
    count: int | None = None
    multiplex_hz: float | None = None


@dataclass(frozen=True, slots=True)
class Shot:
    """How a clip was taken: seconds and hertz; ``share`` is the slot's share of a period.

    A slot's light rises and falls over ``soft`` of its length. ``exposures_s`` are those of
    the frames where the camera changed it, else all are ``exposure_s``.
    """

    exposure_s: float
    multiplex_hz: float
    share: float
    crossing_s: float
    readout_s: float
    starts_s: Array
    soft: float = 0.0
    exposures_s: Array | None = None

    @property
    def seen_share(self) -> float:
        """Share of frames in which a lit lamp is seen, one or more when always."""
        return (self.exposure_s + self.crossing_s) * self.multiplex_hz + self.share


@dataclass(frozen=True, slots=True)
class FilmedPanel:
    """Brightness of each lamp in each frame, and the truth behind it.

    ``brightness`` is lamp minus surround in units of the panel's own brightness, shape
    (lamps, frames), NaN under glare; ``row_s`` is the delay of each lamp's row, shape (lamps,),
    ``row_times_s`` the same in each frame.
    """

    times_s: Array
    row_s: Array
    row_times_s: Array
    brightness: Array
    lamps: tuple[TrueLamp, ...]
    shot: Shot
    sampled: NDArray[np.bool_]


def slot_time(t: Array, shot: Shot, slot: float) -> Array:
    """Return how long a slot has been on from time zero to ``t``, in seconds."""
    total = np.zeros_like(t)
    shifts = SOFT_EDGES * shot.soft * shot.share if shot.soft else (0.0,)
    for shift in shifts:
        turns = t * shot.multiplex_hz - slot - shift
        whole = np.floor(turns)
        part = np.minimum(turns - whole, shot.share)
        total += (whole * shot.share + part) / shot.multiplex_hz
    return np.asarray(total / len(shifts))


def light(shot: Shot, lamp: TrueLamp, row_s: float | Array) -> Array:
    """Return the share of the exposure in which a lamp gave light, by frame.

    Averaged over the rows that the lamp covers; ``row_s`` may differ by frame.
    """
    if lamp.multiplex_hz is not None:
        shot = replace(shot, multiplex_hz=lamp.multiplex_hz)
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
    exposure = shot.exposure_s if shot.exposures_s is None else shot.exposures_s
    caught = gathered(start + exposure) - gathered(start)
    return np.asarray(caught.mean(0) / exposure)


def frame_starts(
    rng: np.random.Generator, fps: float, length_s: float, drops: float, uneven: float = 0.0
) -> Array:
    """Return the frame starts of a clip: jittered, some dropped, or at a rate that varies."""
    n = int(length_s * fps)
    steps = 1.0 + rng.uniform(-uneven, uneven, n)
    starts = 1.0 + np.cumsum(steps) / fps + rng.normal(0.0, 5e-5, n)
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


@dataclass(frozen=True, slots=True)
class Box:
    """The ranges that clips are drawn from; a pair is (low, high).

    ``glare``, ``uneven`` and ``dimmed`` are the shares of clips with a reflection, a variable
    frame rate and a step of the exposure; ``shake_s`` is how far the hand moves the lamps
    over the rows at most; ``chances`` are those of off, steady, flashing and counted.
    ``locked`` sets the multiplex, ``flash_locked`` the flash, on the frame rate's beat.
    """

    exposure_s: tuple[float, float] = (1 / 1500, 1 / 30)
    multiplex_hz: tuple[float, float] = (50.0, 1000.0)
    shares: tuple[float, ...] = (1 / 4, 1 / 6, 1 / 8, 1 / 16)
    rates: tuple[float, ...] = (24.0, 29.97, 30.0, 60.0)
    length_s: float = 8.0
    glare: float = 0.3
    locked: bool = False
    flash_locked: bool = False
    uneven: float = 0.1
    shake_s: float = 2e-4
    dimmed: float = 0.1
    soft: float = 0.0
    groups: int = 1
    chances: tuple[float, float, float, float] = (0.35, 0.3, 0.3, 0.05)


def true_lamp(
    rng: np.random.Generator, box: Box, rhythm: tuple[float, float, float], until: float
) -> TrueLamp:
    """Return a lamp drawn at random; ``rhythm`` is the panel's period, duty and phase."""
    slot, level = rng.random(), rng.uniform(0.5, 2.5)
    kind = rng.choice(["off", "steady", "flashing", "counted"], p=box.chances)
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


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    """Return a number whose logarithm is uniform."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def draw_shot(rng: np.random.Generator, box: Box, multiplex_hz: float | None = None) -> Shot:
    """Return how a clip is taken; when locked, the multiplex is a multiple of the rate."""
    fps = float(rng.choice(box.rates))
    multiplex = multiplex_hz or log_uniform(rng, *box.multiplex_hz)
    if box.locked and multiplex_hz is None:
        multiplex = fps * max(2, round(multiplex / fps)) + rng.normal(0.0, 1e-3)
    if box.flash_locked:
        multiplex = fps * max(2, round(multiplex / fps)) + rng.uniform(0.4, 2.5)
    drops = 0.05 if rng.random() < 0.2 else 0.0
    uneven = 0.3 if rng.random() < box.uneven else 0.0
    starts = frame_starts(rng, fps, box.length_s, drops, uneven)
    exposure = min(log_uniform(rng, *box.exposure_s), 0.98 / fps)
    longer = np.where(np.arange(len(starts)) > rng.integers(len(starts)), rng.uniform(0.8, 1.25), 1)
    dims = rng.random() < box.dimmed
    slowest = 0.9 / fps if fps > 35 else 0.025
    return Shot(
        exposure_s=exposure,
        multiplex_hz=multiplex,
        share=float(rng.choice(box.shares)),
        crossing_s=rng.uniform(4e-4, 1e-3),
        readout_s=rng.uniform(min(0.008, 0.7 * slowest), slowest),
        starts_s=starts,
        soft=box.soft,
        exposures_s=np.minimum(exposure * longer, 0.98 / fps) if dims else None,
    )


def shaken(rng: np.random.Generator, t: Array, most_s: float) -> Array:
    """Return by how much later a shaking hand makes a lamp's row, in each frame."""
    tones = rng.uniform(0.4, 6.0, 4)
    sway = np.sin(2 * np.pi * (t[:, None] * tones + rng.random(4))).mean(1)
    return np.asarray(rng.uniform(0.0, most_s) * sway)


def on_camera(
    rng: np.random.Generator, shot: Shot, lamps: tuple[TrueLamp, ...], box: Box
) -> FilmedPanel:
    """Return the series that a camera makes of lamps: gain, steps, glare and noise added."""
    rows = np.sort(rng.choice([0.35, 0.6], len(lamps))) * shot.readout_s
    moved = rows[:, None] + shaken(rng, shot.starts_s, box.shake_s)
    lit = np.stack([light(shot, lamp, row) for lamp, row in zip(lamps, moved, strict=True)])
    level = np.array([lamp.level for lamp in lamps])
    seen = np.minimum(lit / shot.share * level[:, None], 4.5)
    n = seen.shape[1]
    step = np.where(np.arange(n) > rng.integers(n), rng.uniform(0.9, 1.1), 1.0)
    noise = rng.normal(size=seen.shape) * np.sqrt(0.015**2 + 0.0015 * seen)
    shown = seen * step + rng.uniform(-0.06, 0.06, (len(lamps), 1)) + noise
    if rng.random() < box.glare:
        hidden = int(rng.integers(len(lamps)))
        start = int(rng.integers(n))
        shown[hidden, start : start + n // 3] = np.nan
    sampled = seen.max(1) > 0.1 * level
    return FilmedPanel(shot.starts_s, rows, moved, shown, lamps, shot, sampled)


def film(rng: np.random.Generator, box: Box | None = None) -> FilmedPanel:
    """Return a panel of four to eight lamps, filmed once; everything drawn from ``box``."""
    box = box or Box()
    shot = draw_shot(rng, box)
    return on_camera(rng, shot, draw_lamps(rng, box, box.length_s, shot), box)


def film_twice(
    rng: np.random.Generator, box: Box, rates: tuple[float, float]
) -> tuple[FilmedPanel, FilmedPanel]:
    """Return a panel filmed at one frame rate and, soon after, at another."""
    first = draw_shot(rng, replace(box, rates=rates[:1]))
    second = draw_shot(rng, replace(box, rates=rates[1:]), first.multiplex_hz)
    lamps = draw_lamps(rng, box, 2 * box.length_s + 5.0, first)
    later = replace(second, share=first.share, starts_s=second.starts_s + box.length_s + 3.0)
    return on_camera(rng, first, lamps, box), on_camera(rng, later, lamps, box)


def beat_of(shot: Shot) -> float:
    """Return the rate of the beat between multiplex and frames."""
    start, end = shot.starts_s[[0, -1]]
    rate = round((end - start) / float(np.median(np.diff(shot.starts_s)))) / (end - start)
    return float(abs(shot.multiplex_hz - rate * round(shot.multiplex_hz / rate)))


def draw_lamps(
    rng: np.random.Generator, box: Box, length_s: float, shot: Shot
) -> tuple[TrueLamp, ...]:
    """Return the lamps of a panel; those that flash do so together or in turn."""
    rhythm = (log_uniform(rng, 0.3, 2.0), rng.uniform(0.3, 0.7), rng.random())
    if box.flash_locked:
        rhythm = (1 / beat_of(shot), rhythm[1], rhythm[2])
    lamps = [true_lamp(rng, box, rhythm, length_s + 2.0) for _ in range(int(rng.integers(4, 9)))]
    if box.groups == 1:
        return tuple(lamps)
    other = log_uniform(rng, *box.multiplex_hz)
    return tuple(
        replace(lamp, multiplex_hz=other) if k % box.groups else lamp
        for k, lamp in enumerate(lamps)
    )
