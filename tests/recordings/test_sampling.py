"""What a clip proves of lamps that stay dark."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tubside.recordings.lamp_levels import levelled
from tubside.recordings.lamp_model import explanations
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import AGAIN, read_lamps
from tubside.recordings.ripples import ripples
from tubside.recordings.sampling import ripple, widest_gap
from tubside.trial.lamps_on_camera import Box, FilmedPanel, film, film_twice

FROZEN = Box(exposure_s=(1 / 1500, 1 / 400), locked=True, glare=0.0, uneven=0.0)


def series(panel: FilmedPanel) -> LampSeries:
    """Return what the reader is given of a filmed panel."""
    names = tuple(f"lamp-{k}" for k in range(len(panel.lamps)))
    return LampSeries(names, panel.times_s, panel.brightness, panel.row_s, panel.row_times_s)


@pytest.mark.parametrize("seed", [1003, 1014])
def test_no_lamp_is_off_that_was_never_caught(seed: int) -> None:
    """Tests clips locked to the multiplex and flashes locked to the beat."""
    locked = replace(FROZEN, locked=False, flash_locked=True, multiplex_hz=(60.0, 400.0))
    for box in (FROZEN, locked):
        panel = film(np.random.default_rng(seed), box)
        read = read_lamps([series(panel)])
        pairs = zip(read.lamps.values(), panel.lamps, panel.sampled, strict=True)
        hidden = [said.state for said, true, seen in pairs if true.state != "off" and not seen]
        assert "off" not in hidden
        assert AGAIN in read.advice


def test_a_rival_beat_of_half_the_rate_leaves_dark_lamps_open() -> None:
    """Tests a panel that a beat of 4 Hz explains a little better than the true one of 2 Hz.

    Under the true one, two lamps flash in its dark; the stated rate alone would deny it.
    """
    box = replace(FROZEN, locked=False, flash_locked=True, multiplex_hz=(60.0, 400.0))
    panel = film(np.random.default_rng(780025), box)
    read = read_lamps([series(panel)]).lamps.values()
    hidden = [k for k, lamp in enumerate(panel.lamps) if lamp.state != "off"]
    hidden = [k for k in hidden if not panel.sampled[k]]
    assert len(hidden) == 2
    assert all(lamp.state == "unknown" for k, lamp in enumerate(read) if k in hidden)


def test_a_second_clip_at_another_rate_settles_a_locked_one() -> None:
    """Tests that lamps locked at 30 frames a second are answered with 24 beside, all rightly."""
    films = film_twice(np.random.default_rng(12), FROZEN, (30.0, 24.0))
    one = read_lamps([series(films[0])]).lamps.values()
    two = read_lamps([series(panel) for panel in films]).lamps.values()
    truth = [lamp.state for lamp in films[0].lamps]
    assert sum(lamp.state == "unknown" for lamp in two) < sum(
        lamp.state == "unknown" for lamp in one
    )
    assert all(lamp.state in {true, "unknown"} for lamp, true in zip(two, truth, strict=True))


def test_noise_is_no_ripple_and_a_beat_is() -> None:
    """Tests that even light proves nothing, and that a ripple of 6 % at 7 Hz does."""
    t = np.arange(240) / 30
    noise = np.random.default_rng(3).normal(0.0, 0.03, (2, 240))
    for size, proves in ((0.0, False), (0.06, True)):
        wave = size * np.cos(2 * np.pi * 7.0 * t + np.array([[0.0], [2.0]]))
        clip = LampSeries(("a", "b"), t, 1.0 + wave + noise, np.zeros(2))
        level = levelled(clip)
        found = ripple(clip, level, explanations(clip, level)[0])
        assert (found.nats > 9.0) == proves
    assert found.rate_hz == pytest.approx(7.0, abs=0.05)


def test_the_widest_gap_goes_round_the_circle() -> None:
    """Tests the gap between phases looked at, across the end of the turn, in turns."""
    place = np.array([10, 20, 40])
    assert widest_gap(place, np.array([True, True, True])) == pytest.approx((96 - 31) / 96)
    assert widest_gap(place, np.array([False, False, False])) == 1.0


def test_a_drift_behind_a_flash_is_no_ripple() -> None:
    """Tests that a slow drift, seen only while a lamp flashes, shows at no rate beside it."""
    t = np.arange(240) / 30
    flash = (t % 1.4 < 0.7) * (1.0 + 0.06 * np.cos(2 * np.pi * 0.09 * t))
    shown = np.array([flash, 0.0 * t]) + 0.01 * np.random.default_rng(3).normal(size=(2, 240))
    clip = LampSeries(("a", "b"), t, shown, np.zeros(2))
    level = levelled(clip)
    rates, total, _ = ripples(clip, level, explanations(clip, level)[0])
    assert total[rates > 0.4].max() < 10.0
    assert read_lamps([clip]).lamps["b"].state == "unknown"
