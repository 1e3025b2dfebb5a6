"""The clock behind a clip's frame times, which files round."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOOSE_S = 2e-4
"""Times off an even clock by less are taken to be on it; cameras keep time better."""
ROUNDED = 0.75
"""Rounding moves a time by half a tick, and a camera's own clock wavers a little."""


def on_the_clock(times_s: Array, tick_s: float) -> Array:
    """Return frame times as an even clock gives them, where one explains them.

    Parameters
    ----------
    times_s : Array
        Rising times as the file holds them, shape (frames,); frames may be left out.
    tick_s : float
        The file's unit of time: a millisecond in Matroska and WebM.

    Returns
    -------
    Array
        Even times where all of them lie within rounding of a whole number of periods,
        otherwise the times given: a variable rate stays as it is.

    Examples
    --------
    Thirty a second rounded to milliseconds, the third one dropped:

    >>> rounded = np.array([0.0, 0.033, 0.1, 0.133, 0.167, 0.2])
    >>> (on_the_clock(rounded, 0.001)[1:] * 30).round(2).tolist()
    [1.0, 3.0, 4.0, 5.0, 6.0]
    """
    if len(times_s) < 4:
        return times_s
    steps = np.diff(times_s)
    counts = np.concatenate([[0.0], np.cumsum(np.round(steps / np.median(steps)))])
    even = np.polyval(np.polyfit(counts, times_s, 1), counts)
    off = float(np.abs(even - times_s).max())
    if off > max(LOOSE_S, ROUNDED * tick_s) or (np.diff(counts) < 1).any():
        return times_s
    return np.asarray(even)
