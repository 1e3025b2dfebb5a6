"""Tests of pull, unbalance, swinging and slipping."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import wofz

from tubside.errors import OutsideRangeError
from tubside.physics import spin

DAMPINGS = st.floats(0.01, 1.5)


@given(st.floats(0.0, 150.0), st.floats(0.05, 0.4), st.floats(0.0, 3.0))
def test_force_is_mass_times_pull(speed: float, radius: float, mass: float) -> None:
    """Tests that the unbalance weighs its mass times the multiples of gravity."""
    weight = mass * 9.80665 * float(spin.g_force(speed, radius))
    assert float(spin.unbalance_force(mass, radius, speed)) == pytest.approx(weight)


@given(st.floats(1e-3, 0.1), st.floats(1.0, 60.0), st.floats(10.0, 150.0))
def test_grade_is_offset_times_speed(grade: float, mass: float, speed: float) -> None:
    """Tests that the unbalance allowed puts the middle of mass off by grade over speed."""
    allowed = float(spin.permissible_unbalance(grade, mass, speed))
    assert allowed / mass * speed == pytest.approx(grade)


@given(DAMPINGS)
def test_far_above_resonance_the_swing_is_the_offset(damping: float) -> None:
    """Tests the limits: no swing at rest, U / m far above resonance."""
    assert float(spin.amplitude(0.1, 40.0, 0.0, damping)) == 0.0
    assert float(spin.amplitude(0.1, 40.0, 1e4, damping)) == pytest.approx(0.0025, rel=1e-6)


@given(DAMPINGS, st.floats(0.05, 20.0))
def test_swing_solves_the_equation_of_motion(damping: float, ratio: float) -> None:
    """Tests the amplitude against the complex balance of forces, and force on the floor too."""
    mass, stiffness, unbalance = 40.0, 6000.0, 0.1
    wn = np.sqrt(stiffness / mass)
    w, c = ratio * wn, 2.0 * damping * np.sqrt(stiffness * mass)
    swing = unbalance * w**2 / (stiffness - mass * w**2 + 1j * c * w)
    ours = spin.amplitude(unbalance, mass, ratio, damping)
    assert float(ours) == pytest.approx(abs(swing), rel=1e-9)
    floor = abs((stiffness + 1j * c * w) * swing)
    assert float(spin.floor_force(ours, stiffness, ratio, damping)) == pytest.approx(floor)
    passed_on = float(spin.transmissibility(ratio, damping)) * unbalance * w**2
    assert passed_on == pytest.approx(floor, rel=1e-9)


@given(DAMPINGS, DAMPINGS)
def test_transmissibility_crosses_at_root_two(damping: float, other: float) -> None:
    """Tests that damping does not matter at r = sqrt 2, helps below it and harms above it."""
    assert float(spin.transmissibility(np.sqrt(2.0), damping)) == pytest.approx(1.0, abs=1e-12)
    low, high = sorted((damping, other))
    if high - low > 1e-3:
        assert spin.transmissibility(1.0, high) < spin.transmissibility(1.0, low)
        assert spin.transmissibility(3.0, high) > spin.transmissibility(3.0, low)


def largest_of_full_motion(damping: float, haste: float) -> float:
    """Return the largest swing of the full equation, spun up evenly from rest."""
    unbalance, mass, wn = 0.1, 40.0, 12.0
    gain = (haste * wn) ** 2

    def motion(t: float, y: np.ndarray) -> list[float]:
        angle, speed = 0.5 * gain * t**2, gain * t
        force = unbalance * (speed**2 * np.sin(angle) - gain * np.cos(angle))
        return [y[1], force / mass - 2.0 * damping * wn * y[1] - wn**2 * y[0]]

    end = 3.5 * wn / gain
    solved = solve_ivp(motion, (0.0, end), [0.0, 0.0], rtol=1e-6, atol=1e-9, max_step=0.03)
    return float(np.abs(solved.y[0]).max())


@pytest.mark.parametrize(
    ("damping", "haste"), list(product((0.02, 0.1, 0.3, 0.6), (0.1, 0.2, 0.3)))
)
def test_passage_against_the_full_motion(damping: float, haste: float) -> None:
    """Tests that the closed form is within the 10 % that its docstring promises."""
    ours = float(spin.passage_amplitude(0.1, 40.0, 12.0, damping, (haste * 12.0) ** 2))
    assert ours == pytest.approx(largest_of_full_motion(damping, haste), rel=0.10)


@pytest.mark.parametrize("damped", np.geomspace(0.001, 30.0, 40).tolist())
def test_passage_shape_against_the_faddeeva_function(damped: float) -> None:
    """Tests the table, and the places between, against the integral in closed form."""
    late = np.linspace(-3.0, 12.0, 60001)
    root = np.exp(-0.25j * np.pi) / np.sqrt(2.0)
    swing = 0.5 * np.sqrt(np.pi) / root * wofz(0.5j * (damped + 1j * late) / root)
    assert float(spin.passage_shape(damped)) == pytest.approx(np.abs(swing).max(), rel=7e-3)


def test_passage_table_is_the_integral() -> None:
    """Tests every entry of the table to its last digit but one."""
    late = np.linspace(-3.0, 12.0, 60001)
    root = np.exp(-0.25j * np.pi) / np.sqrt(2.0)
    for damped, peak in zip(spin._PASSAGE_G, spin._PASSAGE_PEAK, strict=True):
        swing = 0.5 * np.sqrt(np.pi) / root * wofz(0.5j * (damped + 1j * late) / root)
        assert peak == pytest.approx(np.abs(swing).max(), abs=1e-4)


@given(st.floats(0.01, 1.5), st.floats(0.0, 0.5), st.floats(0.05, 10.0), st.floats(0.0, 5.0))
def test_passage_falls_with_damping_and_haste(
    damping: float, more: float, gain: float, faster: float
) -> None:
    """Tests that neither more damping nor a faster run up makes the passage much worse.

    The correction for a fast passage may rise by the 6 % it is worth at most here.
    """
    swing = spin.passage_amplitude(0.1, 40.0, 12.0, damping, gain)
    assert spin.passage_amplitude(0.1, 40.0, 12.0, damping + more, gain) <= swing * 1.06
    assert spin.passage_amplitude(0.1, 40.0, 12.0, damping, gain + faster) <= swing * 1.20
    assert swing >= 0.1 / 40.0


@given(st.floats(0.01, 0.1), DAMPINGS)
def test_trip_is_where_the_swing_reaches_the_limit(limit: float, damping: float) -> None:
    """Tests that the unbalance that trips makes just the swing that trips."""
    unbalance = spin.trip_unbalance(limit, 40.0, 12.0, damping, 1.5)
    swing = spin.passage_amplitude(unbalance, 40.0, 12.0, damping, 1.5)
    assert float(swing) == pytest.approx(limit, rel=1e-9)


@given(st.floats(0.01, 1.0), st.floats(0.05, 1.0))
def test_turning_comes_before_sliding(arm: float, friction: float) -> None:
    """Tests that a force beside the middle of the feet slips them sooner than one through it.

    E. Papadopoulos & G. Papadimitriou, AIM 2001 (abstract read): walking starts by turning.
    """
    assert spin.slip_force(700.0, friction, arm) < spin.slip_force(700.0, friction)


def test_slip_of_a_lying_axis_is_the_worst_angle() -> None:
    """Tests the closed form against every angle of a full turn."""
    angles = np.linspace(0.0, 2.0 * np.pi, 100001)
    force = 0.4 * 700.0 / (np.cos(angles) + 0.4 * np.sin(angles))
    assert float(spin.slip_force_lying(700.0, 0.4)) == pytest.approx(force[force > 0.0].min())


@pytest.mark.parametrize("speed", [-1.0, 400.0, float("nan")])
def test_no_basket_turns_so(speed: float) -> None:
    """Tests that speeds which no basket has are errors."""
    with pytest.raises(OutsideRangeError, match="speed"):
        spin.g_force(speed, 0.25)


def test_arrays_go_through() -> None:
    """Tests that many machines at once give what each gives alone."""
    dampings = np.array([0.02, 0.2, 0.9])
    together = spin.passage_amplitude(0.1, 40.0, 12.0, dampings, 1.5)
    alone = [float(spin.passage_amplitude(0.1, 40.0, 12.0, float(z), 1.5)) for z in dampings]
    assert together.tolist() == alone
