"""One cycle of whatever a machine does: it washes, or it dries."""

from __future__ import annotations

from tubside.machine.cycle import Cycle, Limits, play
from tubside.machine.draws import Values
from tubside.machine.drying import Run, run

AnyCycle = Cycle | Run
ONLY_DRYING = "fan_flow"
"""A parameter that only a machine that dries has."""


def play_any(values: Values, controller: Limits) -> AnyCycle:
    """Play one cycle of each machine, by the parameters that it has."""
    return run(values, controller) if ONLY_DRYING in values else play(values, controller)
