"""Lamps on camera: the exact integral, against brute force and what must hold."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from stepped_lamps import STEP_S, stepped_light
from tubside.trial.lamps_on_camera import Box, draw_lamps, draw_shot, film, light


@pytest.mark.parametrize("seed", range(6))
def test_the_exact_integral_is_what_small_steps_count(seed: int) -> None:
    """Tests that both simulators agree within what a step and the rows' count can leave."""
    rng = np.random.default_rng(seed)
    shot = draw_shot(rng, Box(length_s=1.5, dimmed=0.0))
    for lamp in draw_lamps(rng, Box(), 1.5, shot):
        counted = stepped_light(shot, lamp, 0.004)
        pulses = shot.exposure_s * shot.multiplex_hz + 2
        steps = 2 * pulses * STEP_S / shot.exposure_s
        rows = shot.crossing_s / 6 / shot.exposure_s
        assert np.abs(light(shot, lamp, 0.004) - counted).max() < steps + rows


def test_a_steady_lamp_is_seen_in_its_share_of_frames() -> None:
    """Tests that a lamp is seen in (te + tr) fm + d of the frames (own derivation)."""
    rng = np.random.default_rng(3)
    shot = dataclasses.replace(
        draw_shot(rng, Box(length_s=60.0, dimmed=0.0)), exposure_s=0.002, multiplex_hz=171.3, share=0.125
    )
    lamp = next(lamp for lamp in draw_lamps(rng, Box(), 60.0, shot) if lamp.state == "steady")
    assert (light(shot, lamp, 0.0) > 0).mean() == pytest.approx(shot.seen_share, abs=0.03)


def test_a_locked_clip_leaves_some_lamps_unsampled() -> None:
    """Tests that a multiplex locked to the frame rate never shows some lit lamps."""
    box = Box(exposure_s=(1 / 1500, 1 / 1000), multiplex_hz=(90.0, 250.0), locked=True)
    films = [film(np.random.default_rng(seed), box) for seed in range(8)]
    hidden = [
        not sampled and lamp.state == "steady"
        for panel in films
        for sampled, lamp in zip(panel.sampled, panel.lamps, strict=True)
    ]
    assert 0 < sum(hidden) < len(hidden)
