"""Flow of water into a machine: supply, pipe, tap, hose, screen, valve and its regulator.

All resistances in the line are in a row, so that their pressures add to the pressure of the
supply (Bernoulli with losses; White, Fluid Mechanics, section 6.10). The inlet ends above
the water through an air gap, in the open air.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import restrictions, water
from tubside.physics.pipes import Pipe, pipe_factor
from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

SETTLING_STEPS = 4
COLD = 285.15
USUAL_PIPE = Pipe(bore=0.0136, length=10.0)
USUAL_HOSE = Pipe(bore=0.010, length=1.5)


@dataclass(frozen=True, slots=True)
class Openings:
    """How far each part of a line is open, 0 (shut, blocked) to 1 (as built).

    ``tap`` and ``valve`` are shares of their Kv, ``hose`` and ``screen`` of open area.
    """

    tap: Number = 1.0
    hose: Number = 1.0
    screen: Number = 1.0
    valve: Number = 1.0


@dataclass(frozen=True, slots=True)
class InletLine:
    """A line as built. The sizes given are common practice, no source.

    Bores and lengths [m], Kv [m3/h at 1 bar]. ``bends`` is the sum of losses K of the hose's
    ends, ``screen_bore`` the width of the screen's seat, ``screen_open`` the open share of a
    clean screen.
    """

    pipe: Pipe = USUAL_PIPE
    tap_kv: Number = 1.5
    hose: Pipe = USUAL_HOSE
    bends: Number = 1.5
    screen_bore: Number = 0.015
    screen_open: Number = 0.4
    valve_kv: Number = 0.7


USUAL_LINE = InletLine()
WIDE_OPEN = Openings()


def hose_end_flow(
    pressure: Number,
    openings: Openings = WIDE_OPEN,
    line: InletLine = USUAL_LINE,
    temperature: Number = COLD,
    rise: Number = 0.0,
) -> Floats:
    """Flow [m3/s] from the loose end of the hose: what a bucket under it measures.

    Parameters
    ----------
    pressure
        Static pressure of the supply above the air's [Pa], 0 to 1.6 MPa.
    openings
        Of the tap and the hose; screen and valve are not in this line.
    line
        The line as built.
    temperature
        Of the water [K], 273.15 to 373.15.
    rise
        Height of the hose's end above the place of the pressure [m].

    Raises
    ------
    OutsideRangeError
        If an opening, the pressure or the temperature lies outside its range.

    Examples
    --------
    >>> round(float(hose_end_flow(350e3)) * 60e3, 1)
    30.6
    """
    return _settled(pressure, openings, line, (temperature, rise), to_tub=False)


def inlet_flow(
    pressure: Number,
    regulator_flow: Number,
    openings: Openings = WIDE_OPEN,
    line: InletLine = USUAL_LINE,
    temperature: Number = COLD,
    rise: Number = 0.0,
) -> Floats:
    """Flow [m3/s] into the tub through the whole line and the valve's flow regulator.

    A regulator is a soft ring that narrows as the pressure rises. It is taken as ideal: it
    holds ``regulator_flow`` [m3/s] wherever the rest of the line could pass more, and is out
    of the way where it could not. Real ones hold their flow within some 15 % (common
    practice, no source). Other parameters as in `hose_end_flow`.

    Examples
    --------
    A good line is held at 10 L/min; with a screen silted to 4 % the line limits:

    >>> round(float(inlet_flow(350e3, 10 / 60e3)) * 60e3, 1)
    10.0
    >>> round(float(inlet_flow(350e3, 10 / 60e3, Openings(screen=0.04))) * 60e3, 1)
    5.9
    """
    held = within("flow of the regulator", regulator_flow, 0.0, 1.0, "m3/s")
    passed = _settled(pressure, openings, line, (temperature, rise), to_tub=True)
    return np.asarray(np.minimum(passed, held))


def _settled(
    pressure: Number,
    openings: Openings,
    line: InletLine,
    state: tuple[Number, Number],
    *,
    to_tub: bool,
) -> Floats:
    """Solve r(Q) Q^2 = dp for the flow; r hangs on it only by the friction of pipe and hose.

    Friction goes with about the eighth root of the flow when turbulent, so that each step
    leaves an eighth of the error.
    """
    temperature, rise = state
    weight = water.density(temperature)
    thin = water.viscosity(temperature) / weight
    supply = within("pressure", pressure, 0.0, 1.6e6, "Pa")
    driving = supply - weight * STANDARD_GRAVITY * np.asarray(rise)
    fixed = _fixed_resistance(openings, line, weight, to_tub=to_tub)
    flow = np.asarray(restrictions.flow_through(fixed, driving))
    for _ in range(SETTLING_STEPS):
        friction = sum(
            restrictions.loss_resistance(
                pipe_factor(pipe, flow / pipe.area, thin), pipe.area, weight
            )
            for pipe in (line.pipe, line.hose)
        )
        flow = restrictions.flow_through(fixed + friction, driving)
    return flow


def _fixed_resistance(
    openings: Openings, line: InletLine, weight: Floats, *, to_tub: bool
) -> Floats:
    tap = within("opening of the tap", openings.tap, 0.0, 1.0, "1")
    hose_loss = restrictions.narrowing_loss(openings.hose) + line.bends
    total = restrictions.kv_resistance(tap * line.tap_kv, weight)
    total = total + restrictions.loss_resistance(hose_loss, line.hose.area, weight)
    if not to_tub:
        return np.asarray(total)
    valve = within("opening of the valve", openings.valve, 0.0, 1.0, "1")
    silted = within("open area of the screen", openings.screen, 0.0, 1.0, "1")
    seat = 0.25 * np.pi * np.square(line.screen_bore)
    screen = restrictions.screen_loss(silted * line.screen_open)
    total = total + restrictions.loss_resistance(screen, seat, weight)
    return np.asarray(total + restrictions.kv_resistance(valve * line.valve_kv, weight))
