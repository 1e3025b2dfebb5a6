"""What can be measured at a machine and its site, each by the formula a technician uses."""

from __future__ import annotations

import numpy as np

from tubside.machine import basket, circuit, inlet, measures, outlet
from tubside.machine.drying_quantities import DRYING_QUANTITIES
from tubside.machine.quantity import Quantity, of, plain
from tubside.physics.suspension import bounce_count, swing_ratio

MANY_BOUNCES = 20.0
"""More are not counted."""


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


QUANTITIES: dict[str, Quantity] = {
    # water in
    "cold_flow": of(
        "flow through the cold inlet valve", "m**3/s", INLET, lambda v: inlet.inlets(v).cold_flow
    ),
    "hot_flow": of(
        "flow through the hot inlet valve", "m**3/s", INLET, lambda v: inlet.inlets(v).hot_flow
    ),
    "inlet_flow": of("flow into the tub, both valves open", "m**3/s", INLET, measures.inlet_flow),
    "hose_end_flow_cold": of(
        "flow from the cold hose into a bucket",
        "m**3/s",
        HOUSE_COLD,
        lambda v: inlet.hose_end_flow(inlet.cold_line(v)),
    ),
    "hose_end_flow_hot": of(
        "flow from the hot hose into a bucket",
        "m**3/s",
        (*HOUSE_HOT, *STORE, "cold_temperature"),
        lambda v: inlet.hose_end_flow(inlet.hot_line(v)),
    ),
    "cold_tap_temperature": plain("temperature at the cold tap", "K", "cold_temperature"),
    "hot_tap_temperature": plain("temperature at the hot tap", "K", "hot_temperature"),
    "time_to_hot": of(
        "time until hot comes from the hot hose",
        "s",
        (*HOUSE_HOT, *STORE, "cold_temperature"),
        measures.seconds_to_hot,
    ),
    "wash_temperature": of(
        "temperature of the wash", "K", (*FILL, *HEAT), measures.wash_temperature
    ),
    "fill_time": of("time of the first fill", "s", FILL, lambda v: measures.filled_tub(v).seconds),
    # level and drain
    "standing_level": of(
        "water over the air bell after a drain",
        "m",
        (*PUMP, *TUB, "valve_leak", "level_offset", "bell_leak"),
        measures.standing_level,
    ),
    "level_pressure": of(
        "pressure at the air bell when the fill stops",
        "Pa",
        ("level_target", "level_offset"),
        measures.level_pressure,
    ),
    "level_drop": of(
        "pressure that the air bell loses in a minute",
        "Pa",
        ("level_target", "bell_leak"),
        measures.level_drop,
    ),
    "drain_time": of(
        "time of one drain",
        "s",
        (*PUMP, *TUB, "valve_leak"),
        measures.seconds_to_drain,
    ),
    "drain_flow": of(
        "flow from the drain hose, tub half full",
        "m**3/s",
        (*PUMP, "level_target"),
        measures.drain_flow,
    ),
    "standpipe_height": of(
        "height of the drain hose's end over the floor",
        "m",
        ("drain_lift",),
        lambda v: v["drain_lift"] + outlet.PUMP_HEIGHT,
    ),
    # spin and suspension
    "bounce_count": of(
        "bounces until the tub is still",
        "1",
        ("damping_ratio",),
        lambda v: np.minimum(bounce_count(v["damping_ratio"]), MANY_BOUNCES),
    ),
    "bounce_ratio": of(
        "second swing by the first",
        "1",
        ("damping_ratio",),
        lambda v: swing_ratio(v["damping_ratio"]),
    ),
    "empty_spin_speed": of(
        "spin speed of the empty basket", "rad/s", SPIN, basket.empty_spin_speed
    ),
    "spin_amplitude": of(
        "swing of the tub at spin speed",
        "m",
        (*SPIN, *SWING),
        lambda v: basket.swing_at(v, basket.empty_spin_speed(v)),
    ),
    # electrics
    "heater_ohms": plain("resistance of the heater", "ohm", "heater_resistance"),
    "heater_insulation_ohms": plain("heater to earth", "ohm", "heater_insulation"),
    "heater_rise_rate": of(
        "rise of the water on its heater",
        "K/s",
        (*HEAT, *TUB, "water_held", "cold_temperature"),
        measures.heater_rise,
    ),
    "insulation_ohms": of(
        "live parts to earth",
        "ohm",
        ("insulation", "heater_insulation"),
        circuit.earth_resistance,
    ),
    "winding_ohms": of(
        "main motor winding",
        "ohm",
        ("winding_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["winding_resistance"], v),
    ),
    "valve_coil_ohms": of(
        "inlet valve coil",
        "ohm",
        ("valve_coil_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["valve_coil_resistance"], v),
    ),
    "pump_coil_ohms": of(
        "drain pump winding",
        "ohm",
        ("pump_coil_resistance", "ambient_temperature"),
        lambda v: circuit.winding_ohms(v["pump_coil_resistance"], v),
    ),
    "capacitance": plain("motor capacitor", "F", "capacitance"),
    "thermistor_ohms": of(
        "temperature sensor in this room",
        "ohm",
        ("ambient_temperature", "thermistor_offset"),
        circuit.thermistor_ohms,
    ),
    "mains_rest_voltage": plain("mains at rest", "V", "mains_voltage"),
    "mains_load_voltage": of(
        "mains while the machine takes the most",
        "V",
        (*MAINS, "heater_resistance"),
        circuit.load_voltage,
    ),
    "pump_current": of(
        "current of the drain pump",
        "A",
        ("pump_coil_resistance", "ambient_temperature", "mains_voltage"),
        circuit.pump_current,
    ),
    "earth_leakage": of(
        "current to earth",
        "A",
        ("insulation", "heater_insulation", "mains_voltage"),
        circuit.earth_leakage,
    ),
    **DRYING_QUANTITIES,
}
"""Name of a reading -> what it is. Packs name these; a name is never reused."""
