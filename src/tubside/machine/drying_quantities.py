"""What can be measured at a dryer, its duct and its room."""

from __future__ import annotations

from tubside.machine import drying_air, drying_measures
from tubside.machine.quantity import Quantity, of, plain

BLOWER = (
    "fan_strength",
    "fan_pressure",
    "fan_flow",
    "filter_open",
    "inner_open",
    "duct_bore",
)
DUCT = ("duct_length", "duct_bends", "duct_open", "hood_open", "air_kept")
LOOP = ("vented", "exchanger_open")
AIR = (*BLOWER, *DUCT, *LOOP)
CONTACTS = ("fuse_resistance", "limit_resistance", "thermostat_resistance")
ELEMENT = ("heater_resistance", *CONTACTS, "mains_voltage", "mains_resistance")
ROOM = ("ambient_temperature", "room_humidity")
SWITCHED = ("limit_opens", "thermostat_opens", "thermistor_offset")

DRYING_QUANTITIES: dict[str, Quantity] = {
    # air
    "outlet_speed": of(
        "speed of the air in the end of the duct", "m/s", AIR, drying_measures.outlet_speed
    ),
    "outlet_flow": of(
        "air that comes outdoors", "m**3/s", AIR, lambda v: drying_air.moved(v).outside
    ),
    "machine_air_flow": of(
        "air that the machine blows, hose off", "m**3/s", BLOWER, drying_air.flow_without_duct
    ),
    "duct_pressure": of(
        "static pressure at the machine's outlet, hose on",
        "Pa",
        AIR,
        lambda v: drying_air.moved(v).back_pressure,
    ),
    "filter_pressure": of(
        "pressure lost over the lint filter", "Pa", AIR, lambda v: drying_air.moved(v).filter_drop
    ),
    "duct_run": plain("length of hose and duct together", "m", "duct_length"),
    # heat
    "outlet_temperature": of(
        "air behind an empty drum after ten minutes",
        "K",
        (*AIR, *ELEMENT, *ROOM, *SWITCHED, "drum_tight"),
        drying_measures.outlet_after,
    ),
    "warming_time": of(
        "time until the air behind an empty drum is at 45 C",
        "s",
        (*AIR, *ELEMENT, *ROOM, "limit_opens", "drum_tight"),
        drying_measures.seconds_to_warm,
    ),
    "dried_weight": of(
        "water that a wet load loses in half an hour",
        "kg",
        (
            *AIR,
            *ELEMENT,
            *ROOM,
            *SWITCHED,
            "drum_tight",
            "drum_transfer",
            "load_mass",
            "load_moisture",
        ),
        drying_measures.dried_in_half_an_hour,
    ),
    "drying_time": of(
        "time in which a load dries",
        "s",
        (
            *AIR,
            *ELEMENT,
            *ROOM,
            *SWITCHED,
            "drum_tight",
            "drum_transfer",
            "load_mass",
            "load_moisture",
            "moisture_offset",
        ),
        drying_measures.drying_time,
    ),
    "room_temperature": plain("temperature of the room", "K", "ambient_temperature"),
    "room_humidity": plain("relative humidity of the room", "1", "room_humidity"),
    "load_weight": of(
        "the load as it comes from the washer",
        "kg",
        ("load_mass", "load_moisture"),
        lambda v: v["load_mass"] * (1.0 + v["load_moisture"]),
    ),
    # electrics
    "fuse_ohms": plain("thermal fuse", "ohm", "fuse_resistance"),
    "limit_ohms": plain("high-limit thermostat, cold", "ohm", "limit_resistance"),
    "thermostat_ohms": plain("cycling thermostat, cold", "ohm", "thermostat_resistance"),
    "thermostat_opening": plain(
        "air behind the drum at which the heater goes off", "K", "thermostat_opens"
    ),
    "heater_current": of("current of the heater", "A", ELEMENT, drying_measures.heater_current),
    "drying_load_voltage": of(
        "mains while motor and heater run",
        "V",
        (*ELEMENT, "running_power"),
        drying_measures.load_voltage,
    ),
}
"""Name of a reading -> what it is; they join those of :mod:`tubside.machine.quantities`."""
