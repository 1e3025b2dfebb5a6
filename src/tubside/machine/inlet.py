"""Water in: what each supply gives at its hose's end and through the machine's valves."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from tubside.machine.draws import Values
from tubside.pack.fault_model import Bools, Floats
from tubside.physics import inlet as physics
from tubside.physics.hot_supply import HotSupply, drawn_temperature

HALF = 0.5
"""A yes or no of the parameters counts as yes above this."""
SHUT = 1e-6
"""What is open by less is shut: its square would leave the numbers a computer has."""


@dataclass(frozen=True, slots=True)
class Line:
    """One supply of the house, up to the end of its hose; arrays (D,)."""

    pressure: Floats  # Pa
    tap: Floats  # how far the tap and its pipe are open
    hose: Floats  # open area of the hose
    temperature: Floats  # K, once it has run
    late: Floats  # m3 of cold water before that temperature comes
    store: Floats  # m3 of that temperature before it runs cool
    refill: Floats  # K, of what comes before and after


@dataclass(frozen=True, slots=True)
class Inlets:
    """The supplies as they are fitted to the machine, and what comes through its valves."""

    cold: Line  # on the machine's cold inlet, which may be the hot supply
    hot: Line
    cold_flow: Floats  # m3/s through the cold valve alone
    hot_flow: Floats  # m3/s through the hot valve alone, none where no hot inlet is used


def cold_line(values: Values) -> Line:
    """The cold supply of the house: cold from the first drop and for ever."""
    none = np.zeros_like(values["cold_pressure"])
    return Line(
        pressure=values["cold_pressure"],
        tap=values["cold_tap_open"],
        hose=values["cold_hose_open"],
        temperature=values["cold_temperature"],
        late=none,
        store=none + 1.0,
        refill=values["cold_temperature"],
    )


def hot_line(values: Values) -> Line:
    """The hot supply of the house: cold first, then hot, then what refills the store."""
    return Line(
        pressure=values["hot_pressure"],
        tap=values["hot_tap_open"],
        hose=values["hot_hose_open"],
        temperature=values["hot_temperature"],
        late=values["dead_leg"],
        store=values["hot_volume"],
        refill=values["cold_temperature"],
    )


def inlets(values: Values) -> Inlets:
    """What comes in through each valve of the machine, hoses as they are fitted."""
    cold, hot = cold_line(values), hot_line(values)
    swapped = values["hoses_swapped"] > HALF
    at_cold, at_hot = _chosen(swapped, hot, cold), _chosen(swapped, cold, hot)
    hot_flow = _through(at_hot, values["hot_screen_open"], values["hot_valve_open"], values)
    return Inlets(
        at_cold,
        at_hot,
        _through(at_cold, values["cold_screen_open"], values["cold_valve_open"], values),
        hot_flow * (values["hot_inlet"] > HALF),
    )


def opened(share: Floats) -> Floats:
    """How far something is open, none where that is next to nothing."""
    return np.where(share > SHUT, share, 0.0)


def hose_end_flow(line: Line) -> Floats:
    """Flow into a bucket from the hose, off the machine [m3/s]."""
    return physics.hose_end_flow(
        line.pressure,
        physics.Openings(opened(line.tap), opened(line.hose)),
        temperature=line.temperature,
    )


def drawn(line: Line, volume: Floats) -> Floats:
    """Temperature [K] of the first ``volume`` [m3] of a line, mixed."""
    supply = HotSupply(line.temperature, line.refill, line.refill, line.late, line.store)
    return drawn_temperature(supply, volume)


def _through(line: Line, screen: Floats, valve: Floats, values: Values) -> Floats:
    """Flow through one open valve of the machine [m3/s]."""
    openings = physics.Openings(*map(opened, (line.tap, line.hose, screen, valve)))
    flow = values["regulator_flow"]
    return physics.inlet_flow(line.pressure, flow, openings, temperature=line.temperature)


def _chosen(which: Bools, yes: Line, no: Line) -> Line:
    pairs = ((getattr(yes, field.name), getattr(no, field.name)) for field in fields(Line))
    return Line(*(np.where(which, one, other) for one, other in pairs))
