"""One simulated machine under the meter: its parameters now, and what an instrument shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.evidence import IS, NONE, OVER, Measured
from tubside.diagnosis.instrument import BLUNDER, BLUNDER_NONE, LARGE_SHARE
from tubside.machine.controller import noticed
from tubside.machine.draws import Draws, Values, values_with
from tubside.machine.playing import play_any
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Bools, FaultModel, Reading
from tubside.pack.fault_model import Machine as Family
from tubside.pack.parameters import PARAMETERS
from tubside.trial.chance import Chance

DECADES = 3.0
"""A blunder shows a number up to this many powers of ten away (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Machines:
    """Machines that calls come from: the family of the world, and drawn members of it."""

    family: Family
    draws: Draws

    def of_call(self, chance: Chance, present: Bools, cleared: Bools) -> Values:
        """The parameters of the machine of one call, one value each.

        Parts that moved with a cause that was cleared are other parts now.
        """
        base = self.draws.base[:, [self._one(chance, "machine")]]
        moves = self.draws.moves[:, [self._one(chance, "moves")]]
        renewed = {m.parameter for m in self.family.moves if cleared[m.cause]}
        for parameter in sorted(renewed):
            name = self.family.parameters[parameter]
            if PARAMETERS[name].place == "machine":
                other = self._one(chance, "new part", parameter)
                base[parameter] = self.draws.base[parameter, other]
        causes = np.flatnonzero(present).tolist()
        return values_with(self.family, Draws(base, moves), causes)

    def _one(self, chance: Chance, *key: str | int) -> int:
        return int(chance.at(*key) * self.draws.count)


def stopped_for(
    machines: Machines, model: FaultModel, chance: Chance, present: Bools
) -> int | None:
    """The condition for which the machine stops; None where no cause moves it, or it does not."""
    moved = {move.cause for move in machines.family.moves}
    if not any(int(cause) in moved for cause in np.flatnonzero(present)):
        return None
    values = machines.of_call(chance, present, np.zeros_like(present))
    limits = machines.family.controller
    first = int(noticed(play_any(values, limits), limits, model).first[0])
    return None if first < 0 else first


@dataclass(frozen=True, slots=True)
class Now:
    """The machine when it is measured: what is in it, what was cleared, what of it shows."""

    present: Bools
    cleared: Bools
    shows: bool
    remedies_done: int


def measure(
    machines: Machines, reading: Reading, at: tuple[int, int], now: Now, chance: Chance
) -> Measured:
    """What the instrument shows; ``at`` is (check, observer).

    The error is that of the pack's instrument, now and then it is a blunder, and a cause
    that spoils the reading makes it one with its own chance.
    """
    check, observer = at
    key = ("reading", check, observer, now.remedies_done)
    there = now.present if now.shows or not reading.needs_fault else np.zeros_like(now.present)
    values = machines.of_call(chance, there, now.cleared)
    true = float(np.ravel(QUANTITIES[reading.quantity].formula(values))[0])
    spoiled = [share for cause, share in reading.spoiled_by if now.present[cause]]
    astray = 1.0 - (1.0 - BLUNDER) * float(np.prod([1.0 - share for share in spoiled]))
    if chance.happens(astray, "blunder", *key):
        if chance.happens(BLUNDER_NONE, "no number", *key):
            return Measured(check, 0.0, NONE, observer, now.remedies_done)
        true *= 10.0 ** (DECADES * (2.0 * chance.at("anything", *key) - 1.0))
    if np.isnan(true) or np.isneginf(true):
        return Measured(check, 0.0, NONE, observer, now.remedies_done)
    shown = _with_error(reading, true, observer, chance, key)
    if shown >= reading.most:
        return Measured(check, reading.most, OVER, observer, now.remedies_done)
    return Measured(check, shown, IS, observer, now.remedies_done)


def _with_error(
    reading: Reading, true: float, observer: int, chance: Chance, key: Sequence[str | int]
) -> float:
    if not np.isfinite(true):
        return true
    from scipy.special import ndtri  # noqa: PLC0415  # keeps start-up fast

    slip = float(ndtri(np.clip(chance.at("error", *key), 1e-9, 1.0 - 1e-9)))
    share, plain = reading.share[observer], reading.plain[observer]
    if share >= LARGE_SHARE and true > 0.0:
        return true * float(np.exp(np.hypot(share, plain / true) * slip))
    return true + float(np.hypot(share * true, plain)) * slip
