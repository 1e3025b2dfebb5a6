"""Water out: the drain pump against its lift, and what runs out by itself."""

from __future__ import annotations

import numpy as np

from tubside.machine.draws import Values
from tubside.machine.inlet import HALF, opened
from tubside.pack.fault_model import Floats
from tubside.physics.drain import DrainPump, drain_flow, standing_level

TRAP_DROP = 0.5
"""How far below the pump a hose that siphons ends, by way of the house's trap [m] (common
practice, no source)."""
PUMP_HEIGHT = 0.1
"""Height of the pump over the floor [m] (common practice, no source)."""
STEEPEST, LOWEST = 10.0, -3.0
"""Lifts between which the formula of the drain is true [m]."""


def pumped_flow(values: Values, level: Floats) -> Floats:
    """Flow out with the pump running [m3/s] at levels (D,) or (k, D) [m]; see `drain_flow`.

    The house's drain takes no more than its own flow: what is above it backs up.
    """
    return _flow(values, _pump(values), values["drain_lift"], level)


def unpumped_flow(values: Values, level: Floats) -> Floats:
    """Flow out with the pump at rest [m3/s]: a siphon, or a hose's end below the water.

    A siphon stands full from the last drain and runs until the tub is empty. Air breaks it
    where the hose ends in the open (a standpipe with room around the hose).
    """
    still = DrainPump(values["pump_head"], values["pump_flow"], 0.0)
    return _flow(values, still, own_lift(values), level)


def own_lift(values: Values) -> Floats:
    """Height over the pump [m] above which water in the tub runs out with the pump at rest."""
    siphons = values["siphon"] > HALF
    return np.where(siphons, np.minimum(values["drain_lift"], -TRAP_DROP), values["drain_lift"])


def drained_level(values: Values) -> Floats:
    """Level over the air bell at which a drain ends [m]: no more lift, or no more water."""
    sump = values["sump_volume"] / values["tub_area"]
    return standing_level(_pump(values), values["drain_lift"] + sump) - sump


def _pump(values: Values) -> DrainPump:
    return DrainPump(values["pump_head"], values["pump_flow"], values["pump_strength"])


def _flow(values: Values, pump: DrainPump, lift: Floats, level: Floats) -> Floats:
    over_water = np.clip(lift - level, LOWEST, STEEPEST)
    flow = drain_flow(pump, over_water, opened(values["drain_open"]))
    return np.minimum(flow, values["standpipe_flow"])
