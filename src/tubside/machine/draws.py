"""Machines of one family, drawn from the spread of their parameters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from tubside.pack.fault_model import PLUS, TIMES, Bools, Floats, Machine, Move

Values = dict[str, Floats]
"""Parameter name -> its value in each of the D machines, SI."""

_CLOSEST = 2.0**-33
"""Draws nearer to 0 or 1 than this are moved away, so that their normal value is finite."""


@dataclass(frozen=True, slots=True)
class Draws:
    """Machines before any cause, and how far each move will go in each of them."""

    base: Floats  # (p, D) SI, within the limits
    moves: Floats  # (m, D) standard normal

    @property
    def count(self) -> int:
        """Number of machines, D."""
        return int(self.base.shape[1])


def base_draws(machine: Machine, count: int, seed: int = 0) -> Draws:
    """``count`` machines from a scrambled Sobol sequence; same seed, same machines.

    Parameters
    ----------
    machine
        Middle, spread and limits of every parameter.
    count
        Number of machines, D.
    seed
        Of the scrambling.

    Notes
    -----
    One coordinate for each parameter and one for each move: a cause added later leaves
    the sequence of the parameters as low in discrepancy as before. Owen, A. B. (1998),
    "Scrambling Sobol' and Niederreiter-Xing points", J. Complexity 14:466-489 (from memory).
    """
    from scipy.special import ndtri  # noqa: PLC0415  # keeps start-up fast
    from scipy.stats import qmc  # noqa: PLC0415  # keeps start-up fast

    parameters, moves = len(machine.parameters), len(machine.moves)
    power = max(0, (count - 1).bit_length())
    sequence = qmc.Sobol(parameters + moves, scramble=True, seed=seed)
    uniform = sequence.random_base2(power)[:count].T
    normal = ndtri(np.clip(uniform, _CLOSEST, 1.0 - _CLOSEST))
    return Draws(_parameters(machine, normal[:parameters]), normal[parameters:])


def middle_draw(machine: Machine) -> Draws:
    """One machine with every parameter in its middle, and every move made by its middle.

    A move that is made in a share of the machines only is made in this one.
    """
    from scipy.special import ndtri  # noqa: PLC0415  # slow to load

    nothing = np.zeros((len(machine.parameters), 1))
    shares = np.array([min(move.share, 1.0) for move in machine.moves]).reshape(-1, 1)
    normal = np.where(shares < 1.0, ndtri(0.5 * shares), 0.0)
    return Draws(_parameters(machine, nothing), normal)


def values_with(machine: Machine, draws: Draws, causes: Iterable[int]) -> Values:
    """The machines with ``causes`` inside: their moves in the order of the pack.

    Every move's result is clipped to the parameter's limits before the next one.
    """
    present = set(causes)
    values = _named(machine, draws)
    for move, normal in zip(machine.moves, draws.moves, strict=True):
        if move.cause in present:
            name = machine.parameters[move.parameter]
            moved = _moved(move, values[name], normal)
            values[name] = np.clip(moved, machine.low[move.parameter], machine.high[move.parameter])
    return values


def values_with_sets(machine: Machine, draws: Draws, present: Bools) -> Values:
    """As :func:`values_with`, with a set of causes of its own in each machine.

    Parameters
    ----------
    present
        (n, D) true where the cause is in the machine.
    """
    values = _named(machine, draws)
    for move, normal in zip(machine.moves, draws.moves, strict=True):
        inside = present[move.cause]
        if inside.any():
            name, at = machine.parameters[move.parameter], move.parameter
            moved = np.clip(_moved(move, values[name], normal), machine.low[at], machine.high[at])
            values[name] = np.where(inside, moved, values[name])
    return values


def _named(machine: Machine, draws: Draws) -> Values:
    """Every machine's parameters by name, and beside them the constants of the model's sheet."""
    own = {name: np.full(draws.base.shape[1], value) for name, value in machine.constants.items()}
    return own | dict(zip(machine.parameters, draws.base, strict=True))


def _parameters(machine: Machine, normal: Floats) -> Floats:
    middle, spread = machine.middle[:, None], machine.spread[:, None]
    drawn = np.where(
        machine.logarithmic[:, None],
        middle * np.exp(np.where(machine.logarithmic[:, None], spread, 0.0) * normal),
        middle + spread * normal,
    )
    return np.clip(drawn, machine.low[:, None], machine.high[:, None])


def _moved(move: Move, value: Floats, normal: Floats) -> Floats:
    if move.share < 1.0:
        inside, normal = in_share(move.share, normal)
        return np.where(inside, _moved(replace(move, share=1.0), value, normal), value)
    if move.how == TIMES:
        return value * move.value * np.exp(move.spread * normal)
    amount = move.value + move.spread * normal
    return value + amount if move.how == PLUS else amount


def in_share(share: float, normal: Floats) -> tuple[Bools, Floats]:
    """Which machines are moved at all, and a fresh standard normal draw for those."""
    from scipy.special import ndtr, ndtri  # noqa: PLC0415  # slow to load

    inside = ndtr(normal) < share
    within = np.where(inside, ndtr(normal) / share, 0.5)
    return inside, ndtri(np.clip(within, _CLOSEST, 1.0 - _CLOSEST))
