"""What a dryer's control stops for and people notice, in the order in which a run meets it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tubside.machine.circuit import leakage
from tubside.machine.drying import Limits, Run
from tubside.machine.event import LIT, Event
from tubside.machine.inlet import HALF
from tubside.physics.drying import REGAIN

LITRE = 1e-3
"""A kilogram of water [m3]."""
PARTS: dict[str, str] = {
    "power": "power",
    "start": "start",
    "tumble": "tumble",
    "heat": "heat",
    "dry": "dry",
    "cool": "cool",
}
"""Part of the run, in order -> its stage in the packs."""


def events(run: Run, limits: Limits) -> Iterator[Event]:
    """Every condition that physics can bring about, in the order of the run."""
    yield from _starting(run, limits)
    yield from _heating(run, limits)
    yield from _drying(run, limits)


def _starting(run: Run, limits: Limits) -> Iterator[Event]:
    values = run.values
    works, voltage = values["controller_runs"], values["mains_voltage"]
    yield Event("power", "no_power", (voltage < limits["lowest_voltage"]) | (works < LIT))
    trips = leakage(values["insulation"], values) > limits["trip_current"]
    yield Event("power", "tripping", trips)
    yield Event("start", "door_not_shut", values["lock_works"] < HALF)
    yield Event("start", "wont_start", works < 1.0 - LIT)
    yield Event("tumble", "no_tumble", run.margin < limits["locked_margin"])
    yield Event("tumble", "noisy", values["bearing_drag"] > limits["noise_drag"])


def _heating(run: Run, limits: Limits) -> Iterator[Event]:
    values = run.values
    trips = leakage(values["heater_insulation"], values) > limits["trip_current"]
    yield Event("heat", "tripping", trips)
    warmed = run.power / np.maximum(run.air.mass * 1006.0, 1e-9)
    yield Event("heat", "no_heat", warmed < limits["cold_rise"])
    yield Event("heat", "too_hot", run.hottest > limits["hot_outlet"])


def _drying(run: Run, limits: Limits) -> Iterator[Event]:
    full = LITRE * run.condensed > run.values["tank_room"]
    yield Event("dry", "tank_full", full)
    yield Event("dry", "room_damp", run.in_the_room > limits["damp_room"])
    ended = np.isfinite(run.needed) & (run.needed <= limits["dry_timeout"])
    yield Event("dry", "stops_early", ended & (run.moisture > limits["damp_laundry"]))
    late = (run.needed > limits["slow_dry"]) & (run.moisture > 0.0)
    yield Event("dry", "takes_too_long", late)
    content = limits["dry_target"] - run.values["moisture_offset"]
    yield Event("cool", "wont_stop", content < REGAIN)
