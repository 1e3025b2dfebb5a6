"""Lamps on camera by brute force: on or off in every 20 µs, then counted."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.trial.lamps_on_camera import Shot, TrueLamp

STEP_S = 20e-6


def stepped_light(shot: Shot, lamp: TrueLamp, row_s: float) -> NDArray[np.float64]:
    """Return the share of the exposure with light, by counting small steps of time."""
    seen = []
    for start in shot.starts_s:
        t = start + row_s + np.arange(0.0, shot.exposure_s + shot.crossing_s, STEP_S)
        t -= shot.crossing_s / 2
        rhythm = ((t[:, None] >= lamp.lit[:, 0]) & (t[:, None] < lamp.lit[:, 1])).any(1)
        slot = (t * shot.multiplex_hz - lamp.slot) % 1.0 < shot.share
        rows = np.lib.stride_tricks.sliding_window_view(
            (rhythm & slot).astype(float), max(1, round(shot.exposure_s / STEP_S))
        )
        seen.append(rows.mean())
    return np.array(seen)
