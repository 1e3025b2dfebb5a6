"""Where in a log a tub may swing freely: after each push, until it is still or pushed again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BAND_HZ = (0.7, 16.0)
"""Tubs on springs swing within this."""
QUIET_S = 0.4
MOST_PUSHES = 5
LEAST_SHARE = 0.25
"""Pushes weaker than this share of the strongest are passed over."""
APART_S = 1.0
STANDS_OUT = 4.0
"""A push is this many times the quiet level, or it is none."""


@dataclass(frozen=True, slots=True)
class Push:
    """From the height of a push [s] until the next one, or the end of the log."""

    start_s: float
    end_s: float
    height: float
    """Of the swing's envelope at its start, over all axes [m/s²]."""


@dataclass(frozen=True, slots=True)
class Search:
    """The pushes of a log, the strongest first, and its quiet level [m/s²] per axis.

    ``band`` (n, axes) is what shakes within :data:`BAND_HZ`, at even ``times_s`` (n,).
    """

    pushes: tuple[Push, ...]
    quiet: float
    times_s: Array
    band: Array


def railed(axes: Array) -> NDArray[np.bool_]:
    """Samples at the end of the sensor's range: (n, axes).

    A rail is an extreme that one axis holds at three or more samples in a row; a resting
    sensor that says the same for most of the log has none.
    """
    out = np.zeros(axes.shape, dtype=bool)
    for column in range(axes.shape[1]):
        values = axes[:, column]
        spread = float(np.nanmax(values) - np.nanmin(values))
        if spread <= 0.0:
            continue
        for extreme in (np.nanmax(values), np.nanmin(values)):
            at = np.abs(values - extreme) <= 1e-4 * spread
            runs = at[2:] & at[1:-1] & at[:-2]
            if runs.any() and at.mean() < 0.3:
                out[:, column] |= at
    return out


def search(times_s: Array, axes: Array) -> Search:
    """Find pushes by the envelope of what shakes within :data:`BAND_HZ`.

    Only the search works on evenly spaced samples; whatever is measured is fitted to the
    samples themselves.
    """
    from scipy.signal import butter, hilbert, sosfiltfilt  # noqa: PLC0415  # only here

    step = float(np.median(np.diff(times_s)))
    even = np.arange(0.0, times_s[-1], step)
    values = np.stack([_over(even, times_s, axes[:, c]) for c in range(axes.shape[1])], axis=1)
    top = min(BAND_HZ[1], 0.45 / step)
    sos = butter(2, (BAND_HZ[0], top), "bandpass", fs=1.0 / step, output="sos")
    pad = min(len(even) - 1, int(2.0 / step))
    band = sosfiltfilt(sos, values, axis=0, padlen=pad)
    size = np.linalg.norm(np.abs(hilbert(band, axis=0)), axis=1)
    width = max(3, round(0.12 / step))
    smooth = np.convolve(np.pad(size, width, mode="edge"), np.ones(width) / width, "same")
    smooth = smooth[width:-width]
    quiet = quiet_level(times_s, axes)
    return Search(_pushes(even, smooth, step), quiet, even, band)


def _over(even: Array, times_s: Array, values: Array) -> Array:
    there = np.isfinite(values)
    return np.interp(even, times_s[there], values[there])


def quiet_level(times_s: Array, axes: Array) -> float:
    """Noise of one axis where the log is calmest [m/s²]: what a bend leaves of short pieces."""
    step = float(np.median(np.diff(times_s)))
    size = max(8, round(QUIET_S / step))
    found = []
    for first in range(0, len(times_s) - size + 1, max(size // 2, 1)):
        piece = axes[first : first + size]
        piece = piece[np.isfinite(piece).all(axis=1)]
        if len(piece) < 7:
            continue
        along = np.linspace(-1.0, 1.0, len(piece))
        basis = np.stack([np.ones(len(piece)), along, np.square(along)], axis=1)
        linear, *_ = np.linalg.lstsq(basis, piece, rcond=None)
        spare = piece.size - 3 * piece.shape[1]
        found.append(float(np.square(piece - basis @ linear).sum()) / spare)
    if not found:
        return 0.0
    calm = np.sort(found)[: max(1, len(found) // 4)]
    return float(np.sqrt(np.median(calm))) * 1.05


def _pushes(times_s: Array, envelope: Array, step: float) -> tuple[Push, ...]:
    """Heights of the envelope, apart from each other, each ending before the next rises."""
    from scipy.signal import find_peaks  # noqa: PLC0415  # only here

    top = float(envelope.max())
    padded = np.concatenate([[0.0], envelope, [0.0]])
    peaks, _ = find_peaks(
        padded,
        height=LEAST_SHARE * top,
        distance=max(1, round(APART_S / step)),
        prominence=0.5 * LEAST_SHARE * top,
    )
    peaks = np.sort(peaks - 1)
    found = []
    for n, peak in enumerate(peaks):
        end = len(times_s) - 1
        if n + 1 < len(peaks):
            between = envelope[peak : peaks[n + 1]]
            end = peak + int(np.argmin(between))
        found.append(Push(float(times_s[peak]), float(times_s[end]), float(envelope[peak])))
    found.sort(key=lambda push: -push.height)
    return tuple(found[:MOST_PUSHES])
