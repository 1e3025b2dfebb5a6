"""Sets of causes grouped by what matters to readings: which causes alter them, or spoil them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tubside.diagnosis.hypotheses import Rows
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints, Predicting, Reading, Signature

LARGEST_MASK = 62
Bits = npt.NDArray[np.uint64]
_ODD = np.uint64(0x9E3779B97F4A7C15)


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading in each of U groups: its signature, and the chance that a cause spoils it."""

    keys: tuple[Signature, ...]
    spoiled: Floats  # (U,)


@dataclass(frozen=True, slots=True)
class Signed:
    """Rows in groups that are alike for everything asked."""

    asked: tuple[tuple[Reading, int], ...]  # (reading, epoch)
    seen: tuple[Seen, ...]
    index: Ints  # (N,) the group of each row

    def of(self, reading: Reading, epoch: int) -> Seen:
        """What one reading meets at one time."""
        return self.seen[self.asked.index((reading, epoch))]


def signatures(model: FaultModel, wanted: Sequence[tuple[Reading, int]], rows: Rows) -> Signed:
    """Group rows by the causes that alter or spoil each (reading, epoch)."""
    assert model.predicting is not None
    asked = tuple(dict.fromkeys(wanted))
    masks = {
        place: _masks(model.predicting, *place, rows)
        for place in dict.fromkeys((reading.quantity, epoch) for reading, epoch in asked)
    }
    spoiled = [_spoiled(reading, epoch, rows) for reading, epoch in asked]
    mixed = np.zeros(len(rows.owner), dtype=np.uint64)
    for mask in (one for several in masks.values() for one in several):
        mixed = _mixed(mixed, mask.view(np.uint64))
    for chance in spoiled:
        if chance.any():
            mixed = _mixed(mixed, chance.view(np.uint64))
    _, first, index = np.unique(mixed, return_index=True, return_inverse=True)
    keys = {
        place: tuple(map(stripped, np.stack([m[first] for m in several], axis=1).tolist()))
        for place, several in masks.items()
    }
    seen = tuple(
        Seen(keys[reading.quantity, epoch], chance[first])
        for (reading, epoch), chance in zip(asked, spoiled, strict=True)
    )
    return Signed(asked, seen, index)


def stripped(bits: list[int]) -> Signature:
    """Bits without the zeros at their end."""
    while bits and not bits[-1]:
        bits.pop()
    return tuple(bits)


def _mixed(mixed: Bits, more: Bits) -> Bits:
    """Hash of both: rows that differ anywhere differ here, but for a chance of 2^-64."""
    mixed = (mixed ^ more) * _ODD
    return np.asarray(mixed ^ (mixed >> np.uint64(29)))


def _masks(predicting: Predicting, quantity: str, epoch: int, rows: Rows) -> list[Ints]:
    """Bits of the causes there, then of those each remedy cleared: one (N,) for each."""
    touching = predicting.touching(quantity)
    assert len(touching) <= LARGEST_MASK, f"too many causes alter {quantity}"
    weights = np.left_shift(np.int64(1), np.arange(len(touching), dtype=np.int64))

    def bits(states: Bools) -> Ints:
        return np.asarray(states[:, touching].astype(np.int64) @ weights)

    there = [bits(rows.states[e]) for e in range(epoch + 1)]
    cleared = [before & ~after for before, after in pairwise(there)]
    return [there[-1], *cleared]


def _spoiled(reading: Reading, epoch: int, rows: Rows) -> Floats:
    """P(a cause that is there spoils the reading): (N,)."""
    result = np.zeros(len(rows.owner))
    if reading.spoiled_by:
        causes = [cause for cause, _ in reading.spoiled_by]
        quiet = np.log1p(-np.array([chance for _, chance in reading.spoiled_by]))
        result = -np.expm1(rows.states[epoch][:, causes] @ quiet)
    return result
