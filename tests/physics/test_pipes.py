"""Tests of friction in pipes."""

from __future__ import annotations

from math import log10, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import pipes

NU = 1.0e-6
roughness = st.floats(0.0, 0.049)


def colebrook_error(number: float, rough: float) -> float:
    """Return by how much Colebrook's equation is off at our factor."""
    root = 1.0 / sqrt(float(pipes.friction_factor(number, rough)))
    return abs(root + 2.0 * log10(rough / 3.7 + 2.51 * root / number))


@settings(deadline=None)
@given(st.floats(4000.0, 1e8), roughness)
def test_equation_holds(number: float, rough: float) -> None:
    """Tests that the factor solves Colebrook's equation to 1e-9."""
    assert colebrook_error(number, rough) < 1e-9


@settings(deadline=None)
@given(st.floats(1.0, 2000.0), roughness)
def test_laminar_flow_knows_no_wall(number: float, rough: float) -> None:
    """Tests that slow flow has 64/Re whatever the wall."""
    assert float(pipes.friction_factor(number, rough)) == pytest.approx(64.0 / number)


@settings(deadline=None)
@given(st.floats(1e-6, 20.0), st.floats(1e-6, 20.0), st.floats(1e-3, 0.05), roughness)
def test_more_flow_loses_more(one: float, two: float, bore: float, rough: float) -> None:
    """Tests that head lost rises with speed, also through the unsettled range."""
    pipe = pipes.Pipe(bore, 3.0, rough * bore)
    low, high = sorted((one, two))
    assert pipes.head_loss(pipe, low, NU) <= pipes.head_loss(pipe, high, NU) * (1 + 1e-12)


@settings(deadline=None)
@given(st.floats(4000.0, 1e7), roughness, roughness)
def test_rougher_loses_more(number: float, one: float, two: float) -> None:
    """Tests that a rougher wall has the larger factor."""
    low, high = sorted((one, two))
    assert pipes.friction_factor(number, low) <= pipes.friction_factor(number, high) * (1 + 1e-12)


@settings(deadline=None)
@given(st.floats(1e-4, 5.0), st.floats(0.01, 1.0), st.floats(0.0, 0.02))
def test_slope_and_loss_agree(slope: float, bore: float, rough: float) -> None:
    """Tests that a pipe at the velocity of a slope loses just that slope."""
    try:
        speed = pipes.velocity_of_slope(slope, bore, rough * bore, NU)
    except OutsideRangeError:
        return
    lost = pipes.head_loss(pipes.Pipe(bore, 1.0, rough * bore), speed, NU)
    assert float(lost) == pytest.approx(slope, rel=1e-8)


def test_slow_slope_is_refused() -> None:
    """Tests that a slope whose flow is not turbulent is refused."""
    with pytest.raises(OutsideRangeError, match="Reynolds"):
        pipes.velocity_of_slope(1e-6, 0.010, 0.0, NU)


def test_impossible_walls_are_refused() -> None:
    """Tests that a wall rougher than 5 % of the bore is refused."""
    with pytest.raises(OutsideRangeError, match="roughness"):
        pipes.friction_factor(1e5, 0.2)


def test_standing_water_loses_nothing() -> None:
    """Tests that no flow loses no head."""
    assert float(pipes.head_loss(pipes.Pipe(0.01, 1.5), 0.0, NU)) == 0.0


@pytest.mark.parametrize("bore", [0.0, -0.01, 20.0])
def test_no_such_pipe(bore: float) -> None:
    """Tests that a pipe without bore, or wider than any, is refused, and so is a dry liquid."""
    with pytest.raises(OutsideRangeError, match="bore"):
        pipes.reynolds(1.0, bore, NU)
    with pytest.raises(OutsideRangeError, match="bore"):
        pipes.velocity_of_slope(0.1, bore, 0.0, NU)
    with pytest.raises(OutsideRangeError, match="viscosity"):
        pipes.reynolds(1.0, 0.01, 0.0)
