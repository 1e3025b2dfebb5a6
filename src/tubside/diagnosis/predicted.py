"""What each quantity comes to on many machines of one family, with any causes inside.

The same machines serve every quantity and every job. What is asked once is kept: values
belong to a quantity and a signature, the causes that alter it. Where a remedy cleared a
cause, its moves are undone, and the parts that they had touched are others: they are
drawn anew. What belongs to the site or the load stays as it was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from threading import RLock
from typing import Protocol

import numpy as np
import numpy.typing as npt

from tubside.machine.draws import Draws, Values, base_draws, in_share, values_with_sets
from tubside.pack.fault_model import Bools, Floats, Ints, Machine, Signature, Usual
from tubside.pack.parameters import PARAMETERS

DRAWS = 256
NEIGHBOURS = 48
"""Draws tell values apart as finely as one part in so many of them lies together: with
less, a fine instrument would only count the few draws beside its number."""
GOLDEN = 0.6180339887498949
MOST_AT_ONCE = 64
SOUND: Signature = ()


class Quantity(Protocol):
    """What can be measured: the parameters it needs, and how it follows from them."""

    @property
    def needs(self) -> frozenset[str]:
        """Names of parameters."""

    @property
    def formula(self) -> Callable[[Values], Floats]:
        """Values of the parameters -> the quantity [SI], for many machines at once."""


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


@dataclass(frozen=True, slots=True)
class Drawn:
    """Machines, with the share of each move settled: in which it happens, and how far."""

    base: Floats  # (p, D)
    normal: Floats  # (m, D) standard normal where the move happens
    inside: Bools  # (m, D)


@dataclass(frozen=True, slots=True)
class Part:
    """The machine as far as one quantity needs it, its causes counted from 0."""

    quantity: Quantity
    machine: Machine  # each of its moves stands for a cause of its own
    rows: Ints  # its parameters, in the whole machine
    moves: Ints  # its moves, in the whole machine
    cause_of: Ints  # for each move, the place of its cause
    causes: Ints  # (m,)
    renewed: tuple[tuple[int, ...], ...]  # for each cause, its parameters that are parts


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
            if self.at_first is not None:
                first, self.at_first = self.at_first, None
                first()
            return self._values(quantity, signatures)

    def put(self, draws: Drawn, kept: Mapping[str, Kept]) -> None:
        """Take in machines and values that were worked out before."""
        self._draws = draws
        self.kept.update(kept)

    def _values(self, quantity: str, signatures: Sequence[Signature]) -> tuple[Floats, Floats]:
        kept = self.kept.setdefault(quantity, Kept())
        missing = [one for one in dict.fromkeys(signatures) if one not in kept.row]
        for start in range(0, len(missing), MOST_AT_ONCE):
            several = missing[start : start + MOST_AT_ONCE]
            for signature, values in zip(several, self._worked_out(quantity, several), strict=True):
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
        """The machine as far as the quantity needs it."""
        if quantity not in self._parts:
            self._parts[quantity] = part_of(self.machine, self.quantities[quantity])
        return self._parts[quantity]

    def _worked_out(self, quantity: str, signatures: Sequence[Signature]) -> Floats:
        """One call of the formula for several signatures: (U, D)."""
        part = self.part(quantity)
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


def part_of(machine: Machine, quantity: Quantity) -> Part:
    """Cut the machine down to what one quantity needs."""
    rows = np.array([i for i, n in enumerate(machine.parameters) if n in quantity.needs], dtype=int)
    place = {int(row): i for i, row in enumerate(rows)}
    moves = np.array([i for i, m in enumerate(machine.moves) if m.parameter in place], dtype=int)
    causes = np.unique(np.array([machine.moves[i].cause for i in moves], dtype=np.int64))
    order = {int(cause): i for i, cause in enumerate(causes)}
    own = [machine.moves[i] for i in moves]
    few = tuple(
        replace(m, cause=i, parameter=place[m.parameter], share=1.0) for i, m in enumerate(own)
    )
    cause_of = np.array([order[m.cause] for m in own], dtype=np.int64)
    cut = Machine(
        parameters=tuple(machine.parameters[i] for i in rows),
        middle=machine.middle[rows],
        spread=machine.spread[rows],
        logarithmic=machine.logarithmic[rows],
        low=machine.low[rows],
        high=machine.high[rows],
        moves=few,
        controller=machine.controller,
    )
    return Part(quantity, cut, rows, moves, cause_of, causes, _renewed(cut, cause_of, len(causes)))


def _renewed(machine: Machine, cause_of: Ints, causes: int) -> tuple[tuple[int, ...], ...]:
    """For each cause, the parameters of the machine itself that it moves."""
    touched: list[set[int]] = [set() for _ in range(causes)]
    for move, cause in zip(machine.moves, cause_of, strict=True):
        if PARAMETERS[machine.parameters[move.parameter]].place == "machine":
            touched[int(cause)].add(move.parameter)
    return tuple(tuple(sorted(rows)) for rows in touched)


def drawn(machine: Machine, count: int) -> Drawn:
    """``count`` machines, and for each of their moves whether it happens."""
    draws = base_draws(machine, count)
    inside = np.ones(draws.moves.shape, dtype=bool)
    normal = draws.moves.copy()
    for row, move in enumerate(machine.moves):
        if move.share < 1.0:
            inside[row], normal[row] = in_share(move.share, draws.moves[row])
    return Drawn(draws.base, normal, inside)


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
