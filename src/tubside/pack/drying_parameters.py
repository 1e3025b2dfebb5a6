"""What a machine that dries has beside the parameters of one that washes, and its limits."""

from __future__ import annotations

from tubside.pack.parameter import Limit, Parameter, fraction

OWN: dict[str, Parameter] = {
    # the room and the way out
    "room_humidity": fraction("site", "relative humidity of the room"),
    "duct_bore": Parameter("m", "site", "bore of hose and duct", 0.05, 0.3),
    "duct_length": Parameter("m", "site", "length of hose and duct together", 0.0, 60.0),
    "duct_bends": Parameter("1", "site", "bends of 90 degrees in hose and duct", 0.0, 20.0),
    "duct_open": fraction("site", "open area of hose and duct where they are narrowest"),
    "hood_open": fraction("site", "how far the flap or grille outdoors opens"),
    "air_kept": fraction("site", "damp air that goes to its duct or exchanger, not to the room"),
    # air through the machine
    "filter_open": fraction("machine", "open area of the lint filter, share of a clean one"),
    "inner_open": fraction("machine", "open area of the way through heater, drum and housing"),
    "fan_strength": fraction("machine", "pressure of the fan, share of a sound one"),
    "fan_pressure": Parameter("Pa", "machine", "pressure of a sound fan at no flow", 10.0, 3000.0),
    "fan_flow": Parameter("m**3/s", "machine", "flow of a sound fan at no pressure", 1e-3, 1.0),
    "drum_tight": fraction("machine", "share of the air that goes through the drum"),
    "drum_transfer": Parameter(
        "W/K", "machine", "heat from air to wet laundry for each kelvin", 0.0, 1000.0
    ),
    "vented": fraction("machine", "blows its air outdoors (1) or round over an exchanger (0)"),
    "exchanger_open": fraction("machine", "what the heat exchanger does, share of a clean one"),
    "tank_room": Parameter("m**3", "machine", "condensed water until it says full", 0.0, 1.0),
    # heat and what switches it
    "thermostat_opens": Parameter(
        "K", "machine", "air behind the drum at which the heater goes off", 293.15, 423.15
    ),
    "limit_opens": Parameter(
        "K", "machine", "air at the heater at which the high limit opens", 313.15, 473.15
    ),
    "thermostat_resistance": Parameter("ohm", "machine", "cycling thermostat, cold", 0.0, 1e9),
    "limit_resistance": Parameter("ohm", "machine", "high-limit thermostat, cold", 0.0, 1e9),
    "fuse_resistance": Parameter("ohm", "machine", "thermal fuse", 0.0, 1e9),
    # drum and load
    "drum_turns": fraction("machine", "belt and idler turn the drum (1) or not (0)"),
    "motor_torque": Parameter("N*m", "machine", "torque of the motor at the drum", 0.0, 200.0),
    "load_moisture": Parameter("1", "load", "water in the laundry by dry laundry", 0.0, 3.0),
    "moisture_offset": Parameter(
        "1", "machine", "error of the sensing of damp, above zero: feels wetter", -3.0, 3.0
    ),
}
SHARED = (
    "heater_resistance",
    "heater_insulation",
    "thermistor_offset",
    "load_mass",
    "bearing_drag",
    "mains_voltage",
    "mains_resistance",
    "running_power",
    "winding_resistance",
    "insulation",
    "capacitance",
    "ambient_temperature",
    "lock_works",
    "controller_runs",
)
"""Parameters that both kinds of machine have, in the words of the one that washes."""

OWN_LIMITS: dict[str, Limit] = {
    "dry_target": Limit("1", "moisture at which drying ends", 0.0, 1.0),
    "dry_timeout": Limit("s", "longest time of drying", 60.0, 36000.0),
    "cool_time": Limit("s", "time of cooling, once dry", 0.0, 3600.0),
    "slow_dry": Limit("s", "drying longer than this is called too long", 60.0, 36000.0),
    "damp_laundry": Limit("1", "moisture at the end that is called damp", 0.0, 1.0),
    "cold_rise": Limit("K", "air warmed by less than this is called cold", 0.0, 60.0),
    "hot_outlet": Limit("K", "air behind the drum that is called too hot", 293.15, 423.15),
    "damp_room": Limit("kg", "water let into the room that is noticed", 0.0, 20.0),
}
SHARED_LIMITS = ("lowest_voltage", "trip_current", "locked_margin", "noise_drag")
"""Limits that both kinds of machine have."""
