"""What can be measured at a machine and its site, each by the formula a technician uses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tubside.machine import basket, circuit, inlet, measures, outlet
from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats
from tubside.physics.suspension import bounce_count, swing_ratio

MANY_BOUNCES = 20.0
"""More are not counted."""

Formula = Callable[[Values], Floats]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing to measure: its SI unit ("1" is a plain number) and how it comes about.

    ``needs`` names the parameters that it hangs on; no other changes it.
    """

    title: str
    unit: str
    needs: frozenset[str]
    formula: Formula


HOUSE_COLD = ("cold_pressure", "cold_tap_open", "cold_hose_open", "cold_temperature")
HOUSE_HOT = ("hot_pressure", "hot_tap_open", "hot_hose_open", "hot_temperature")
STORE = ("dead_leg", "hot_volume")
VALVES = (
    "cold_screen_open",
    "cold_valve_open",
    "hot_screen_open",
    "hot_valve_open",
    "regulator_flow",
    "hoses_swapped",
    "hot_inlet",
)
INLET = (*HOUSE_COLD, *HOUSE_HOT, *STORE, *VALVES)
PUMP = ("pump_head", "pump_flow", "pump_strength", "drain_open", "drain_lift", "standpipe_flow")
TUB = ("tub_area", "sump_volume", "level_target")
FILL = (
    *INLET,
    *TUB,
    *PUMP[:2],
    *PUMP[3:],
    "level_offset",
    "bell_leak",
    "siphon",
    "load_mass",
    "water_held",
    "wash_target",
    "thermistor_offset",
)
MAINS = ("mains_voltage", "mains_resistance", "running_power")
HEAT = (
    "mains_voltage",
    "mains_resistance",
    "heater_resistance",
    "heat_loss",
    "ambient_temperature",
    "load_mass",
    "wash_target",
)
SPIN = (*MAINS, "spin_torque", "spin_speed", "bearing_drag")
SWING = (
    "basket_radius",
    "load_offset",
    "levelness",
    "suspended_mass",
    "load_mass",
    "spring_stiffness",
    "damping_ratio",
)


def _of(title: str, unit: str, needs: tuple[str, ...], formula: Formula) -> Quantity:
    return Quantity(title, unit, frozenset(needs), formula)


def _plain(title: str, unit: str, name: str) -> Quantity:
    """A parameter that is read as it is."""
    return _of(title, unit, (name,), lambda v: v[name])


QUANTITIES: dict[str, Quantity] = {
    # water in
    "cold_flow": _of(
        "flow through the cold inlet valve", "m**3/s", INLET, lambda v: inlet.inlets(v).cold_flow
    ),
    "hot_flow": _of(
        "flow through the hot inlet valve", "m**3/s", INLET, lambda v: inlet.inlets(v).hot_flow
    ),
    "inlet_flow": _of("flow into the tub, both valves open", "m**3/s", INLET, measures.inlet_flow),
    "hose_end_flow_cold": _of(
        "flow from the cold hose into a bucket",
        "m**3/s",
        HOUSE_COLD,
        lambda v: inlet.hose_end_flow(inlet.cold_line(v)),
    ),
    "hose_end_flow_hot": _of(
        "flow from the hot hose into a bucket",
        "m**3/s",
        (*HOUSE_HOT, *STORE, "cold_temperature"),
        lambda v: inlet.hose_end_flow(inlet.hot_line(v)),
    ),
    "cold_tap_temperature": _plain("temperature at the cold tap", "K", "cold_temperature"),
    "hot_tap_temperature": _plain("temperature at the hot tap", "K", "hot_temperature"),
    "time_to_hot": _of(
        "time until hot comes from the hot hose",
        "s",
        (*HOUSE_HOT, *STORE, "cold_temperature"),
        measures.seconds_to_hot,
    ),
    "wash_temperature": _of(
        "temperature of the wash", "K", (*FILL, *HEAT), measures.wash_temperature
    ),
    "fill_time": _of("time of the first fill", "s", FILL, lambda v: measures.filled_tub(v).seconds),
    # level and drain
    "standing_level": _of(
        "water over the air bell after a drain",
        "m",
        (*PUMP, *TUB, "valve_leak", "level_offset", "bell_leak"),
        measures.standing_level,
    ),
    "level_pressure": _of(
        "pressure at the air bell when the fill stops",
        "Pa",
        ("level_target", "level_offset"),
        measures.level_pressure,
    ),
    "level_drop": _of(
        "pressure that the air bell loses in a minute",
        "Pa",
        ("level_target", "bell_leak"),
        measures.level_drop,
    ),
    "drain_time": _of(
        "time of one drain",
        "s",
        (*PUMP, *TUB, "valve_leak"),
        measures.seconds_to_drain,
    ),
    "drain_flow": _of(
        "flow from the drain hose, tub half full",
        "m**3/s",
        (*PUMP, "level_target"),
        measures.drain_flow,
    ),
    "standpipe_height": _of(
        "height of the drain hose's end over the floor",
        "m",
        ("drain_lift",),
        lambda v: v["drain_lift"] + outlet.PUMP_HEIGHT,
    ),
    # spin and suspension
    "bounce_count": _of(
        "bounces until the tub is still",
        "1",
        ("damping_ratio",),
        lambda v: np.minimum(bounce_count(v["damping_ratio"]), MANY_BOUNCES),
    ),
    "bounce_ratio": _of(
        "second swing by the first",
        "1",
        ("damping_ratio",),
        lambda v: swing_ratio(v["damping_ratio"]),
    ),
    "empty_spin_speed": _of(
        "spin speed of the empty basket", "rad/s", SPIN, basket.empty_spin_speed
    ),
    "spin_amplitude": _of(
        "swing of the tub at spin speed",
        "m",
        (*SPIN, *SWING),
        lambda v: basket.swing_at(v, basket.empty_spin_speed(v)),
    ),
    # electrics
    "heater_ohms": _plain("resistance of the heater", "ohm", "heater_resistance"),
    "heater_insulation_ohms": _plain("heater to earth", "ohm", "heater_insulation"),
    "heater_rise_rate": _of(
        "rise of the water on its heater",
        "K/s",
        (*HEAT, *TUB, "water_held", "cold_temperature"),
        measures.heater_rise,
    ),
    "insulation_ohms": _of(
        "live parts to earth",
        "ohm",
        ("insulation", "heater_insulation"),
        circuit.earth_resistance,
    ),
    "winding_ohms": _of(
        "main motor winding",
        "ohm",
        ("winding_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["winding_resistance"], v),
    ),
    "valve_coil_ohms": _of(
        "inlet valve coil",
        "ohm",
        ("valve_coil_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["valve_coil_resistance"], v),
    ),
    "pump_coil_ohms": _of(
        "drain pump winding",
        "ohm",
        ("pump_coil_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["pump_coil_resistance"], v),
    ),
    "capacitance": _plain("motor capacitor", "F", "capacitance"),
    "thermistor_ohms": _of(
        "temperature sensor in this room",
        "ohm",
        ("ambient_temperature", "thermistor_offset"),
        circuit.thermistor_ohms,
    ),
    "mains_rest_voltage": _plain("mains at rest", "V", "mains_voltage"),
    "mains_load_voltage": _of(
        "mains while the machine takes the most",
        "V",
        (*MAINS, "heater_resistance"),
        circuit.load_voltage,
    ),
    "pump_current": _of(
        "current of the drain pump",
        "A",
        ("pump_coil_resistance", "ambient_temperature", "mains_voltage"),
        circuit.pump_current,
    ),
    "earth_leakage": _of(
        "current to earth",
        "A",
        ("insulation", "heater_insulation", "mains_voltage"),
        circuit.earth_leakage,
    ),
}
"""Name of a reading -> what it is. Packs name these; a name is never reused."""
