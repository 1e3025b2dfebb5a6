"""The pump from the change within a recording, bearings from the change between two."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import resample_poly

import made_sounds
import made_spins
from tubside.recordings.sound.pump_sound import STATES, likelihoods, read_pump
from tubside.recordings.sound.roughness import compared, measures, trend
from tubside.recordings.sound.track import RATE_HZ, Track


def track(wave: made_sounds.Wave) -> Track:
    """Return a simulated recording at the reader's rate."""
    return Track(resample_poly(wave, 160, 441).astype(np.float32))


@pytest.mark.parametrize("state", STATES)
def test_the_pump_is_told(state: str) -> None:
    """Tests each state of a pump, and when it starts, one through a phone of other gain."""
    wave, start = made_spins.made_pump(21, state)
    told = read_pump(track(0.1 * wave if state == "loaded" else wave))
    assert told is not None
    assert told.state == state
    assert sum(told.probability.values()) == pytest.approx(1, abs=0.02)
    if state == "silent":
        assert told.change_s is None
    else:
        assert told.change_s == pytest.approx(start, abs=0.5)


def test_no_change_is_silent_at_any_level() -> None:
    """Tests that a loud hum that never changes is no pump that started."""
    t = np.arange(8 * RATE_HZ) / RATE_HZ
    noise = np.random.default_rng(3).normal(0, 0.02, t.size)
    told = read_pump(Track((0.3 * np.sin(2 * np.pi * 100 * t) + noise).astype(np.float32)))
    assert told is not None
    assert told.state == "silent"


def test_a_small_change_is_unsure() -> None:
    """Tests that a change between none and some leaves both open."""
    told = likelihoods(lines_db=3.0, broad_db=2.5, ratio=15.0, gulps_db=0.7)
    assert 0.3 < told["silent"] < 0.7


def test_too_short_is_not_told() -> None:
    """Tests that two seconds are too short for a pump."""
    assert read_pump(Track(np.ones(2 * RATE_HZ, np.float32))) is None


@pytest.fixture(scope="module")
def before() -> made_spins.MadeSpin:
    """Return a spin of sound bearings."""
    return made_spins.made_spin(5, 10.0)


@pytest.mark.parametrize(("rough", "word"), [(0.0, "about the same"), (2.0, "rougher")])
def test_bearings_are_a_trend(before: made_spins.MadeSpin, rough: float, word: str) -> None:
    """Tests that a bearing grown rough is told, and the same one is not."""
    now = made_spins.made_spin(5, 9.0, "constant", rough)
    told = compared(
        (track(now.wave), float(now.rpm.mean()), None),
        (track(before.wave), float(before.rpm.mean()), None),
    )
    assert told.trend == word


def test_other_speeds_are_not_compared() -> None:
    """Tests that recordings at other speeds, or of unknown speed, give no trend."""
    one = Track(np.random.default_rng(0).normal(0, 0.1, 8 * RATE_HZ).astype(np.float32))
    assert compared((one, 800.0, None), (one, 1000.0, None)).trend == "cannot be compared"
    assert compared((one, None, None), (one, 1000.0, None)).trend == "cannot be compared"


def test_the_gain_does_not_matter() -> None:
    """Tests that measures are the same at another gain, and a trend has its sign."""
    rng = np.random.default_rng(4)
    sound = rng.normal(0, 0.1, 6 * RATE_HZ).astype(np.float32)
    one, louder = measures(Track(sound)), measures(Track(5 * sound))
    assert one == pytest.approx(louder, abs=1e-3)
    up = one + np.array([[8.0], [0.0]])
    assert trend(up, one).trend == "rougher"
    assert trend(one, up).trend == "smoother"
