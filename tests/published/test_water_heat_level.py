"""Published values of water, heat and level."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

import printed
from tubside.physics import (
    drain,
    filling,
    heater,
    hot_supply,
    level,
    mixing,
    pipes,
    plumbing_rules,
    restrictions,
    water,
)
from tubside.physics.standard import ICE_POINT, STANDARD_GRAVITY

MOLE = 18.015268e-3  # kg, molar mass of water in the tables' source
KELVINS = (280, 300, 320, 340, 360)


def of_the_release() -> dict[str, float]:
    """Return the check values of the release from which our formulas come, at 298.15 K."""
    return {
        "density, kg/m3": float(water.density(298.15)),
        "heat capacity, kJ/(kg K)": float(water.heat_capacity(298.15)) / 1e3,
        "enthalpy, kJ/kg": float(water.enthalpy(298.15)) / 1e3,
        "viscosity, uPa s": float(water.viscosity(298.15)) * 1e6,
    }


def saturated() -> dict[str, float]:
    """Return properties of the saturated liquid by the mole, as a handbook prints them."""
    found: dict[str, float] = {}
    for kelvin in KELVINS:
        found[f"density {kelvin} K, mol/dm3"] = float(water.density(kelvin)) / MOLE / 1e3
        found[f"cp {kelvin} K, kJ/(mol K)"] = float(water.heat_capacity(kelvin)) * MOLE / 1e3
        found[f"viscosity {kelvin} K, uPa s"] = float(water.viscosity(kelvin)) * 1e6
    for low, high in pairwise(KELVINS):
        heat = float(water.enthalpy(high) - water.enthalpy(low))
        found[f"heat {low} to {high} K, kJ/mol"] = heat * MOLE / 1e3
    return found


def oil_pipe() -> dict[str, float]:
    """Return White's oil in 500 m of cast iron, 0.2 m3/s, falling at 10 degrees."""
    pipe = pipes.Pipe(bore=0.2, length=500.0, roughness=0.26e-3)
    speed = 0.2 / pipe.area
    number = pipes.reynolds(speed, 0.2, 1e-5)
    loss = float(pipes.head_loss(pipe, speed, 1e-5))
    fall = 500.0 * np.sin(np.radians(10.0))
    return {
        "velocity, m/s": float(speed),
        "Reynolds number": float(number),
        "friction factor": float(pipes.friction_factor(number, 0.0013)),
        "head loss, m": loss,
        "pressure drop, kPa": float(900.0 * STANDARD_GRAVITY * (loss - fall)) / 1e3,
    }


def dead_legs() -> dict[str, float]:
    """Return litres a metre of two tubes (EN 1057 walls), and the metres that hold 4 L."""
    found: dict[str, float] = {}
    for size, bore in ((15, 0.0136), (22, 0.0202)):
        found[f"{size} mm, L/m"] = float(hot_supply.dead_leg(bore, 1.0)) * 1e3
        found[f"{size} mm, m of 4 L"] = float(hot_supply.pipe_length(4e-3, bore))
    return found


def tank() -> float:
    """Return seconds to drain a tank 4 ft wide from 6 to 2 ft through a nozzle of 5 in2.

    The formula of the drain with no pump, no friction and one velocity head lost.
    """
    foot, inch = 0.3048, 0.0254
    nozzle = pipes.Pipe(bore=np.sqrt(4 * 5 * inch**2 / np.pi), length=0.0)
    tub = drain.Emptying(
        pump=drain.DrainPump(head=0.0, flow=1.0),
        area=np.pi / 4 * (4 * foot) ** 2,
        end_height=0.0,
        line=drain.DrainLine(nozzle, ends=1.0),
    )
    return float(drain.drain_time(tub, 6 * foot, 2 * foot))


def shower() -> float:
    """Return the ratio of hot to cold mass that mixes 140 F and 50 F to 110 F."""
    kelvin = [(fahrenheit - 32) / 1.8 + ICE_POINT for fahrenheit in (110, 140, 50)]
    share = float(mixing.hot_share(*kelvin))
    return share / (1 - share)


def standpipes() -> dict[str, float]:
    """Return the heights of a laundry standpipe in the Uniform Plumbing Code, in mm."""
    pipe = next(r for r in plumbing_rules.RULES if r.source == plumbing_rules.UPC)
    trap = next(r for r in plumbing_rules.RULES if r.subject == plumbing_rules.TRAP)
    names = ("standpipe from", "standpipe to", "trap from", "trap to")
    heights = (pipe.low, pipe.high, trap.low, trap.high)
    return {name: 1e3 * (height or 0.0) for name, height in zip(names, heights, strict=True)}


def pump_laws() -> dict[str, float]:
    """Return flow, head and power at twice the speed."""
    found = drain.at_other_speed(400.0, 48.0, 45.0, 3600 / 1800)
    return dict(zip(("flow, gpm", "head, ft", "power, kW"), map(float, found), strict=True))


def air_bell() -> dict[str, float]:
    """Return rise and pressure in the bell of 20 cm2 by 60 mm with a tube of 10 cm3."""
    bell = level.Bell(area=20e-4, height=0.060, hose_volume=10e-6)
    found: dict[str, float] = {}
    for head in (100, 200, 300):
        found[f"air bell rise at {head} mm, mm"] = float(level.bell_rise(head / 1e3, bell)) * 1e3
        found[f"air bell pressure at {head} mm, Pa"] = float(level.bell_pressure(head / 1e3, bell))
    return found


def heating() -> dict[str, float]:
    """Return heat, minutes and kilowatt hours to warm 15 L from 15 to 60 C with 2 kW."""
    heat = float(mixing.heat_to_warm(15e-3, 288.15, 333.15))
    bath = heater.Bath(capacity=heat / 45.0, loss=0.0, room=293.15)
    minutes = float(heater.heating_time(bath, 2000.0, 288.15, 333.15)) / 60.0
    return {
        "heat of 15 L by 45 K, kJ": heat / 1e3,
        "minutes of 15 L by 45 K at 2 kW": minutes,
        "energy of 15 L by 45 K, kWh": heat / 3.6e6,
    }


def worked_out() -> dict[str, float]:
    """Return values that were worked out beforehand by a plain rule."""
    mixed = float(mixing.mixed_temperature(6e-3, 333.15, 9e-3, 288.15))
    warm = float(level.water_pressure(0.2, float(water.density(313.15))))
    return {
        "Kv of 1 m3/h at 1 bar": float(restrictions.kv_of(1 / 3600, 1e5)),
        "Cv of Kv 1": float(restrictions.kv_to_cv(1.0)),
        "6 L at 60 C and 9 L at 15 C, C": mixed - ICE_POINT,
        "pressure of 100 mm water of 1000 kg/m3, Pa": float(level.water_pressure(0.1, 1000.0)),
        "pressure of 200 mm water at 40 C, Pa": warm,
        "orifice 5 mm at 300 kPa, L/min": float(restrictions.orifice_flow(300e3, 0.005)) * 60e3,
        "bucket 10 L in 40 s, L/min": float(filling.bucket_flow(0.010, 40.0)) * 60e3,
        "siphon 0.5 m, m/s": float(drain.siphon_speed(0.5)),
        "head of 500 kPa, m": float(plumbing_rules.head_of_pressure(500e3)),
        **air_bell(),
        **heating(),
    }


def long_siphon() -> float:
    """Return litres a second of a siphon 5 km long, 0.1 m wide, f 0.02, 5 m of drop."""
    area = float(pipes.Pipe(bore=0.1, length=5000.0).area)
    return float(drain.siphon_speed(5.0, loss=0.02 * 5000.0 / 0.1)) * area * 1e3


OURS: dict[str, dict[str, float]] = {
    "iapws_sr6_08": of_the_release(),
    "iapws_r12_08": {"viscosity 298.15 K, uPa s": float(water.viscosity(298.15)) * 1e6},
    "perry_2_135": saturated(),
    "white_fluid_mechanics": oil_pipe(),
    "hamill": {"velocity, m/s": float(pipes.velocity_of_slope(1 / 250, 1.2, 0.6e-3, 1.005e-6))},
    "iec_60534_2_1": {"Kv, m3/h": float(restrictions.kv_of(0.1, 460e3, 965.4))},
    "doe_hdbk_1012": pump_laws(),
    "plumbing_africa_2017": dead_legs(),
    "fe_tank": {"seconds": tank()},
    "serway_siphon": {"speed, m/s": float(drain.siphon_speed(1.0))},
    "gate_2019_siphon": {"flow, L/s": long_siphon()},
    "cengel_shower": {"hot by cold": shower()},
    "uniform_plumbing_code": standpipes(),
    "worked_out_water": worked_out(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("table", OURS)
def test_every_value_is_listed(table: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(table)} == set(OURS[table])
