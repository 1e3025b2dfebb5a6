"""Tests of moist air and ducts against the libraries CoolProp and fluids."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tubside.physics import airflow, moist_air, pipes
from tubside.physics.standard import ATMOSPHERE

KELVINS = np.linspace(278.15, 338.15, 9)


@pytest.fixture(scope="module")
def humid() -> Any:
    """Return CoolProp's moist air by name."""
    return pytest.importorskip("CoolProp.HumidAirProp").HAPropsSI


@pytest.fixture(scope="module")
def fluids() -> Any:
    """Return fluids."""
    return pytest.importorskip("fluids")


def test_coolprop_counts_right(humid: Any) -> None:
    """Tests the oracle by the handbook's saturated air of 25 C: 0.020173 kg/kg."""
    assert humid("W", "T", 298.15, "P", ATMOSPHERE, "R", 1.0) == pytest.approx(0.020173, rel=1e-3)


def test_saturated_air(humid: Any) -> None:
    """Tests what air can hold, ideal against real: 1 % below 65 C."""
    theirs = [humid("W", "T", t, "P", ATMOSPHERE, "R", 1.0) for t in KELVINS]
    assert moist_air.saturated_ratio(KELVINS) == pytest.approx(theirs, rel=1e-2)


@pytest.mark.parametrize("ratio", [0.0, 0.004, 0.03])
def test_volume_heat_and_viscosity(humid: Any, ratio: float) -> None:
    """Tests volume within 0.2 %, heat between temperatures within 0.5 %, viscosity within 3 %."""
    kelvins = KELVINS[4:]
    volume, heat, viscosity = (
        np.array([humid(name, "T", t, "P", ATMOSPHERE, "W", ratio) for t in kelvins])
        for name in ("Vda", "Hda", "mu")
    )
    assert moist_air.volume(kelvins, ratio) == pytest.approx(volume, rel=2e-3)
    ours = moist_air.enthalpy(kelvins, ratio)
    assert ours[1:] - ours[0] == pytest.approx(heat[1:] - heat[0], rel=5e-3)
    assert moist_air.viscosity(kelvins) == pytest.approx(viscosity, rel=3e-2)


@pytest.mark.parametrize("ratio", [0.002, 0.007])
def test_wet_bulb(humid: Any, ratio: float) -> None:
    """Tests the wet surface against the wet bulb of real gases: 0.1 K from 15 to 140 C."""
    kelvins = np.linspace(288.15, 413.15, 8)
    theirs = [humid("Twb", "T", t, "P", ATMOSPHERE, "W", ratio) for t in kelvins]
    assert moist_air.wet_surface(kelvins, ratio) == pytest.approx(theirs, abs=0.1)


def test_duct(fluids: Any) -> None:
    """Tests the loss of a duct with a bend and its exit against fluids, to 1e-6."""
    air = airflow.air_at(318.15)
    duct, flow = pipes.Pipe(0.1, 4.0, airflow.SMOOTH), 0.055
    speed = flow / float(duct.area)
    number = fluids.Reynolds(V=speed, D=0.1, rho=float(air.density), mu=float(air.viscosity))
    factor = fluids.friction_factor(Re=number, eD=airflow.SMOOTH / 0.1, Method="Clamond")
    heads = fluids.K_from_f(fd=factor, L=4.0, D=0.1) + airflow.BEND + airflow.EXIT
    theirs = fluids.dP_from_K(heads, rho=float(air.density), V=speed)
    ours = airflow.duct_loss(duct, flow, air, airflow.BEND + airflow.EXIT)
    assert float(ours) == pytest.approx(theirs, rel=1e-6)
