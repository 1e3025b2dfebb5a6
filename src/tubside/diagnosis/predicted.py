"""What each quantity comes to on many machines of one family, with any causes inside.

The same machines serve every quantity and every job. What is asked once is kept: values
belong to a quantity and a signature, the causes that alter it. Where a remedy cleared a
cause, its moves are undone, and the parts that they had touched are others: they are
drawn anew. What belongs to the site or the load stays as it was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from threading import RLock

import numpy as np
import numpy.typing as npt

from tubside.diagnosis.machine_part import Drawn, Part, Quantity, drawn, part_of
from tubside.machine.draws import Draws, values_with_sets
from tubside.pack.fault_model import Bools, Floats, Ints, Machine, Signature, Usual

DRAWS = 256
NEIGHBOURS = 48
"""Draws tell values apart as finely as one part in so many of them lies together: with
less, a fine instrument would only count the few draws beside its number."""
ALTERS = 1e-3
"""A cause that changes a number by less than this share of it does not alter it."""
GOLDEN = 0.6180339887498949
MOST_AT_ONCE = 64
SOUND: Signature = ()


Singles = npt.NDArray[np.float32]
"""Values are kept in single precision, so that what is read back is what was worked out."""


@dataclass(slots=True)
class Kept:
    """Values of one quantity, one row for each signature asked so far."""

    row: dict[Signature, int] = field(default_factory=dict)
    values: list[Singles] = field(default_factory=list)  # (D,) each
    resolved: list[Singles] = field(default_factory=list)  # (D,) each

    def put(self, signature: Signature, values: Floats) -> None:
        """Keep one row."""
        single = values.astype(np.float32)
        fine = fineness(single.astype(float)).astype(np.float32)
        self.put_both(signature, single, fine)

    def put_both(self, signature: Signature, values: Singles, resolved: Singles) -> None:
        """Keep one row of which both parts are known."""
        self.row[signature] = len(self.values)
        self.values.append(values)
        self.resolved.append(resolved)


class Predicted:
    """Values of quantities under causes, worked out when asked and kept.

    Parameters
    ----------
    machine
        The compiled machine of the pack.
    quantities
        Name -> what can be measured.
    count
        Number of machines, D.
    draws
        The machines, where they were drawn already.

    Attributes
    ----------
    at_first
        Called once before the first values are given: it may put in what was kept.
    """

    def __init__(
        self,
        machine: Machine,
        quantities: Mapping[str, Quantity],
        count: int = DRAWS,
        draws: Drawn | None = None,
    ) -> None:
        self.machine = machine
        self.quantities = quantities
        self.count = count
        self._draws = draws
        self.at_first: Callable[[], None] | None = None
        self.kept: dict[str, Kept] = {}
        self._lock = RLock()
        self._parts: dict[str, Part] = {}
        self._altering: dict[str, Ints] = {}
        self._usual: dict[str, Usual] = {}

    def touching(self, quantity: str) -> Ints:
        """The causes that alter the quantity: (m,)."""
        return self.part(quantity).causes

    def needs(self, quantity: str) -> frozenset[str]:
        """The parameters it depends on that are not the same on every machine."""
        part = self.part(quantity)
        moved = {move.parameter for move in part.machine.moves}
        names = enumerate(part.machine.parameters)
        return frozenset(n for i, n in names if part.machine.spread[i] > 0.0 or i in moved)

    def values(self, quantity: str, signatures: Sequence[Signature]) -> tuple[Floats, Floats]:
        """Values [SI] and how finely the draws resolve them [SI]: both (U, D)."""
        with self._lock:
            self._begin()
            return self._values(quantity, signatures)

    def put(self, draws: Drawn, kept: Mapping[str, Kept], altering: Mapping[str, Ints]) -> None:
        """Take in machines, values and the causes that alter them, worked out before."""
        self._draws = draws
        self.kept.update(kept)
        self._altering.update(altering)

    def _begin(self) -> None:
        if self.at_first is not None:
            first, self.at_first = self.at_first, None
            first()

    def _values(self, quantity: str, signatures: Sequence[Signature]) -> tuple[Floats, Floats]:
        kept = self.kept.setdefault(quantity, Kept())
        missing = [one for one in dict.fromkeys(signatures) if one not in kept.row]
        for start in range(0, len(missing), MOST_AT_ONCE):
            several = missing[start : start + MOST_AT_ONCE]
            found = self._worked_out(self.part(quantity), several)
            for signature, values in zip(several, found, strict=True):
                kept.put(signature, values)
        rows = [kept.row[one] for one in signatures]
        shape = (len(rows), self.count)
        return (
            np.array([kept.values[row] for row in rows], dtype=float).reshape(shape),
            np.array([kept.resolved[row] for row in rows], dtype=float).reshape(shape),
        )

    def usual(self, quantity: str) -> Usual:
        """What a sound machine has."""
        if quantity not in self._usual:
            self._usual[quantity] = _usual(self.values(quantity, [SOUND])[0][0])
        return self._usual[quantity]

    @property
    def draws(self) -> Drawn:
        """The machines as built."""
        if self._draws is None:
            self._draws = drawn(self.machine, self.count)
        return self._draws

    def other_parts(self, renewals: int) -> Floats:
        """The same machines' parameters, each part from another machine: (p, D)."""
        places = (np.arange(self.count) + 0.5) * (GOLDEN * renewals) % 1.0
        return np.asarray(self.draws.base[:, np.argsort(places, kind="stable")])

    def part(self, quantity: str) -> Part:
        """The machine as far as the quantity needs it, with the causes that alter it.

        A cause that alone alters the number on none of the machines is taken to alter it
        on none together with others.
        """
        with self._lock:
            self._begin()
            if quantity not in self._parts:
                whole = part_of(self.machine, self.quantities[quantity])
                if quantity not in self._altering:
                    self._altering[quantity] = self._that_alter(whole)
                some = self._altering[quantity]
                self._parts[quantity] = part_of(self.machine, self.quantities[quantity], some)
            return self._parts[quantity]

    def _that_alter(self, whole: Part) -> Ints:
        """The causes whose moves alter the quantity at all."""
        alone: list[Signature] = [SOUND, *((1 << i,) for i in range(len(whole.causes)))]
        values = [
            row
            for start in range(0, len(alone), MOST_AT_ONCE)
            for row in self._worked_out(whole, alone[start : start + MOST_AT_ONCE])
        ]
        usual = _usual(values[0])
        alters = [
            not np.allclose(row, values[0], rtol=ALTERS, atol=ALTERS * usual.unit, equal_nan=True)
            for row in values[1:]
        ]
        return np.asarray(whole.causes[np.array(alters, dtype=bool)])

    def _worked_out(self, part: Part, signatures: Sequence[Signature]) -> Floats:
        """One call of the formula for several signatures: (U, D)."""
        there = np.array([_bits(s[0] if s else 0, len(part.causes)) for s in signatures])
        base = [self._base(part, signature) for signature in signatures]
        times = len(signatures)
        normal = np.tile(self.draws.normal[part.moves], times)
        moving = there.reshape(times, -1)[:, part.cause_of].T
        present = np.repeat(moving, self.count, axis=1)
        present &= np.tile(self.draws.inside[part.moves], times)
        draws = Draws(np.concatenate(base, axis=1), normal)
        with np.errstate(all="ignore"):
            values = part.quantity.formula(values_with_sets(part.machine, draws, present))
        whole = np.broadcast_to(np.asarray(values, dtype=float), (times * self.count,))
        return np.where(np.isneginf(whole), np.nan, whole).reshape(len(signatures), self.count)

    def _base(self, part: Part, signature: Signature) -> Floats:
        """Parameters before any cause, parts touched by cleared causes drawn anew: (p, D)."""
        base = self.draws.base[part.rows]
        renewals = np.zeros(len(part.rows), dtype=int)
        for cleared in signature[1:]:
            bits = _bits(cleared, len(part.causes))
            touched = {row for i in np.flatnonzero(bits) for row in part.renewed[i]}
            renewals[list(touched)] += 1
        if not renewals.any():
            return base
        base = base.copy()
        for row in np.flatnonzero(renewals):
            base[row] = self.other_parts(int(renewals[row]))[part.rows[row]]
        return base


def _usual(values: Floats) -> Usual:
    finite = values[np.isfinite(values)]
    if not len(finite):
        return Usual(0.0, 1.0)
    return Usual(float(np.median(finite)), robust_spread(values))


def fineness(values: Floats) -> Floats:
    """How near the neighbours of each value lie, on the side where they are nearer: (D,)."""
    result = np.zeros(len(values))
    finite = np.flatnonzero(np.isfinite(values))
    steps = max(1, len(values) // NEIGHBOURS)
    if len(finite) <= steps:
        return result
    order = finite[np.argsort(values[finite], kind="stable")]
    gaps = values[order][steps:] - values[order][:-steps]
    beside = np.full(steps, np.inf)
    result[order] = np.minimum(np.append(gaps, beside), np.append(beside, gaps))
    return np.where(np.isfinite(result), result, 0.0)


def robust_spread(values: Floats) -> float:
    """Half the width of the middle 68 % of the finite values."""
    finite = values[np.isfinite(values)]
    if not len(finite):
        return 0.0
    low, high = np.percentile(finite, [15.865, 84.135])
    return float(high - low) / 2.0


def _bits(number: int, count: int) -> Bools:
    return np.array([number >> i & 1 for i in range(count)], dtype=bool)
