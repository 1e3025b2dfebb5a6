"""The spin: speed against torque and drag while water runs off and suds collapse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine import basket
from tubside.machine.draws import Values
from tubside.machine.outlet import drained_level, pumped_flow
from tubside.pack.fault_model import Floats
from tubside.physics.suds import suds_left

STEPS = 80
"""Steps of time in one spin."""
STILL = 1e-3
"""Slower than this is not turning [rad/s]."""


@dataclass(frozen=True, slots=True)
class Spun:
    """One spin; arrays (D,), the course of it (STEPS + 1, D)."""

    times: Floats  # (STEPS + 1,) s
    speeds: Floats  # rad/s
    torques: Floats  # N m that hold the basket back
    levels: Floats  # m, water left in the tub
    swing: Floats  # m, largest on the way
    swing_at_end: Floats  # m
    suds_share: Floats  # largest share of the drive's torque lost to suds
    walking: Floats  # largest force on the floor over the force at which the feet slip

    @property
    def speed(self) -> Floats:
        """Speed at the end [rad/s]."""
        return np.asarray(self.speeds[-1])


@dataclass(frozen=True, slots=True)
class Spinning:
    """What a spin starts from."""

    level: Floats  # m, water left in the tub
    suds: Floats  # m, height of suds between the bowls
    seconds: float


def spin(values: Values, spinning: Spinning) -> Spun:
    """Spin for a time with the drain pump running.

    Notes
    -----
    J dw/dt = T - D(w, t), at most the ramp that the controller asks for and the speed as
    built. One step: w' = w + h f / (1 + h D'/J), implicit in the slope D' of the drag
    (Rosenbrock-Euler), so that no drag however steep makes it swing. The steps grow with
    the square of time, fine while the speed changes most; checked against an adaptive
    solver. A basket that is held at rest stays.
    """
    times = spinning.seconds * np.square(np.linspace(0.0, 1.0, STEPS + 1))
    torque, turning = basket.drive_torque(values), basket.inertia(values)
    levels = _water(values, spinning.level, times)
    speeds = np.zeros((STEPS + 1, spinning.level.size))
    drags = np.zeros_like(speeds)
    share = np.zeros_like(spinning.level)
    for number, (left, step) in enumerate(
        zip(suds_left(times), [*np.diff(times), 0.0], strict=True)
    ):
        now = speeds[number]
        depth = levels[number] - values["basket_bottom"]
        held = basket.drag(values, now, depth, spinning.suds * left)
        drags[number] = held.whole
        share = np.maximum(share, held.suds / np.maximum(torque, STILL))
        if number < STEPS:
            gain = (torque - held.whole) / (turning + step * held.slope(now))
            gain = np.minimum(gain, basket.RAMP)
            speeds[number + 1] = np.clip(now + step * gain, 0.0, values["spin_speed"])
    return Spun(
        times=times,
        speeds=speeds,
        torques=drags,
        levels=levels,
        swing=largest_swing(values, speeds, drags),
        swing_at_end=basket.swing_at(values, speeds[-1]),
        suds_share=share,
        walking=basket.walks(values, np.max(speeds, axis=0)),
    )


def largest_swing(values: Values, speeds: Floats, drags: Floats) -> Floats:
    """Largest swing [m]: in the passage where resonance is passed, else at the top speed."""
    own, top = basket.frequency(values), np.max(speeds, axis=0)
    past = np.argmax(speeds >= own, axis=0)
    held = drags[past, np.arange(own.size)]
    gain = (basket.drive_torque(values) - held) / basket.inertia(values)
    passing = basket.passage_swing(values, np.clip(gain, basket.SLOWEST_RAMP, basket.RAMP))
    steady = basket.swing_at(values, top)
    return np.where(top > own, np.maximum(passing, steady), steady)


def swings(values: Values, spun: Spun) -> Floats:
    """Swing over the time of a spin [m], (STEPS + 1, D), for drawing.

    That of a steady speed, held to the largest of the whole spin; the step that passes
    resonance shows that largest swing, however short it lasted.
    """
    steady = np.stack([basket.swing_at(values, speed) for speed in spun.speeds])
    held = np.minimum(steady, spun.swing)
    own = basket.frequency(values)
    passing = np.argmax(spun.speeds >= own, axis=0)
    at = np.arange(own.size)
    passed = spun.speeds[passing, at] >= own
    held[passing, at] = np.where(passed, spun.swing, held[passing, at])
    return held


def _water(values: Values, level: Floats, times: Floats) -> Floats:
    """Water left in the tub [m], (k, D): the pump takes it off at the flow of its start."""
    flow = pumped_flow(values, level) - values["valve_leak"]
    lowest = np.minimum(drained_level(values), level)
    fallen = level - np.maximum(flow, 0.0) / values["tub_area"] * times[:, None]
    return np.asarray(np.maximum(fallen, lowest))
