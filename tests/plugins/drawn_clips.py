"""Lamps and cameras drawn at random for filmed clips, in boxes of their own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from filmed_clips import COLOURS, Camera, FilmedLamp

Floats = NDArray[np.float64]
RATES = (23.976, 24.0, 25.0, 29.97, 30.0, 50.0, 60.0)
SHARES = (1 / 3, 1 / 5, 1 / 8, 1 / 12)


def _between(rng: np.random.Generator, low: float, high: float) -> float:
    """Return a number whose logarithm is even."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def drawn_camera(rng: np.random.Generator, wide: int = 320) -> Camera:
    """Return a camera held by hand."""
    fps = float(rng.choice(RATES))
    exposure = min(_between(rng, 1 / 1200, 1 / 30), 0.95 / fps)
    return Camera(
        width=wide,
        height=wide * 9 // 16,
        fps=fps,
        exposure_s=exposure,
        readout_s=min(rng.uniform(0.007, 0.024), 0.9 / fps),
        multiplex_hz=_between(rng, 55.0, 900.0),
        share=float(rng.choice(SHARES)),
        shake=rng.uniform(0.5, 6.0) * wide / 320,
        lean=rng.uniform(0.2, 3.0),
        zoom=rng.uniform(0.0, 0.05),
        gamma=rng.uniform(1.9, 2.4),
        noise=rng.uniform(0.006, 0.025),
        ripple=rng.uniform(0.0, 0.25),
        mains_hz=float(rng.choice([50.0, 60.0])),
        gain_steps=int(rng.integers(0, 4)),
        glare=rng.uniform(0.5, 1.5) if rng.random() < 0.25 else 0.0,
        drops=rng.uniform(0.02, 0.1) if rng.random() < 0.25 else 0.0,
        blur=3 if exposure > 1 / 120 else 1,
    )


def even(period: float, duty: float, begin: float, until: float) -> Floats:
    """Return the lit spans of an even flash."""
    on = begin - period + np.arange(int((until + 2 * period) / period) + 1) * period
    return np.stack([on, on + duty * period], axis=1)


def coded(count: int, blink: float, gap: float, begin: float, until: float) -> Floats:
    """Return the lit spans of groups of equal blinks."""
    spans, t = [], begin - (2 * blink * count + gap)
    while t < until:
        spans += [(t + 2 * blink * k, t + 2 * blink * k + blink) for k in range(count)]
        t += 2 * blink * count + gap
    return np.array(spans)


def drawn_lamps(rng: np.random.Generator, camera: Camera) -> tuple[FilmedLamp, ...]:
    """Return four to eight lamps in one or two rows."""
    count, rows = int(rng.integers(4, 9)), int(rng.integers(1, 3))
    columns = -(-count // rows)
    wide, high = camera.width, camera.height
    radius = rng.uniform(0.012, 0.02) * wide
    heights = rng.uniform(0.3, 0.45) * high + np.arange(rows) * 0.22 * high
    period, duty = _between(rng, 0.25, 2.0), rng.uniform(0.3, 0.7)
    phase = rng.random() * period
    colour = COLOURS[int(rng.integers(len(COLOURS)))]
    lamps = []
    for k in range(count):
        x = wide * (0.2 + 0.6 * (k % columns) / max(1, columns - 1))
        at = (x + rng.uniform(-2, 2), float(heights[k // columns]))
        lamp = FilmedLamp(
            "off", at, radius, colour, rng.uniform(0.35, 1.6), rng.random(), np.empty((0, 2))
        )
        lamps.append(_behaving(rng, lamp, (period, duty, phase), camera.length_s + 3.0))
    return tuple(lamps)


def _behaving(
    rng: np.random.Generator, lamp: FilmedLamp, rhythm: tuple[float, float, float], until: float
) -> FilmedLamp:
    kind = rng.choice(["off", "steady", "flashing", "coded"], p=[0.34, 0.31, 0.29, 0.06])
    period, duty, phase = rhythm
    if kind == "steady":
        return replace(lamp, state="steady", spans=np.array([[0.0, until]]))
    if kind == "flashing":
        begin = phase + (period / 2 if rng.random() < 0.4 else 0.0)
        spans = even(period, duty, begin, until)
        return replace(lamp, state="flashing", spans=spans, period_s=period)
    if kind == "coded":
        blinks, blink = int(rng.integers(2, 6)), rng.uniform(0.14, 0.28)
        spans = coded(blinks, blink, blink * rng.uniform(4, 6), rng.random(), until)
        return replace(lamp, state="flashing", spans=spans, count=blinks)
    return lamp
