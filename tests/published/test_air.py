"""Published values of moist air and ducts."""

from __future__ import annotations

import numpy as np
import pytest

import printed
from tubside.physics import airflow, moist_air, pipes
from tubside.physics.airflow import Air
from tubside.physics.standard import ATMOSPHERE, ICE_POINT


def handbook() -> dict[str, float]:
    """Return what the handbook's tables of moist air and its first example hold."""
    found: dict[str, float] = {}
    for celsius in (5, 25, 50, 100):
        pressure = float(moist_air.saturation_pressure(ICE_POINT + celsius))
        found[f"saturation pressure {celsius} C, Pa"] = pressure
    for celsius in (5, 25, 50):
        held = float(moist_air.saturated_ratio(ICE_POINT + celsius))
        found[f"saturated ratio {celsius} C, kg/kg"] = held
        found[f"saturated enthalpy {celsius} C, kJ/kg"] = (
            float(moist_air.enthalpy(ICE_POINT + celsius, held)) / 1e3
        )
    found["dry enthalpy 25 C, kJ/kg"] = float(moist_air.enthalpy(ICE_POINT + 25.0, 0.0)) / 1e3
    found["dry volume 25 C, m3/kg"] = float(moist_air.volume(ICE_POINT + 25.0, 0.0))
    water = float(moist_air.ratio_by_wet_bulb(313.15, 293.15))
    found["example 1: humidity ratio, kg/kg"] = water
    found["example 1: wet bulb, C"] = float(moist_air.wet_surface(313.15, 0.0065)) - ICE_POINT
    found["example 1: enthalpy, kJ/kg"] = float(moist_air.enthalpy(313.15, water)) / 1e3
    found["example 1: volume, m3/kg"] = float(moist_air.volume(313.15, water))
    vapour = ATMOSPHERE * water / (moist_air.BY_MASS + water)
    found["example 1: relative humidity"] = vapour / float(moist_air.saturation_pressure(313.15))
    return found


def room() -> dict[str, float]:
    """Return vapour and humidity ratio of a room of 25 C, 75 %, 100 kPa."""
    vapour = 0.75 * float(moist_air.saturation_pressure(298.15))
    return {
        "vapour pressure, kPa": vapour / 1e3,
        "humidity ratio, kg/kg": float(moist_air.humidity_ratio(vapour, 100e3)),
    }


def heated() -> dict[str, float]:
    """Return what 1.2 m3/s take from 15 C and 90 % to 50 C."""
    water = float(moist_air.humidity_ratio(0.9 * moist_air.saturation_pressure(288.15)))
    cold, hot = (float(moist_air.enthalpy(ICE_POINT + t, water)) for t in (15.0, 50.0))
    moved = 1.2 / float(moist_air.volume(288.15, water))
    return {
        "humidity ratio, kg/kg": water,
        "enthalpy before, kJ/kg": cold / 1e3,
        "enthalpy after, kJ/kg": hot / 1e3,
        "heat, kW": moved * (hot - cold) / 1e3,
    }


def sheet_duct() -> dict[str, float]:
    """Return a duct of 400 by 200 mm: 7.14 m/s at a hydraulic diameter of 254.5 mm."""
    duct, air = pipes.Pipe(0.2545, 1.0, 0.09e-3), airflow.air_at(293.15)
    number = pipes.reynolds(7.14, 0.2545, air.kinematic)
    return {
        "Reynolds number": float(number),
        "friction factor": float(pipes.friction_factor(number, 0.09e-3 / 0.2545)),
        "velocity pressure, Pa": float(airflow.velocity_pressure(7.14, air.density)),
        "loss, Pa/m": float(airflow.duct_loss(duct, 7.14 * duct.area, air)),
    }


def hair_dryer() -> dict[str, float]:
    """Return flow and speed of 900 W from 25 to 50 C at 100 kPa through 60 cm2."""
    moved = 900.0 / (25.0 * float(moist_air.heat_capacity(0.0)))
    before, after = (float(moist_air.volume(t, 0.0, 100e3)) for t in (298.15, 323.15))
    return {
        "flow at the inlet, m3/s": moved * before,
        "speed at the exit, m/s": moved * after / 6e-3,
    }


def white_air() -> dict[str, float]:
    """Return density and viscosity of air at 20 C."""
    air: Air = airflow.air_at(293.15)
    return {
        "density 20 C, kg/m3": float(np.asarray(air.density)),
        "viscosity 20 C, 1e-5 Pa s": float(np.asarray(air.viscosity)) * 1e5,
        "kinematic viscosity 20 C, 1e-5 m2/s": float(air.kinematic) * 1e5,
    }


def code_bend() -> dict[str, float]:
    """Return the length, in feet, for which our bend counts in a duct of 4 in."""
    length = airflow.equivalent_length(airflow.BEND, 0.1016, 0.022)
    return {"bend of 90 degrees, ft": float(length) / 0.3048}


OURS: dict[str, dict[str, float]] = {
    "ashrae_moist_air": handbook(),
    "cengel_room_air": room(),
    "school_air_heating": heated(),
    "ashrae_duct_sheet": sheet_duct(),
    "cengel_hair_dryer": hair_dryer(),
    "white_air": white_air(),
    "irc_dryer_duct": code_bend(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("table", OURS)
def test_every_value_is_listed(table: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(table)} == set(OURS[table])
