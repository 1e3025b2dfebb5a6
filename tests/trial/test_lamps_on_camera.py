"""Lamps on camera: the exact integral, against brute force and what must hold."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from stepped_lamps import STEP_S, stepped_light
from tubside.trial.lamps_on_camera import (
    Box,
    beat_of,
    draw_lamps,
    draw_shot,
    film,
    film_twice,
    light,
)


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
        draw_shot(rng, Box(length_s=60.0, dimmed=0.0)),
        exposure_s=0.002,
        multiplex_hz=171.3,
        share=0.125,
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


def test_soft_slots_give_as_much_light_as_sharp_ones() -> None:
    """Tests that soft edges move light within a period and leave the mean as it is."""
    rng = np.random.default_rng(3)
    shot = dataclasses.replace(draw_shot(rng, Box(length_s=40.0, dimmed=0.0)), multiplex_hz=171.3)
    lamp = next(x for x in draw_lamps(rng, Box(), 40.0, shot) if x.state == "steady")
    sharp, soft = light(shot, lamp, 0.0), light(dataclasses.replace(shot, soft=0.6), lamp, 0.0)
    assert np.abs(sharp - soft).max() > 0
    assert soft.mean() == pytest.approx(sharp.mean(), rel=0.03)


def test_a_flash_made_to_lock_keeps_step_with_the_beat() -> None:
    """Tests that the flash's rate is the beat's, within an eighth of a turn over the clip."""
    box = Box(flash_locked=True, uneven=0.0, chances=(0.0, 0.0, 1.0, 0.0))
    panel = film(np.random.default_rng(5), box)
    period = panel.lamps[0].period_s
    assert period is not None
    assert beat_of(panel.shot) * box.length_s == pytest.approx(box.length_s / period, abs=0.125)


def test_two_films_show_the_same_lamps_at_their_own_rates() -> None:
    """Tests that a second film follows the first, of the same lamps on the same multiplex."""
    first, second = film_twice(np.random.default_rng(1), Box(uneven=0.0), (30.0, 24.0))
    assert first.lamps is second.lamps
    assert first.shot.multiplex_hz == second.shot.multiplex_hz
    assert second.times_s[0] > first.times_s[-1]
    rates = [1 / np.median(np.diff(one.times_s)) for one in (first, second)]
    assert rates == pytest.approx([30.0, 24.0], rel=0.01)
