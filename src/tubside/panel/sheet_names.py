"""What a model's sheet can say: type plate, service sheet, time-outs; names, units, limits.

A name of :mod:`tubside.pack.parameters` overrides the family's number of that name. The
others are of the plate, or stand in place of a formula's own constant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from tubside.pack.parameters import CONTROLLER, PARAMETERS

Speaks = Literal["machine", "controller", "constant", "plate"]
CLASSES = ("I", "II")
"""Protection by earth (I) or by double insulation (II): IEC 61140, clause 7 (from memory)."""
PLATE = "Type plate"


@dataclass(frozen=True, slots=True)
class SheetName:
    """One thing that a sheet can say.

    ``unit`` is the SI unit, "class" for the class of protection; ``example`` shows a value
    as people write it, whose unit a bare number takes. ``low`` and ``high`` [SI] are what
    a sound machine can have at all, ``ordinary`` where household machines lie, given
    where no family's number can say so (both common practice, no source).
    """

    subject: str
    title: str
    unit: str
    example: str
    low: float
    high: float
    speaks: Speaks
    ordinary: tuple[float, float] | None = None

    @property
    def assumed(self) -> str:
        """The unit that a bare number has."""
        return self.example.partition(" ")[2]


def _plate(
    title: str,
    written: tuple[str, str],
    can_be: tuple[float, float],
    ordinary: tuple[float, float],
    speaks: Speaks = "plate",
) -> SheetName:
    return SheetName(PLATE, title, *written, *can_be, speaks, ordinary)


def _part(
    subject: str, title: str, name: str, example: str, can_be: tuple[float, float] | None = None
) -> SheetName:
    """A parameter of the machine; sound machines may have less room than broken ones."""
    of = PARAMETERS[name]
    return SheetName(subject, title, of.unit, example, *(can_be or (of.low, of.high)), "machine")


def _limit(name: str, example: str) -> SheetName:
    of = CONTROLLER[name]
    subject = "Controller: times and limits"
    return SheetName(subject, of.title, of.unit, example, of.low, of.high, "controller")


_BASKET, _WATER, _COILS = "Basket and suspension", "Water in and out", "Coils and motor"
_HEAT, _AIR = "Heater and sensors", "Air of a dryer and its thermostats"

SHEET: Mapping[str, SheetName] = {
    "rated_voltage": _plate(
        "rated voltage", ("V", "230 V"), (20.0, 500.0), (100.0, 250.0), "constant"
    ),
    "rated_frequency": _plate(
        "rated frequency", ("Hz", "50 Hz"), (16.0, 70.0), (49.0, 61.0), "constant"
    ),
    "rated_power": _plate("rated power", ("W", "2200 W"), (10.0, 1e4), (150.0, 4000.0)),
    "rated_current": _plate("rated current", ("A", "10 A"), (0.1, 40.0), (0.8, 20.0)),
    "heater_power": _plate("power of the heater", ("W", "2000 W"), (50.0, 8e3), (700.0, 3500.0)),
    "rated_load": _plate(
        "capacity, dry laundry", ("kg", "8 kg"), (0.5, 30.0), (2.5, 16.0), "machine"
    ),
    "protection_class": _plate("class of protection", ("class", "I"), (1.0, 2.0), (1.0, 2.0)),
    "basket_radius": _part(_BASKET, "radius of the basket", "basket_radius", "24 cm"),
    "basket_inertia": _part(
        _BASKET, "moment of inertia of the basket", "basket_inertia", "0.5 kg*m**2"
    ),
    "spin_speed": _part(_BASKET, "spin speed", "spin_speed", "1400 rpm"),
    "spin_torque": _part(_BASKET, "torque in spin", "spin_torque", "10 N m", (0.2, 200.0)),
    "agitation_torque": _part(
        _BASKET, "torque in wash", "agitation_torque", "28 N m", (0.5, 200.0)
    ),
    "suspended_mass": _part(
        _BASKET, "mass of tub and all that hangs on it", "suspended_mass", "55 kg"
    ),
    "spring_stiffness": _part(_BASKET, "all springs together", "spring_stiffness", "11 kN/m"),
    "regulator_flow": _part(_WATER, "flow of the inlet valve", "regulator_flow", "9 L/min"),
    "level_target": _part(
        _WATER, "water over the air bell when full", "level_target", "9 cm", (0.005, 1.0)
    ),
    "basket_bottom": _part(_WATER, "basket over the air bell's mouth", "basket_bottom", "3 cm"),
    "tub_area": _part(_WATER, "water surface of the tub", "tub_area", "0.09 m²"),
    "sump_volume": _part(_WATER, "water below the air bell's mouth", "sump_volume", "2 L"),
    "pump_head": _part(_WATER, "head of the drain pump at no flow", "pump_head", "1.8 m"),
    "pump_flow": _part(_WATER, "flow of the drain pump at no head", "pump_flow", "30 L/min"),
    "heater_resistance": _part(_HEAT, "heater element", "heater_resistance", "26 Ω", (1.0, 1000.0)),
    "thermistor_25": SheetName(
        _HEAT, "temperature sensor at 25 °C", "ohm", "12 kΩ", 10.0, 1e6, "constant", (1e3, 1e5)
    ),
    "thermistor_b": SheetName(
        _HEAT,
        "B of the temperature sensor",
        "K",
        "3620 K",
        1500.0,
        6000.0,
        "constant",
        (2500.0, 4800.0),
    ),
    "valve_coil_resistance": _part(
        _COILS, "valve coil", "valve_coil_resistance", "3.8 kΩ", (5.0, 5e4)
    ),
    "pump_coil_resistance": _part(
        _COILS, "drain pump winding", "pump_coil_resistance", "160 Ω", (0.5, 2e4)
    ),
    "winding_resistance": _part(
        _COILS, "main motor winding", "winding_resistance", "6 Ω", (0.05, 1e3)
    ),
    "capacitance": _part(_COILS, "motor capacitor", "capacitance", "16 µF", (1e-8, 1e-3)),
    "running_power": _part(
        _COILS, "power while the motor works", "running_power", "400 W", (1.0, 5000.0)
    ),
    "fan_flow": _part(_AIR, "flow of the fan at no pressure", "fan_flow", "0.09 m³/s"),
    "fan_pressure": _part(_AIR, "pressure of the fan at no flow", "fan_pressure", "400 Pa"),
    "thermostat_opens": _part(_AIR, "cycling thermostat opens", "thermostat_opens", "65 °C"),
    "limit_opens": _part(_AIR, "high-limit thermostat opens", "limit_opens", "125 °C"),
    "fill_timeout": _limit("fill_timeout", "8 min"),
    "heat_timeout": _limit("heat_timeout", "60 min"),
    "drain_timeout": _limit("drain_timeout", "3 min"),
    "drain_after": _limit("drain_after", "30 s"),
    "wash_time": _limit("wash_time", "40 min"),
    "rinse_time": _limit("rinse_time", "4 min"),
    "spin_time": _limit("spin_time", "10 min"),
    "dry_timeout": _limit("dry_timeout", "150 min"),
    "cool_time": _limit("cool_time", "5 min"),
    "overflow_level": _limit("overflow_level", "16 cm"),
    "empty_level": _limit("empty_level", "2 cm"),
    "swing_limit": _limit("swing_limit", "9 mm"),
    "lowest_voltage": _limit("lowest_voltage", "150 V"),
}
"""Name -> what it is, subject by subject. A name is never reused for another thing."""


OF_A_DRUM = frozenset(
    [name for name, of in SHEET.items() if of.subject == _BASKET]
    + ["rated_load", "spin_time", "swing_limit"]
)
"""What only a machine with a spinning drum has."""


def known_subjects() -> dict[str, list[str]]:
    """Subject -> the names of it, in order."""
    found: dict[str, list[str]] = {}
    for name, of in SHEET.items():
        found.setdefault(of.subject, []).append(name)
    return found
