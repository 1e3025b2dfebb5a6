"""Tests of the flow into a machine."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import inlet, pipes, restrictions, water
from tubside.physics.inlet import Openings

PARTS = [field.name for field in fields(Openings)]
AT_HOSE = ["tap", "hose"]
shares = st.floats(0.02, 1.0)
openings = st.builds(Openings, shares, shares, shares, shares)
pressures = st.floats(0.0, 1.6e6)
FREE = 1.0  # m3/s: a regulator that never holds


@settings(deadline=None)
@given(openings, pressures, pressures)
def test_more_pressure_more_flow(there: Openings, one: float, two: float) -> None:
    """Tests that flow rises with pressure, in the tub and at the hose's end."""
    low, high = sorted((one, two))
    assert inlet.inlet_flow(low, FREE, there) <= inlet.inlet_flow(high, FREE, there) * (1 + 1e-4)
    assert inlet.hose_end_flow(low, there) <= inlet.hose_end_flow(high, there) * (1 + 1e-4)


@settings(deadline=None)
@given(openings, st.sampled_from(PARTS), shares)
def test_each_part_can_only_take_away(there: Openings, part: str, share: float) -> None:
    """Tests that shutting any part further never raises the flow."""
    narrower = replace(there, **{part: share * getattr(there, part)})
    less, more = inlet.inlet_flow(3e5, FREE, narrower), inlet.inlet_flow(3e5, FREE, there)
    assert less <= more * (1 + 1e-4)


@pytest.mark.parametrize("part", PARTS)
def test_a_shut_part_stops_the_flow(part: str) -> None:
    """Tests that one shut part alone stops the whole line, whatever the pressure."""
    assert float(inlet.inlet_flow(1.6e6, FREE, Openings(**{part: 0.0}))) == 0.0


def test_the_bucket_does_not_see_screen_and_valve() -> None:
    """Tests that the hose's end tells tap and hose from screen and valve."""
    whole = float(inlet.hose_end_flow(3e5))
    assert float(inlet.hose_end_flow(3e5, Openings(screen=0.0, valve=0.0))) == whole
    for part in AT_HOSE:
        assert float(inlet.hose_end_flow(3e5, Openings(**{part: 0.1}))) < 0.8 * whole


@settings(deadline=None)
@given(openings, pressures, st.floats(1e-5, 1e-3))
def test_regulator_only_holds_back(there: Openings, pressure: float, held: float) -> None:
    """Tests that a regulator is the lesser of what it holds and what the line passes."""
    free = float(inlet.inlet_flow(pressure, FREE, there))
    assert float(inlet.inlet_flow(pressure, held, there)) == min(free, held)


@settings(deadline=None)
@given(openings, st.floats(1e4, 1e6))
def test_pressures_add_up(there: Openings, pressure: float) -> None:
    """Tests that what the parts lose at the flow is the pressure of the supply.

    Friction is settled in four steps; where it wavers between laminar and turbulent these
    leave 1 %.
    """
    line, rho = inlet.USUAL_LINE, float(water.density(inlet.COLD))
    thin = float(water.viscosity(inlet.COLD)) / rho
    flow = inlet.inlet_flow(pressure, FREE, there)
    lost = restrictions.kv_resistance(there.tap * line.tap_kv, rho)
    lost = lost + restrictions.kv_resistance(there.valve * line.valve_kv, rho)
    bends = restrictions.narrowing_loss(there.hose) + line.bends
    lost = lost + restrictions.loss_resistance(bends, line.hose.area, rho)
    screen = restrictions.screen_loss(there.screen * line.screen_open)
    seat = pipes.Pipe(line.screen_bore, 0.0).area
    lost = lost + restrictions.loss_resistance(screen, seat, rho)
    for pipe in (line.pipe, line.hose):
        friction = pipes.pipe_factor(pipe, flow / pipe.area, thin)
        lost = lost + restrictions.loss_resistance(friction, pipe.area, rho)
    assert float(lost * flow**2) == pytest.approx(pressure, rel=0.01)


def test_height_takes_pressure() -> None:
    """Tests that ten metres higher have the flow of some 98 kPa less, and too high has none."""
    lower = 98.03e3  # of 9.997 m of water at 12 C
    assert float(inlet.hose_end_flow(3e5, rise=10.0)) == pytest.approx(
        float(inlet.hose_end_flow(3e5 - lower)), rel=1e-3
    )
    assert float(inlet.hose_end_flow(5e4, rise=10.0)) == 0.0


def test_many_machines_at_once() -> None:
    """Tests that an array of lines gives what each line gives alone."""
    pressure = np.array([0.0, 1e5, 3e5])
    screens = np.array([0.0, 0.05, 1.0])
    together = inlet.inlet_flow(pressure, np.array([1e-4, 1e-4, 1e-4]), Openings(screen=screens))
    alone = [
        float(inlet.inlet_flow(p, 1e-4, Openings(screen=s)))
        for p, s in zip(pressure.tolist(), screens.tolist(), strict=True)
    ]
    assert together == pytest.approx(alone, rel=1e-12)


def test_what_cannot_be_is_refused() -> None:
    """Tests that a tap more than open and a supply beyond any house are refused."""
    with pytest.raises(OutsideRangeError, match="tap"):
        inlet.hose_end_flow(3e5, Openings(tap=1.5))
    with pytest.raises(OutsideRangeError, match="pressure"):
        inlet.inlet_flow(5e6, 1e-4)
