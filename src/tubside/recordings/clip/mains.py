"""The pulse of lamps on the mains, taken out of what is measured as the camera's gain.

Room light pulses at twice the mains' rate, and so does the panel's own light on camera. The
panel's lamps do not: dividing them by it would give them a beat that they have not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PULSES_HZ = (100.0, 120.0)
"""Twice 50 and 60 Hz."""
OFF_HZ = 0.4
"""Mains keep their rate to 0.2 Hz (EN 50160: 1 % in 99.5 % of a year allows 0.5; from memory)."""
SLOWEST_HZ = 1.0
"""A pulse that shows slower than this cannot be told from a gain that changes."""
WINDOW_S = 1.0
STEPS = 2.0
"""A pulse never goes above this times its median size; steps of the gain do."""
NATS = 12.0
FEWEST = 40


def without_mains(times_s: Array, gain: Array) -> Array:
    """Return a gain without the pulse of room light, where there surely is one.

    Parameters
    ----------
    times_s, gain : Array
        Frame times [s] and the gain measured on the panel, shape (frames,).

    Examples
    --------
    >>> t = np.arange(240) / 30
    >>> pulsing = 1 + 0.1 * np.cos(2 * np.pi * 100 * t)
    >>> bool(np.ptp(without_mains(t, pulsing)[20:-20]) < 0.02)
    True
    """
    if len(times_s) < FEWEST:
        return gain
    rate = 1.0 / float(np.median(np.diff(times_s)))
    log = np.log(gain)
    rest = log - _around(log, round(WINDOW_S * rate) | 1)
    most = STEPS * float(np.median(np.abs(rest)))
    rest = np.clip(rest, -most, most)
    step = 0.25 / float(times_s[-1] - times_s[0])
    near = np.arange(-OFF_HZ, OFF_HZ + step / 2, step)
    rates = np.concatenate([pulse + near for pulse in PULSES_HZ])
    shown = np.abs(rates - rate * np.round(rates / rate))
    rates = rates[shown > SLOWEST_HZ]
    if not len(rates):
        return gain
    power = np.abs(np.exp(-2j * np.pi * rates[:, None] * times_s) @ rest)
    turns = 2 * np.pi * rates[int(power.argmax())] * times_s
    waves = np.stack([f(n * turns) for n in (1, 2) for f in (np.cos, np.sin)], axis=1)
    pulse = waves @ np.linalg.lstsq(waves, rest, rcond=None)[0]
    before, after = (float((part**2).sum()) for part in (rest, rest - pulse))
    sure = before > after * np.exp(2 * NATS / len(rest))
    return np.asarray(gain * np.exp(-pulse)) if sure else gain


def _around(values: Array, wide: int) -> Array:
    """The mean of the values around each."""
    padded = np.pad(values, wide // 2, mode="edge")
    return np.convolve(padded, np.ones(wide) / wide, mode="valid")
