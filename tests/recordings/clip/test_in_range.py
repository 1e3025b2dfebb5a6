"""A lamp that fills its middle to white is followed by its edge and its weaker colours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.clip.in_range import in_range
from tubside.recordings.clip.light import GAMMA

SIDE, RADIUS, FRAMES = 21, 4.0, 90
GROUND, RED = 0.2, np.array([1.0, 0.2, 0.1])
FLAT = np.ones(FRAMES)


def shape() -> NDArray[np.float64]:
    """Return how far each pixel lies from the middle."""
    rows, columns = np.indices((SIDE, SIDE)) - SIDE // 2
    return np.asarray(np.hypot(rows, columns))


def stored(light: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Return squares of a red lamp of this brightness by frame, as a phone stores them."""
    disc = 1 / (1 + np.exp((shape() - RADIUS) / 0.8))
    lamp = light[:, None, None, None] * disc[:, :, None] * RED
    return np.asarray(np.round(np.clip(GROUND + lamp, 0, 1) ** (1 / GAMMA) * 255), np.uint8)


def by_disc(pictures: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the brightness by the disc's strongest colour alone."""
    light = (pictures.max(-1) / 255.0) ** GAMMA
    return np.asarray(light[:, shape() <= RADIUS].mean(1) - light[:, shape() > 8].mean(1))


MASKS = (shape() <= 1.7 * RADIUS, shape() > 8)


def test_a_ripple_on_a_clipped_lamp_is_seen() -> None:
    """Tests that light twice what the sensor holds is followed to a hundredth."""
    light = 2.0 + 0.3 * np.sin(np.arange(FRAMES))
    coarse = by_disc(stored(light))
    found = in_range(stored(light), MASKS, FLAT, coarse)
    assert np.ptp(coarse) / coarse.mean() < 0.1
    assert np.abs(found / found.mean() - light / light.mean()).max() < 0.01


def test_an_unlit_frame_keeps_its_brightness() -> None:
    """Tests that a flashing lamp's dark stays where the disc has it, and its unit too."""
    light = np.where(np.arange(FRAMES) // 9 % 2 == 0, 1.8, 0.0)
    coarse = by_disc(stored(light))
    found = in_range(stored(light), MASKS, FLAT, coarse)
    assert np.abs(found[light == 0] - coarse[light == 0]).max() < 1e-3
    assert np.abs(found[light > 0] - coarse[light > 0]).max() < 1e-3


def test_a_lamp_that_was_never_lit_is_left_as_it_is() -> None:
    """Tests that too few bright frames, or frames not seen, change nothing."""
    light = np.zeros(FRAMES)
    light[:3] = 1.0
    coarse = by_disc(stored(light))
    coarse[10] = np.nan
    found = in_range(stored(light), MASKS, FLAT, coarse)
    assert np.array_equal(found, coarse, equal_nan=True)
