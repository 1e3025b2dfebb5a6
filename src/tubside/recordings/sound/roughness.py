"""Bearing roughness: whether a machine has become rougher between two recordings of it.

Never an absolute: phones, rooms and machines differ far more than bearings do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.track import Track

Array = NDArray[np.float64]

ROUGH_HZ = (1500.0, 6000.0)
DRUM_HZ = (80.0, 700.0)
BLOCK_S = 0.5
SHORT_S = 0.004
PLACE_DB, PEAK_PLACE_DB = 2.0, 0.4
"""Spread that another place of the phone gives to a level and to peaks [dB] (common practice, no
source)."""
Z90 = 1.645
SPEEDS_AGREE = 0.1


@dataclass(frozen=True, slots=True)
class Trend:
    """Rougher, smoother, about the same, or not to be compared; changes with 90 % intervals [dB].

    ``hiss_db`` is broad high noise over the drum's low sound, ``peaks_db`` how far the short
    peaks of it rise above its middle.
    """

    trend: str
    hiss_db: float | None = None
    hiss_interval: tuple[float, float] | None = None
    peaks_db: float | None = None
    peaks_interval: tuple[float, float] | None = None


def measures(track: Track, part_s: tuple[float, float] | None = None) -> Array:
    """Return (2, B) for blocks of half a second: hiss over drum, and peaks over middle [dB].

    Peaks of a band's envelope tell shocks from even noise, as spectral kurtosis does (Antoni,
    *The spectral kurtosis: a useful tool for characterising non-stationary signals*,
    Mechanical Systems and Signal Processing 20(2), 2006); quantiles stand the odd click.
    """
    from scipy.signal import butter, sosfilt  # noqa: PLC0415  # slow to import

    first, last = part_s or (0.0, track.length_s)
    samples = track.samples[int(first * track.rate_hz) : int(last * track.rate_hz)]
    high, low = (
        sosfilt(butter(4, band, "bandpass", fs=track.rate_hz, output="sos"), samples)
        for band in (ROUGH_HZ, DRUM_HZ)
    )
    short, block = int(SHORT_S * track.rate_hz), int(BLOCK_S * track.rate_hz)
    count = len(samples) // block
    loud = np.reshape(high[: count * block] ** 2, (count, -1, short)).mean(axis=2)
    drum = np.mean(np.reshape(low[: count * block] ** 2, (count, -1)), axis=1)
    tiny = 1e-12 * float(np.max(drum, initial=0.0)) + 1e-30
    hiss = 10 * np.log10((np.median(loud, axis=1) + tiny) / (drum + tiny))
    peaks = 10 * np.log10(
        (np.quantile(loud, 0.95, axis=1) + tiny) / (np.median(loud, axis=1) + tiny)
    )
    return np.stack([hiss, peaks])


def trend(now: Array, before: Array) -> Trend:
    """Return the trend between the measures of two recordings, the earlier one second.

    The difference of medians; its spread is that of the blocks and that of the phone's place.

    Examples
    --------
    >>> even = np.tile([[-20.0, -19.0], [6.0, 6.2]], 8)
    >>> told = trend(even + np.array([[6.0], [3.0]]), even)
    >>> told.trend, told.hiss_db, told.peaks_db
    ('rougher', 6.0, 3.0)
    >>> trend(even, even).trend
    'about the same'
    """
    change = np.median(now, axis=1) - np.median(before, axis=1)
    error = [
        np.sqrt(1.57 * (now[k].var() / now.shape[1] + before[k].var() / before.shape[1]))
        for k in (0, 1)
    ]
    places = np.sqrt(2) * np.array([PLACE_DB, PEAK_PLACE_DB])
    half = Z90 * np.hypot(np.array(error), places)
    up, down = change - half > 0, change + half < 0
    rougher = up.any() and not down.any()
    smoother = down.any() and not up.any()
    word = "rougher" if rougher else "smoother" if smoother else "about the same"
    ends = [
        (round(float(c - h), 1), round(float(c + h), 1)) for c, h in zip(change, half, strict=True)
    ]
    return Trend(word, round(float(change[0]), 1), ends[0], round(float(change[1]), 1), ends[1])


def compared(
    now: tuple[Track, float | None, tuple[float, float] | None],
    before: tuple[Track, float | None, tuple[float, float] | None],
) -> Trend:
    """Return the trend between two recordings, each with its speed [rpm] and steady stretch [s].

    Speeds more than a tenth apart, or not known, are not to be compared: hiss grows with speed.
    """
    (track, rpm, part), (earlier, earlier_rpm, earlier_part) = now, before
    if rpm is None or earlier_rpm is None or abs(np.log(rpm / earlier_rpm)) > SPEEDS_AGREE:
        return Trend("cannot be compared")
    rows = [measures(track, part), measures(earlier, earlier_part)]
    if min(row.shape[1] for row in rows) < 4:
        return Trend("cannot be compared")
    return trend(*rows)
