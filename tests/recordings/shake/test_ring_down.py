"""Bounces and damping from logs, by a second simulator, by scipy, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import curve_fit

from made_shakes import Phone, Tub, pushed, run_up
from tubside.physics.suspension import bounce_count, ratio_of_amplitudes
from tubside.recordings.shake.answering import Answer, read_shake
from tubside.recordings.shake.damped import Window, fit
from tubside.recordings.shake.log_file import parse_log
from tubside.recordings.shake.ring_down import swings_left

CLEAR = Phone(snr_db=30.0)


def read(log: object) -> Answer:
    """Read a made log through its file."""
    return read_shake(parse_log(log.csv()))  # type: ignore[attr-defined]  # a made log


@pytest.mark.parametrize("ratio", [0.03, 0.1, 0.2])
def test_a_push_is_read(ratio: float) -> None:
    """Tests damping, frequency and count of a stepped tub, each within its interval."""
    told = read(pushed(np.random.default_rng(3), Tub(2.7, ratio), CLEAR))
    assert told.flags == []
    assert told.interval is not None
    for name, true in (("damping_ratio", ratio), ("frequency_hz", 2.7)):
        low, high = told.interval[name]
        assert low * 0.98 <= true <= high * 1.02
    assert told.damping_ratio == pytest.approx(ratio, rel=0.08)
    assert told.bounce_count == pytest.approx(float(bounce_count(told.damping_ratio or 1.0)))


def test_the_fit_is_that_of_scipy() -> None:
    """Tests parameters and deviations against scipy's curve_fit on the same samples."""
    rng = np.random.default_rng(11)
    t = np.sort(rng.uniform(0.0, 4.0, 300))

    def swing(t: np.ndarray, omega: float, sigma: float, *rest: float) -> np.ndarray:
        a, b, c, d = rest
        size = np.exp(-sigma * t)
        wave = a * np.cos(omega * t) + b * np.sin(omega * t)
        return np.asarray(size * wave + c + d * (t - t.mean()))

    y = swing(t, 16.0, 1.2, 2.0, -1.0, 0.3, 0.05) + rng.normal(0.0, 0.2, len(t))
    best, covariance = curve_fit(swing, t, y, [15.0, 1.0, 1.0, 0.0, 0.0, 0.0])
    found = fit(Window(t, y[:, None]), [np.log([15.0, 1.0])])
    assert found is not None
    assert np.exp(found.logs) == pytest.approx(best[:2], rel=1e-4)
    spread = np.sqrt(np.diag(covariance)[:2]) / best[:2]
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(spread, rel=0.25)


def test_published_swings_come_out_of_the_fit() -> None:
    """Tests amplitudes 0.85 and 0.45, one bounce apart: decrement 0.64, ratio 0.101.

    (AER 403, lecture example 8.4, first line; half the last printed digit.)
    """
    ratio = float(ratio_of_amplitudes(0.85, 0.45))
    omega = 2.0 * np.pi * 2.0
    t = np.arange(0.0, 4.0, 0.01)
    y = 0.85 * np.exp(-ratio * omega * t) * np.cos(omega * np.sqrt(1.0 - ratio**2) * t)
    found = fit(Window(t, y[:, None]), [np.log([12.0, 1.0])])
    assert found is not None
    turn, sigma, _ = found.rates()
    assert 2.0 * np.pi * sigma / turn == pytest.approx(0.64, abs=0.005)
    assert sigma / np.hypot(turn, sigma) == pytest.approx(0.101, abs=0.0005)
    assert swings_left(turn, sigma) == pytest.approx(float(bounce_count(ratio)), rel=1e-6)


def test_friction_second_swing_and_rails_are_flagged() -> None:
    """Tests a flag for each, on clear logs."""
    phone = replace(CLEAR, rate_hz=150.0)
    rough = read(pushed(np.random.default_rng(1), Tub(3.0, 0.02, friction=0.04), phone))
    assert "friction" in rough.flags
    two = read(pushed(np.random.default_rng(2), Tub(3.0, 0.05), phone, Tub(4.6, 0.04), 0.5))
    assert "two modes" in two.flags
    assert two.second is not None
    assert two.second.frequency_hz == pytest.approx(4.6, rel=0.03)
    railed = read(pushed(np.random.default_rng(4), Tub(4.0, 0.06), replace(phone, range_ms2=15.0)))
    assert "clipping" in railed.flags
    assert railed.damping_ratio == pytest.approx(0.06, rel=0.15)


@pytest.mark.parametrize("seed", range(4))
def test_no_push_is_no_ring_down(seed: int) -> None:
    """Tests that noise alone counts nothing."""
    rng = np.random.default_rng(seed)
    log = pushed(rng, Tub(3.0, 0.1), CLEAR)
    noise = replace(log, axes=rng.normal([0.0, 0.0, 9.8], 0.05, log.axes.shape))
    told = read(noise)
    assert told.flags == ["no ring-down here"]
    assert told.bounces is None


def test_a_run_up_tells_speed_and_resonance() -> None:
    """Tests end speed, resonance and order of an even run-up to 600 rpm."""
    tub = Tub(4.2, 0.1, runs_up_s=15.0, top_hz=10.0)
    told = read(run_up(np.random.default_rng(6), tub, CLEAR)).run_up
    assert told is not None
    assert told.end_rpm == pytest.approx(600.0, rel=0.01)
    assert told.resonance_hz == pytest.approx(4.2, rel=0.06)
    assert told.first_order > 0.95


def test_a_low_resonance_is_told_under_a_fast_spin() -> None:
    """Tests a resonance at a quarter of the last speed, where the unbalance shakes far less."""
    tub = Tub(2.6, 0.1, runs_up_s=15.0, top_hz=10.0)
    told = read(run_up(np.random.default_rng(6), tub, CLEAR)).run_up
    assert told is not None
    assert told.resonance_hz == pytest.approx(2.6, rel=0.06)
