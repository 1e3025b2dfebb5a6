"""The parameters of a machine on its site: the names that packs may move, and their units.

Inside the program every value is in the SI unit given here; a pack writes it with
any unit of the same kind ("350 kPa", "8 L/min", "43 C").
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tubside.pack.drying_parameters import OWN, OWN_LIMITS, SHARED, SHARED_LIMITS
from tubside.pack.parameter import Limit, Parameter, Place, fraction

__all__ = [
    "CONTROLLER",
    "DRYING",
    "PARAMETERS",
    "WASHING",
    "Kind",
    "Limit",
    "Parameter",
    "Place",
    "kind_named",
]

_WASHING: dict[str, Parameter] = {
    # water in
    "cold_pressure": Parameter("Pa", "site", "static pressure of the cold supply", 0.0, 1.6e6),
    "hot_pressure": Parameter("Pa", "site", "static pressure of the hot supply", 0.0, 1.6e6),
    "cold_tap_open": fraction("site", "how far the cold tap and its pipe are open"),
    "hot_tap_open": fraction("site", "how far the hot tap and its pipe are open"),
    "cold_hose_open": fraction("site", "open area of the cold inlet hose"),
    "hot_hose_open": fraction("site", "open area of the hot inlet hose"),
    "cold_screen_open": fraction("machine", "open area of the cold inlet screen"),
    "hot_screen_open": fraction("machine", "open area of the hot inlet screen"),
    "cold_valve_open": fraction("machine", "how far the cold inlet valve opens"),
    "hot_valve_open": fraction("machine", "how far the hot inlet valve opens"),
    "valve_leak": Parameter("m**3/s", "machine", "flow through the shut valves", 0.0, 1e-3),
    "regulator_flow": Parameter("m**3/s", "machine", "flow of the valve's regulator", 1e-5, 1e-3),
    "hoses_swapped": fraction("site", "hot and cold hose swapped (1) or not (0)"),
    "hot_inlet": fraction("machine", "a hot inlet is used (1) or cold alone (0)"),
    # temperature
    "cold_temperature": Parameter("K", "site", "temperature of the cold supply", 273.15, 318.15),
    "hot_temperature": Parameter("K", "site", "temperature of the hot store", 273.15, 363.15),
    "hot_volume": Parameter("m**3", "site", "hot water before the store runs cool", 0.0, 1.0),
    "dead_leg": Parameter(
        "m**3", "site", "cold water in the hot pipe before hot arrives", 0.0, 0.1
    ),
    "heater_resistance": Parameter("ohm", "machine", "heater element at 20 C", 1.0, 1e9),
    "heater_insulation": Parameter("ohm", "machine", "heater element to earth", 0.0, 1e12),
    "thermistor_offset": Parameter(
        "K", "machine", "error of the temperature sensor", -100.0, 100.0
    ),
    "heat_loss": Parameter("W/K", "machine", "heat that a warm tub gives to the room", 0.0, 100.0),
    # level
    "level_target": Parameter(
        "m", "machine", "water over the air bell at which filling stops", 0.0, 1.0
    ),
    "level_offset": Parameter("m", "machine", "error of the level sensor", -1.0, 1.0),
    "bell_leak": Parameter("1/s", "machine", "air lost from the bell, share a second", 0.0, 1.0),
    "tub_area": Parameter("m**2", "machine", "water surface of the tub", 0.01, 0.6),
    "sump_volume": Parameter("m**3", "machine", "water below the air bell's mouth", 0.0, 0.05),
    "basket_bottom": Parameter(
        "m", "machine", "bottom of the basket over the air bell's mouth", -0.2, 0.5
    ),
    # drain
    "pump_strength": fraction("machine", "head of the drain pump, share of a new one"),
    "pump_head": Parameter("m", "machine", "head of a new drain pump at no flow", 0.1, 10.0),
    "pump_flow": Parameter("m**3/s", "machine", "flow of a new drain pump at no head", 1e-5, 5e-3),
    "drain_lift": Parameter("m", "site", "height of the drain hose's end over the pump", -1.0, 5.0),
    "drain_open": fraction("machine", "open area of pump, strainer and drain hose together"),
    "standpipe_flow": Parameter("m**3/s", "site", "flow that the house drain takes", 0.0, 1e-2),
    "siphon": fraction("site", "drain siphons the tub empty (1) or not (0)"),
    # load, agitation, suds
    "load_mass": Parameter("kg", "load", "dry laundry", 0.0, 30.0),
    "wash_target": Parameter("K", "load", "temperature that the program asks for", 273.15, 368.15),
    "water_held": Parameter(
        "m**3/kg", "load", "water that dry laundry takes up beside the level", 0.0, 0.01
    ),
    "load_offset": Parameter("kg", "load", "unbalanced mass at the basket's wall", 0.0, 10.0),
    "detergent": Parameter("1", "load", "detergent, multiple of the right dose", 0.0, 20.0),
    "hardness": Parameter("mol/m**3", "site", "water hardness", 0.0, 20.0),
    "agitation_torque": Parameter(
        "N*m", "machine", "torque that reaches the agitator or drum", 0.0, 200.0
    ),
    "clutch_engages": fraction("machine", "clutch or float does its job (1) or not (0)"),
    # spin and suspension
    "spin_speed": Parameter("rad/s", "machine", "spin speed as built", 1.0, 250.0),
    "spin_torque": Parameter(
        "N*m", "machine", "torque that reaches the basket in spin", 0.0, 200.0
    ),
    "bearing_drag": Parameter("N*m", "machine", "drag of bearings and seals", 0.0, 200.0),
    "suspended_mass": Parameter("kg", "machine", "tub, basket, motor and weights", 5.0, 150.0),
    "lying": fraction("machine", "axis lies, front-loader (1), or stands (0)"),
    "basket_radius": Parameter("m", "machine", "radius of the basket", 0.1, 0.4),
    "basket_inertia": Parameter(
        "kg*m**2", "machine", "moment of inertia of the empty basket", 0.01, 20.0
    ),
    "spring_stiffness": Parameter("N/m", "machine", "all springs or rods together", 500.0, 1e6),
    "damping_ratio": Parameter("1", "machine", "damping of the suspension", 0.0, 2.0),
    "levelness": fraction("site", "stands level on four feet (1) or rocks (0)"),
    # electrics
    "mains_voltage": Parameter("V", "site", "mains at rest", 0.0, 300.0),
    "mains_resistance": Parameter("ohm", "site", "supply and lead, there and back", 0.0, 20.0),
    "running_power": Parameter("W", "machine", "power taken while the motor works", 0.0, 5000.0),
    "winding_resistance": Parameter("ohm", "machine", "main motor winding at 20 C", 0.01, 1e9),
    "valve_coil_resistance": Parameter("ohm", "machine", "inlet valve coil at 20 C", 1.0, 1e9),
    "pump_coil_resistance": Parameter("ohm", "machine", "drain pump winding at 20 C", 0.5, 1e9),
    "insulation": Parameter("ohm", "machine", "live parts to earth", 0.0, 1e12),
    "capacitance": Parameter("F", "machine", "motor capacitor", 0.0, 1e-3),
    "ambient_temperature": Parameter("K", "site", "temperature of the room", 253.15, 323.15),
    # control
    "lock_works": fraction("machine", "lid or door lock reports shut (1) or not (0)"),
    "controller_runs": fraction(
        "machine", "controller runs (1), is lit but does not start (0.5), or is dead (0)"
    ),
}
_WASHING_LIMITS: dict[str, Limit] = {
    # what the controller waits for
    "fill_timeout": Limit("s", "longest time for one fill", 1.0, 7200.0),
    "heat_timeout": Limit("s", "longest time to warm the water", 1.0, 14400.0),
    "drain_timeout": Limit("s", "longest time for one drain", 1.0, 7200.0),
    "drain_after": Limit("s", "draining that follows once the tub reads empty", 0.0, 600.0),
    # the program
    "heats": Limit("1", "warms the water itself (1) or not (0)", 0.0, 1.0),
    "wash_time": Limit("s", "time of washing, once full", 1.0, 14400.0),
    "rinses": Limit("1", "number of rinses", 0.0, 5.0),
    "rinse_time": Limit("s", "time of one rinse, once full", 1.0, 3600.0),
    "spin_time": Limit("s", "time of the last spin", 1.0, 3600.0),
    # what it stops for
    "lowest_voltage": Limit("V", "mains below which nothing works", 0.0, 300.0),
    "trip_current": Limit("A", "current to earth that trips the supply", 1e-4, 1.0),
    "overflow_level": Limit("m", "water over the air bell that is too much", 0.0, 1.0),
    "empty_level": Limit("m", "water over the air bell that counts as empty", 0.0, 0.5),
    "overload_margin": Limit("1", "drive's margin under which a load is too big", 0.0, 10.0),
    "locked_margin": Limit("1", "drive's margin under which nothing turns", 0.0, 10.0),
    "swing_limit": Limit("m", "swing of the tub that stops the spin", 1e-3, 0.3),
    "suds_share": Limit("1", "share of the spin's torque lost to foam that stops it", 0.0, 1.0),
    # what people notice
    "slow_fill": Limit("s", "a fill longer than this is called slow", 1.0, 7200.0),
    "temperature_tolerance": Limit("K", "the wash may be so far from the program", 0.1, 60.0),
    "warm_rinse": Limit("K", "a rinse warmer than this is noticed", 273.15, 373.15),
    "wash_margin": Limit("1", "drive's margin under which clothes come out dirty", 0.0, 10.0),
    "spin_share": Limit("1", "share of the spin speed under which clothes stay wet", 0.0, 1.0),
    "noise_swing": Limit("m", "swing of the tub that is heard", 1e-3, 0.3),
    "noise_drag": Limit("N*m", "drag of the bearings that is heard", 0.0, 100.0),
    "idle_time": Limit("s", "time that the machine stands between washes", 0.0, 1e6),
}
PARAMETERS: dict[str, Parameter] = _WASHING | OWN
"""Name -> what it is. Order matters to nothing; a name is never reused for another thing."""
CONTROLLER: dict[str, Limit] = _WASHING_LIMITS | OWN_LIMITS
"""Name -> what it is. A name is never reused for another thing."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What a machine that does one thing has, and the limits of its controller."""

    does: str
    parameters: Mapping[str, Parameter]
    limits: Mapping[str, Limit]


WASHING = Kind("washes", _WASHING, _WASHING_LIMITS)
"""Takes water in, heats, moves and pumps it."""
DRYING = Kind(
    "dries",
    {name: _WASHING[name] for name in SHARED} | OWN,
    {name: _WASHING_LIMITS[name] for name in SHARED_LIMITS} | OWN_LIMITS,
)
"""Blows warm air through a drum."""


def kind_named(names: Iterable[str]) -> Kind:
    """The kind of machine that some names of parameters or of limits speak of.

    That is one that dries where more of them belong to it alone than to one that washes.

    Examples
    --------
    >>> kind_named(["mains_voltage", "fan_flow"]).does, kind_named(["mains_voltage"]).does
    ('dries', 'washes')
    """
    given = set(names)
    drying = given & {*OWN, *OWN_LIMITS}
    washing = given & {*_WASHING, *_WASHING_LIMITS} - {*SHARED, *SHARED_LIMITS}
    return DRYING if len(drying) > len(washing) else WASHING
