"""Spin speed from simulated recordings, and its parts by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.signal import resample_poly

import made_sounds
import made_spins
from tubside.recordings.sound.even_speed import STRENGTHS as EVEN_STRENGTHS
from tubside.recordings.sound.even_speed import (
    TALLEST_NATS,
    even_speed,
    low_share,
    mean_order_nats,
)
from tubside.recordings.sound.orders import RATE_HZ, STRENGTHS, order_nats
from tubside.recordings.sound.track import Track
from tubside.recordings.sound.turning import read_spin, rise, steady_stretch


def track(wave: made_sounds.Wave) -> Track:
    """Return a simulated recording at the reader's rate."""
    return Track(resample_poly(wave, 160, 441).astype(np.float32))


@pytest.mark.parametrize("seed", [3, pytest.param(6, marks=pytest.mark.soak)])
def test_a_steady_spin_in_loud_noise(seed: int) -> None:
    """Tests the speed within 1 % where noise has ten times the power of the drum."""
    made = made_spins.made_spin(seed, -10.0)
    told = read_spin(track(made.wave))
    assert told.rpm == pytest.approx(made.rpm.mean(), rel=0.01)
    assert told.rpm is not None
    assert told.interval is not None
    assert told.interval[0] < told.rpm < told.interval[1]
    assert told.probability > 0.9


def test_a_run_up_is_followed() -> None:
    """Tests the plateau within 1 %, the course within 3 %, and the ends of the rise."""
    made = made_spins.made_spin(34, 5.0, "run-up")
    told = read_spin(track(made.wave))
    assert told.rpm == pytest.approx(made.plateau_rpm, rel=0.01)
    assert told.run_up is not None
    assert told.run_up.to_rpm == pytest.approx(made.plateau_rpm, rel=0.02)
    assert told.course is not None
    true = np.interp(told.course.times_s, np.arange(len(made.rpm)) * 0.1, made.rpm)
    assert float(np.median(np.abs(told.course.rpm / true - 1))) < 0.03


@pytest.mark.parametrize("kind", ["quiet", "pulses"])
def test_no_drum_is_no_speed(kind: str) -> None:
    """Tests that noise and a beeper give no speed."""
    told = read_spin(track(made_sounds.made_sound(200, 0.0, kind, most_s=4.0).wave))
    assert told.rpm is None


def test_half_the_speed_is_not_taken() -> None:
    """Tests that half the speed, whose orders hold all the true ones, explains less."""
    t = np.arange(8 * RATE_HZ) / RATE_HZ
    rng = np.random.default_rng(2)
    wave = sum(np.sin(2 * np.pi * 18 * k * t + rng.uniform(0, 7)) for k in range(2, 20))
    found = even_speed((wave + rng.normal(0, 3, t.size)).astype(np.float32), np.zeros(0))
    assert found.turns_hz == pytest.approx(18.0, rel=0.001)
    assert found.probability > 0.99
    assert found.other_hz in (pytest.approx(9.0, rel=0.01), pytest.approx(36.0, rel=0.01))


def test_evidence_is_a_ratio_of_densities() -> None:
    """Tests the evidence for an order against densities of scipy, one look and several."""
    p = np.array([0.2, 1.0, 2.5, 6.0])
    strong = [stats.expon.pdf(p, scale=1 + a) for a in STRENGTHS]
    ratio = np.mean(strong, axis=0) / stats.expon.pdf(p)
    assert order_nats(p) == pytest.approx(np.log(0.3 + 0.7 * ratio))
    looks = 4.0
    means = [stats.gamma.pdf(p, looks, scale=(1 + a) / looks) for a in EVEN_STRENGTHS]
    ratio = np.mean(means, axis=0) / stats.gamma.pdf(p, looks, scale=1 / looks)
    capped = np.minimum(np.log(0.3 + 0.7 * ratio), TALLEST_NATS)
    assert mean_order_nats(p, looks) == pytest.approx(capped)


def test_more_looks_say_more() -> None:
    """Tests that an order at thrice the noise, and an empty place, say more in more looks."""
    places = np.array([3.0, 0.9])
    few, many = mean_order_nats(places, 2.0), mean_order_nats(places, 12.0)
    assert many[0] > few[0] > 0
    assert many[1] < few[1] < 0


def test_the_floor_is_a_quantile() -> None:
    """Tests the quantile of the mean of looks against draws."""
    rng = np.random.default_rng(0)
    draws = rng.exponential(size=(200_000, 5)).mean(axis=1)
    assert low_share(5.0) == pytest.approx(float(np.quantile(draws, 0.3)), rel=0.01)


def test_rise_and_stay() -> None:
    """Tests where a course rises and where it stays."""
    rpm = np.concatenate([np.full(4, 400.0), np.linspace(400, 1000, 13), np.full(8, 1000.0)])
    rpm = np.asarray(rpm, np.float64)
    times = 0.5 * np.arange(len(rpm), dtype=np.float64)
    told = rise(times, rpm)
    assert told is not None
    assert (told.from_rpm, told.to_rpm) == (400.0, 1000.0)
    assert 2.0 <= told.start_s <= 3.0
    assert steady_stretch(rpm) == slice(16, 25)
    assert rise(times, np.full(len(rpm), 800.0)) is None
