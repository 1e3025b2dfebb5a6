"""The simulator by brute force against the exact one, on the same lamps and shot."""

from __future__ import annotations

import numpy as np
import pytest

from drawn_clips import drawn_camera, drawn_lamps
from filmed_clips import STEP_S, shooting_of
from tubside.trial.lamps_on_camera import Shot, TrueLamp, light


@pytest.mark.parametrize("seed", range(8))
def test_both_count_the_same_light(seed: int) -> None:
    """Tests that a row's light agrees within what steps of 20 µs can leave.

    Each edge of a pulse or of the exposure is off by a step at most.
    """
    rng = np.random.default_rng(seed)
    camera = drawn_camera(rng)
    shooting = shooting_of(rng, camera, drawn_lamps(rng, camera))
    starts = np.sort(rng.uniform(0.2, camera.length_s, 60))
    shot = Shot(
        exposure_s=round(camera.exposure_s / STEP_S) * STEP_S,
        multiplex_hz=camera.multiplex_hz,
        share=camera.share,
        crossing_s=0.0,
        readout_s=camera.readout_s,
        starts_s=starts,
    )
    pulses = shot.exposure_s * shot.multiplex_hz + 2
    for k, lamp in enumerate(shooting.lamps):
        true = TrueLamp(lamp.state, lamp.slot, lamp.level, lamp.spans)
        exact = light(shot, true, 0.004)
        counted = shooting.lit(k, starts + 0.004, camera.exposure_s)
        assert np.abs(exact - counted).max() < 2 * pulses * STEP_S / shot.exposure_s
