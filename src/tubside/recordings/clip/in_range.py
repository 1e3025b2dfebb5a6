"""A lamp's brightness by those parts of its picture that stay below the sensor's end.

A bright lamp fills its middle to white in its own colour, and there a ripple of its light is
lost. Its soft edge, its halo and its weaker colours still follow it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.clip.light import LIGHT

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Pictures = NDArray[np.uint8]

FULL = 0.9
"""Share of the sensor's range from which on light is no longer counted in proportion."""
BRIGHT, DARK = 0.5, 0.15
"""Frames above and below these shares of a lamp's top show it lit and unlit."""
FEWEST_FRAMES, FEWEST_PARTS = 8, 6
FAINT = 0.01
GRAIN = 0.05
"""Coding noise is taken to grow with light, from this floor (seen on simulated clips)."""
LEAST_LEFT = 0.15
LEAST_ALIKE = 0.35
"""A lit lamp that seems darker than this by its parts has raised its surround by its bloom."""


def in_range(pictures: Pictures, masks: tuple[Mask, Mask], gain: Array, coarse: Array) -> Array:
    """Return a lamp's brightness by frame, from the parts of its picture within range.

    Each pixel's and colour's light above the surround is weighed by how much the lamp adds to
    it when lit, against its noise (a matched filter, Turin 1960; from memory).

    Parameters
    ----------
    pictures : ndarray of uint8
        The lamp's squares, shape (frames, side, side, 3).
    masks : tuple of ndarray
        Pixels that the lamp's light falls on, and those of its surround.
    gain : Array
        The camera's gain, shape (frames,).
    coarse : Array
        Brightness by the lamp's disc alone, NaN where it is not seen; gives the unit, and is
        kept where no part is in range.
    """
    seen = np.isfinite(coarse)
    top = float(np.quantile(coarse[seen], 0.97)) if seen.any() else 0.0
    bright = seen & (np.nan_to_num(coarse) > BRIGHT * top)
    if top <= 0.0 or bright.sum() < FEWEST_FRAMES:
        return coarse
    dark = seen & (np.nan_to_num(coarse, nan=top) < DARK * top)
    raw = LIGHT[pictures[:, masks[0]]]
    surround = np.median(LIGHT[pictures[:, masks[1]]], axis=1)[:, None, :]
    above = (raw - surround) / gain[:, None, None].astype(np.float32)
    base = above[dark].mean(0) if dark.sum() >= FEWEST_FRAMES else np.zeros_like(above[0])
    added = above[bright].mean(0) - base
    high = np.quantile(raw[bright], 0.9, axis=0)
    weight = np.where((high < FULL) & (added > FAINT), added / (GRAIN + high) ** 2, 0.0)
    if (weight > 0).sum() < FEWEST_PARTS:
        return coarse
    counts = np.where(raw < FULL, weight, 0.0)
    whole = (counts * added).sum((1, 2))
    found = ((above - base) * counts).sum((1, 2)) / np.maximum(whole, 1e-12)
    unlit = float(coarse[dark].mean()) if dark.sum() >= FEWEST_FRAMES else 0.0
    found = unlit + found * (float(coarse[bright].mean()) - unlit)
    left = whole > LEAST_LEFT * float((weight * added).sum())
    alike = ~bright | (found > LEAST_ALIKE * np.nan_to_num(coarse))
    return np.asarray(np.where(seen & left & alike, found, coarse))
