"""Tests of damping, swings and sinking."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tubside.errors import OutsideRangeError
from tubside.physics import suspension

RATIOS = st.floats(1e-3, 0.999)


@given(RATIOS)
def test_decrement_and_back(ratio: float) -> None:
    """Tests that the damping ratio comes back from its decrement and from its bounces."""
    delta = suspension.decrement(ratio)
    assert float(suspension.ratio_of_decrement(delta)) == pytest.approx(ratio, rel=1e-9)
    count = suspension.bounce_count(ratio)
    assert float(suspension.ratio_of_bounces(count)) == pytest.approx(ratio, rel=1e-9)


@given(RATIOS, st.floats(0.001, 1.0), st.integers(1, 6))
def test_ratio_from_swings_of_the_closed_motion(ratio: float, first: float, count: int) -> None:
    """Tests that amplitudes read off the motion itself give its damping ratio back."""
    later = first * float(suspension.swing_ratio(ratio)) ** count
    if later / first > 1e-9:
        got = suspension.ratio_of_amplitudes(first, later, float(count))
        assert float(got) == pytest.approx(ratio, rel=1e-6)


@given(st.floats(0.0, 0.99), st.floats(0.001, 0.2))
def test_more_damping_means_fewer_bounces(ratio: float, more: float) -> None:
    """Tests that count, overshoot and next swing fall with damping and vanish at 1."""
    for measure in (suspension.bounce_count, suspension.overshoot, suspension.swing_ratio):
        assert measure(ratio + more) < measure(ratio)
        assert float(measure(1.0)) == 0.0


@pytest.mark.parametrize("ratio", [0.0, 0.05, 0.4, 0.999999, 1.0, 1.000001, 1.7])
def test_released_is_the_solution(ratio: float) -> None:
    """Tests the motion against integration, on both sides of critical damping and at it."""
    times = np.linspace(0.0, 2.0, 41)

    def motion(_: float, y: np.ndarray) -> list[float]:
        return [y[1], -2.0 * ratio * 12.0 * y[1] - 144.0 * y[0]]

    solved = solve_ivp(motion, (0.0, 2.0), [0.05, 0.0], t_eval=times, rtol=1e-10, atol=1e-12)
    ours = suspension.released(times, 0.05, 12.0, ratio)
    assert ours == pytest.approx(solved.y[0], abs=1e-7)


def test_overshoot_is_the_lowest_point_of_the_motion() -> None:
    """Tests that the first swing past the rest is what the motion shows."""
    times = np.linspace(0.0, 1.0, 20001)
    lowest = suspension.released(times, 1.0, 12.0, 0.3).min()
    assert -lowest == pytest.approx(float(suspension.overshoot(0.3)), rel=1e-6)


@given(st.floats(1.0, 60.0), st.floats(0.01, 0.05))
def test_friction_takes_the_energy_of_its_viscous_equal(force: float, swing: float) -> None:
    """Tests that both take the same energy in a cycle at the natural frequency: 4 F X."""
    stiffness, mass = 6000.0, 40.0
    ratio = float(suspension.damping_of_friction(force, stiffness, swing))
    c = ratio * float(suspension.critical_damping(stiffness, mass))
    w = float(suspension.natural_frequency(stiffness, mass))
    assert np.pi * c * w * swing**2 == pytest.approx(4.0 * force * swing, rel=1e-9)


def test_friction_that_holds_has_no_ratio() -> None:
    """Tests that a swing too small for the springs to overcome friction is an error."""
    with pytest.raises(OutsideRangeError, match="friction over spring force"):
        suspension.damping_of_friction(100.0, 6000.0, 0.01)


@given(st.floats(0.01, 1.5), st.floats(0.0, 1.0))
def test_wear_lowers_damping_to_nothing(as_new: float, wear: float) -> None:
    """Tests that wear never raises damping, none leaves it, all of it leaves none."""
    assert 0.0 <= suspension.worn_damping(as_new, wear) <= as_new
    assert float(suspension.worn_damping(as_new, 0.0)) == as_new
    assert float(suspension.worn_damping(as_new, 1.0)) == 0.0


@given(st.floats(1.0, 100.0), st.floats(1000.0, 20000.0))
def test_frequency_from_sinking(mass: float, stiffness: float) -> None:
    """Tests that the sinking under a mass gives the frequency of that mass on the springs."""
    depth = suspension.sink(mass, stiffness)
    assert float(suspension.frequency_of_sink(depth)) == pytest.approx(
        float(suspension.natural_frequency(stiffness, mass)), rel=1e-9
    )


def test_a_growing_swing_is_an_error() -> None:
    """Tests that swings that grow, and bounces that are none, are refused."""
    with pytest.raises(OutsideRangeError, match="later over first swing"):
        suspension.ratio_of_amplitudes(0.4, 0.5)
    with pytest.raises(OutsideRangeError, match="bounces between"):
        suspension.ratio_of_amplitudes(0.5, 0.4, 0.0)


def test_arrays_go_through() -> None:
    """Tests that many machines at once give what each gives alone."""
    ratios = np.array([0.05, 0.3, 1.0, 2.0])
    counts = suspension.bounce_count(ratios)
    assert counts.tolist() == [float(suspension.bounce_count(float(r))) for r in ratios]
    assert suspension.released(0.1, 0.05, 12.0, ratios).shape == (4,)
