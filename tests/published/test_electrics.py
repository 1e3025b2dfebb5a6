"""Published values of copper, coils, sensors, capacitors, insulation and mains."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

import printed
from tubside.physics.electrics import (
    capacitor,
    coil,
    copper,
    heater,
    insulation,
    mains,
    thermistor,
)

ICE = 273.15
ROOM = ICE + 20.0
BEAD = np.array([0.001129148, 0.000234125, 8.76741e-8])
FORUM = np.array([1.009249522e-3, 2.378405444e-4, 2.019202697e-7])
PLATINUM = (-200, -100, 0, 20, 40, 60, 80, 100, 200, 400)
CABLE_FACTORS = (5, *range(10, 101, 10))


def conductors() -> dict[str, float]:
    """Return resistances of leads and the factors of the cable table."""
    wires = {
        f"{area:g} mm2, mohm/m": 0.5e3 * float(mains.lead_resistance(1.0, area))
        for area in copper.FLEXIBLE_WIRE
    }
    factors = {f"factor at {t} C": float(copper.cable_factor(ICE + t)) for t in CABLE_FACTORS}
    return {**wires, **factors}


def voltage_drop_table() -> dict[str, float]:
    """Return the loss in a flexible lead at 60 C [mV for each A and m]."""
    return {
        f"{area:g} mm2": 1e3
        * float(mains.voltage_drop(1.0, mains.lead_resistance(1.0, area, 333.15)))
        for area in (0.75, 1.0, 1.5, 2.5)
    }


def windings() -> dict[str, float]:
    """Return coefficients and the temperature rise of a winding."""
    return {
        "coefficient of copper": float(copper.temperature_coefficient()),
        "coefficient of aluminium": float(copper.temperature_coefficient(228.0)),
        "rise, 10 to 13 ohm": float(copper.winding_warming(10.0, 13.0, ROOM, ROOM)),
    }


def bead() -> dict[str, float]:
    """Return temperatures of one maker's table by another document's coefficients."""
    table = {-40: 336103.2, -30: 176804.8, -20: 97006.9, -10: 55303.9, 0: 32650.9, 1: 31030.8}
    return {
        f"{t} C": float(thermistor.steinhart_temperature(ohms, BEAD)) - ICE
        for t, ohms in table.items()
    }


def three_points() -> dict[str, float]:
    """Return what a fit through 0, 25 and 50 C makes of the other entries of the table."""
    known = ICE + np.array([0.0, 25.0, 50.0]), np.array([32128.0, 9814.0, 3542.0])
    read = partial(thermistor.steinhart_temperature, coefficients=thermistor.fit_steinhart(*known))
    at_40 = thermistor.steinhart_resistance(ICE + 40.0, thermistor.fit_steinhart(*known))
    return {
        **{f"{t} C": float(read(r)) - ICE for t, r in ((10, 19549.0), (20, 12262.0), (30, 7908.0))},
        "ohms at 40 C": float(at_40),
        "B 25/50": float(thermistor.b_between(9814.0, 3542.0, ICE + 25.0, ICE + 50.0)),
    }


def discharge() -> dict[str, float]:
    """Return times until a plug's pins are safe: pass or fail within a second."""
    plug = partial(capacitor.discharge_time, safe=capacitor.SAFE_PLUG)
    at_230, at_253 = capacitor.peak(230.0), capacitor.peak(253.0)
    return {
        "in units of RC, 230 V": float(plug(at_230, capacitance=1.0, resistance=1.0)),
        "0.22 uF, 1 Mohm, 230 V": float(plug(at_230, capacitance=0.22e-6, resistance=1e6)),
        "0.47 uF, 1 Mohm, 230 V": float(plug(at_230, capacitance=0.47e-6, resistance=1e6)),
        "0.22 uF, 1 Mohm, 253 V": float(plug(at_253, capacitance=0.22e-6, resistance=1e6)),
    }


def school() -> dict[str, float]:
    """Return the coil of 50 ohm and 100 mH on 230 V and 50 Hz."""
    z = float(coil.impedance(50.0, 0.1, 50.0))
    return {
        "impedance": z,
        "current": float(coil.coil_current(230.0, 50.0, 0.1, 50.0)),
        "power factor": float(coil.power_factor(50.0, 0.1, 50.0)),
        "power": float(coil.coil_power(230.0, 50.0, 0.1, 50.0)),
    }


def bird() -> dict[str, float]:
    """Return the coil of 4 ohm and 9.55 mH on 240 V and 50 Hz."""
    return {
        "reactance": float(coil.reactance(9.55e-3, 50.0)),
        "impedance": float(coil.impedance(4.0, 9.55e-3, 50.0)),
        "current": float(coil.coil_current(240.0, 4.0, 9.55e-3, 50.0)),
    }


def bands() -> dict[str, float]:
    """Return ends of the mains bands."""
    ends = {f"{name} {side}": getattr(mains.MAINS[name], side) for name, side in BAND_ENDS}
    return {name: float(value) for name, value in ends.items()}


BAND_ENDS = (("EU", "low"), ("EU", "high"), ("NZ", "low"), ("NZ", "high"))


def own_electrics() -> dict[str, float]:
    """Return own numbers for Ohm's law, for capacitors and for heaters."""
    ohms = float(heater.heater_ohms(2000.0, 230.0))
    return {
        "leakage of 1 Mohm at 230 V, mA": 1e3 * float(insulation.insulation_leakage(1e6, 230.0)),
        "leakage of 0.3 Mohm, mA": 1e3 * float(insulation.insulation_leakage(0.3e6, 230.0)),
        "leakage of 2 Mohm, mA": 1e3 * float(insulation.insulation_leakage(2e6, 230.0)),
        "10 nF to earth, 230 V 50 Hz, mA": 1e3
        * float(capacitor.capacitor_current(10e-9, 230.0, 50.0)),
        "470 uF, 100 kohm, 325 to 60 V, s": float(
            capacitor.discharge_time(325.0, capacitor.SAFE_DIRECT, 470e-6, 1e5)
        ),
        "element of 2000 W, 230 V, ohm": ohms,
        "its power at 207 V": float(heater.heater_power(ohms, 207.0)),
        "its power at 253 V": float(heater.heater_power(ohms, 253.0)),
        "2000 W for 240 V, on 230 V": float(
            heater.heater_power(heater.heater_ohms(2000.0, 240.0), 230.0)
        ),
    }


OURS: dict[str, dict[str, float]] = {
    "iec_60228": conductors(),
    "bs_7671_4f3b": voltage_drop_table(),
    "en_50699": {"10 m of 2.5 mm2": float(copper.wire_resistance(10.0, 2.5e-6))},
    "winding_formula": windings(),
    "iec_60751": {f"{t} C": float(thermistor.platinum_resistance(ICE + t)) for t in PLATINUM},
    "thermistor_bead": bead(),
    "thermistor_three_points": three_points(),
    "thermistor_forum": {"10 kohm, C": float(thermistor.steinhart_temperature(1e4, FORUM)) - ICE},
    "iec_60335_1_plug": discharge(),
    "school_coil": school(),
    "bird": bird(),
    "mains_bands": bands(),
    "own_electrics": own_electrics(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("name", OURS)
def test_every_value_is_listed(name: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(name)} == set(OURS[name])


def test_the_plug_is_safe_within_a_second_or_not() -> None:
    """Tests the verdicts of IEC 60335-1, 22.5: 0.22 uF passes, 0.47 uF fails at 1 Mohm."""
    times = discharge()
    assert times["0.22 uF, 1 Mohm, 230 V"] < 1.0 < times["0.47 uF, 1 Mohm, 230 V"]
