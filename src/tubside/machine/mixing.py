"""How the controller mixes hot and cold, and what comes of it when hot is late or gone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.draws import Values
from tubside.machine.inlet import HALF, Inlets, drawn
from tubside.pack.fault_model import Floats
from tubside.physics.filling import fill_time
from tubside.physics.mixing import hot_share, mixed_temperature
from tubside.physics.standard import ICE_POINT
from tubside.physics.water import BOILING

PATIENCE = 240.0
"""After so long the controller takes whatever comes, to fill at all [s] (common practice,
no source)."""
TINY = 1e-9
"""A cubic millimetre, so that no mixture is of nothing [m3]."""


@dataclass(frozen=True, slots=True)
class Mixed:
    """What a volume of inflow is made of, and how long it takes; arrays (D,)."""

    cold: Floats  # m3 through the machine's cold valve
    hot: Floats  # m3 through the machine's hot valve
    seconds: Floats  # infinite where nothing comes
    temperature: Floats  # K


def mix(values: Values, inlets: Inlets, volume: Floats, *, warm: bool) -> Mixed:
    """Let ``volume`` [m3] in: by temperature when ``warm``, else cold alone.

    The controller feels what comes through the valves: it opens hot alone until hot is
    there, and from then on mixes to the program's temperature. What stood cold in the pipe
    is in the tub for good. After :data:`PATIENCE` it lets in the rest through both valves.
    A cold fill is cold alone, for as long as it takes.
    """
    if not warm:
        seconds = fill_time(volume, inlets.cold_flow)
        return Mixed(volume, np.zeros_like(volume), seconds, drawn(inlets.cold, volume))
    wanted = _hot_wanted(values, inlets, volume)
    first = np.maximum(
        fill_time(wanted, inlets.hot_flow), fill_time(volume - wanted, inlets.cold_flow)
    )
    first = np.minimum(first, PATIENCE)
    hot = np.minimum(wanted, inlets.hot_flow * first)
    rest = volume - hot - np.minimum(volume - wanted, inlets.cold_flow * first)
    rest = np.where(rest > TINY, rest, 0.0)
    both = inlets.hot_flow + inlets.cold_flow
    hot = np.minimum(hot + rest * inlets.hot_flow / np.maximum(both, TINY), volume)
    return Mixed(
        volume - hot, hot, first + fill_time(rest, both), _temperature(inlets, volume, hot)
    )


def _temperature(inlets: Inlets, volume: Floats, hot: Floats) -> Floats:
    """Temperature of what came through both valves [K]."""
    cold = volume - hot
    warm = drawn(inlets.hot, hot)
    return mixed_temperature(hot + TINY, warm, cold + TINY, drawn(inlets.cold, cold))


def _hot_wanted(values: Values, inlets: Inlets, volume: Floats) -> Floats:
    """Volume through the hot valve [m3] that the controller asks for.

    Where the hot inlet brings the colder water (hoses crossed) it opens one valve alone,
    and never the right one.
    """
    asked = np.clip(values["wash_target"] - values["thermistor_offset"], ICE_POINT, BOILING)
    share = hot_share(asked, inlets.hot.temperature, inlets.cold.temperature)
    late = np.where(share > 0.0, np.minimum(inlets.hot.late, volume), 0.0)
    wanted = np.minimum(late + share * (volume - late), volume)
    return np.where(values["hot_inlet"] > HALF, wanted, 0.0)
