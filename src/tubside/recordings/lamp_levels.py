"""Brightness made comparable: unlit level taken off, steps of the camera's gain undone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_series import LampSeries

Array = NDArray[np.float64]
DIMMEST = 0.2
MOST_STEPS = 3
STEP_NATS = 15.0
LARGEST_STEP = 0.35


@dataclass(frozen=True, slots=True)
class Levelled:
    """Brightness above the unlit lamp, its noise, and whether each frame was seen."""

    x: Array
    seen: NDArray[np.bool_]
    noise: Array
    top: Array

    @property
    def lit(self) -> NDArray[np.bool_]:
        """Lamps that were seen lit in some frame."""
        return np.asarray(self.top > DIMMEST)


def quantile(values: Array, seen: NDArray[np.bool_], share: float) -> Array:
    """Return a quantile of each lamp's seen frames, nought where there is none."""
    rows = zip(values, seen, strict=True)
    return np.array([np.quantile(row[ok], share) if ok.any() else 0.0 for row, ok in rows])


def levelled(series: LampSeries) -> Levelled:
    """Return the series with each lamp's unlit brightness taken off, where it is seen."""
    seen = np.isfinite(series.brightness)
    filled = np.where(seen, series.brightness, 0.0)
    low = quantile(filled, seen, 0.05)
    x = np.where(seen, filled - np.where(low < DIMMEST / 2, low, 0.0)[:, None], 0.0)
    x = x / gain_steps(x, seen)
    top = quantile(x, seen, 0.97)
    whole = seen[:, 2:] & seen[:, 1:-1] & seen[:, :-2]
    jumps = np.abs(x[:, 1:-1] - (x[:, :-2] + x[:, 2:]) / 2) / 1.2247
    typical = [np.median(row[ok]) for row, ok in zip(jumps, whole, strict=True) if ok.any()]
    noise = max(0.012, 1.4826 * float(min(typical, default=0.0)))
    return Levelled(x, seen, np.hypot(noise, 0.05 * top), top)


def gain_steps(x: Array, seen: NDArray[np.bool_]) -> Array:
    """Return the camera's gain by frame, constant but for a few steps, shape (frames,).

    A step shows in all bright lamps at once, and stays.
    """
    top = quantile(x, seen, 0.97)
    bright = seen & (x > top[:, None] / 2) & (top > DIMMEST)[:, None]
    middle = np.array([np.median(r[b]) if b.any() else 1.0 for r, b in zip(x, bright, strict=True)])
    count = bright.sum(0)
    ratio = np.where(bright, x / middle[:, None], 0.0).sum(0) / np.maximum(count, 1)
    gain = np.ones(x.shape[1])
    ends = [(0, x.shape[1])]
    for _ in range(MOST_STEPS):
        found = [(*best_split(ratio[a:b] / gain[a:b], count[a:b]), a, b) for a, b in ends]
        nats, at, size, a, b = max(found)
        if nats < STEP_NATS or abs(size) > LARGEST_STEP:
            break
        gain[a + at : b] *= 1.0 + size
        ends = [pair for pair in ends if pair != (a, b)] + [(a, a + at), (a + at, b)]
    return gain


def best_split(ratio: Array, weight: NDArray[np.int64]) -> tuple[float, int, float]:
    """Return nats gained by one step, the frame it comes before, and its relative size."""
    w, y = np.cumsum(weight), np.cumsum(weight * ratio)
    total, n = w[-1], int((weight > 0).sum())
    if n < 20:
        return 0.0, 0, 0.0
    squares = float((weight * ratio**2).sum()) - y[-1] ** 2 / total
    left, right = w[:-1], total - w[:-1]
    fair = (left > 0.04 * total) & (right > 0.04 * total)
    if not fair.any() or squares <= 0:
        return 0.0, 0, 0.0
    means = y[:-1] / np.maximum(left, 1), (y[-1] - y[:-1]) / np.maximum(right, 1)
    drop = np.where(fair, left * right / total * (means[0] - means[1]) ** 2, 0.0)
    at = int(drop.argmax())
    nats = -n / 2 * np.log(max(1.0 - drop[at] / squares, 1e-9))
    return float(nats), at + 1, float(means[1][at] / max(means[0][at], 1e-9) - 1.0)
