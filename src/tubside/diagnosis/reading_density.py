r"""P(everything measured | set of causes), all readings of a job together.

.. math:: p(x_1 \dots x_k \mid S) = \frac{1}{D} \sum_d \prod_j p(x_j \mid \theta_d, S)

over the same D machines :math:`\theta_d` for every reading: what one reading tells of
this machine and site (its pressure, its drain lift) is carried to the next. Readings that
share no parameter are independent, and each such group has a mean of its own.

Only the causes that alter what was measured matter: sets are grouped by those, their
signature, and the mean is worked out once for each. When the same observer measures the
same quantity again, the error of last time comes again with the stated chance; a new
instrument has an error of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import IS, Evidence, Measured
from tubside.diagnosis.hypotheses import Rows
from tubside.diagnosis.instrument import BLUNDER, ROOT_TAU, blunder, chance, error, largest
from tubside.diagnosis.reading_signatures import Seen, Signed, signatures, stripped
from tubside.pack.fault_model import (
    FaultModel,
    Floats,
    Ints,
    Reading,
    Signature,
    Usual,
)

SCATTER = 0.25
"""A repeated error comes again to within this share of itself (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading that says something, and the one before it whose error it may repeat."""

    measured: Measured
    reading: Reading
    before: int = -1  # its place in the group


Group = tuple[Read, ...]
"""Readings that depend on one another, in their order."""


def reading_log(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """log P(everything measured | row), numbers as densities: (N,)."""
    total = np.zeros(len(rows.owner))
    for group in groups(model, evidence.readings):
        total += group_log(model, group, rows)
    return total


def group_log(model: FaultModel, group: Group, rows: Rows, *, spoiled: bool = False) -> Floats:
    """log P(the readings of one group | row): (N,); at most this if ``spoiled`` by anything."""
    signed = signatures(model, [(r.reading, r.measured.epoch) for r in group], rows)
    weights = draw_weights(model, group, signed, spoiled=spoiled)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(weights.mean(axis=1))[signed.index])


def added_log(
    model: FaultModel, before: Sequence[Measured], measured: Measured, rows: Rows
) -> Floats:
    """log P(one more reading | row, the readings before): (N,)."""
    for group in groups(model, [*before, measured]):
        if group[-1].measured is measured:
            signed = signatures(model, [(r.reading, r.measured.epoch) for r in group], rows)
            each = reading_chances(model, group, signed)
            earlier = np.multiply.reduce(each[:-1]) if len(each) > 1 else np.ones(1)
            with np.errstate(divide="ignore"):
                gain = np.log((earlier * each[-1]).sum(axis=-1) / _total(earlier, each[-1]))
            return np.asarray(gain[signed.index])
    return np.zeros(len(rows.owner))


def _total(weights: Floats, like: Floats) -> Floats:
    return np.asarray(np.broadcast_to(weights, like.shape).sum(axis=-1))


def touching_any(model: FaultModel, readings: Sequence[Measured]) -> Ints:
    """Causes that alter anything measured."""
    found: set[int] = set()
    for one in (read for group in groups(model, readings) for read in group):
        assert model.predicting is not None
        found |= set(model.predicting.touching(one.reading.quantity).tolist())
    return np.array(sorted(found), dtype=np.int64)


def largest_of_rows(model: FaultModel, readings: Sequence[Measured], rows: Rows) -> float:
    """The most that P(everything measured) is over rows, spoiled by whatever else."""
    total = np.zeros(len(rows.owner))
    for group in groups(model, readings):
        total += group_log(model, group, rows, spoiled=True)
    return float(np.exp(total.max(initial=-np.inf)))


def largest_chance(model: FaultModel, readings: Sequence[Measured]) -> float:
    """The most that P(everything measured | S) can be for any set S at all."""
    most = 1.0
    for one in (read for group in groups(model, readings) for read in group):
        assert model.predicting is not None
        usual = model.predicting.usual(one.reading.quantity)
        top = largest(one.reading, usual, one.measured)
        if one.before >= 0:
            echo = model.repeat_errs_same
            top = (1.0 - echo) * top + echo * _largest_echo(one, usual)
        most *= top
    return most


def _largest_echo(one: Read, usual: Usual) -> float:
    if one.measured.says != IS:
        return 1.0
    least = SCATTER * float(error(one.reading, usual, np.zeros(1), one.measured.observer)[0])
    return usual.unit / (least * ROOT_TAU) + 1e-3 * blunder(usual, one.measured)


def groups(model: FaultModel, readings: Sequence[Measured]) -> list[Group]:
    """Readings that say something, those that share a parameter together."""
    if model.predicting is None:
        return []
    parts: list[tuple[set[str], list[tuple[Measured, Reading]]]] = []
    for measured in readings:
        reading = model.checks[measured.check].reading
        if reading is None:
            continue
        reading = with_own_error(reading, measured)
        needs = set(model.predicting.needs(reading.quantity)) | {f"quantity {reading.quantity}"}
        shared = [part for part in parts if part[0] & needs]
        together = [one for part in shared for one in part[1]]
        parts = [part for part in parts if not part[0] & needs]
        parts.append((needs.union(*(p[0] for p in shared)), [*together, (measured, reading)]))
    order = {id(measured): n for n, measured in enumerate(readings)}
    return [_chained(sorted(p[1], key=lambda one: order[id(one[0])])) for p in parts]


def with_own_error(reading: Reading, measured: Measured) -> Reading:
    """A reading with the error told with its number, where one was."""
    if measured.error <= 0.0:
        return reading
    return replace(reading, share=(0.0, 0.0), plain=(measured.error, measured.error))


def _chained(several: Sequence[tuple[Measured, Reading]]) -> Group:
    """Leave out what adds nothing, and tie each repeat to the reading before it."""
    kept: list[Read] = []
    last: dict[tuple[str, int], int] = {}
    for measured, reading in several:
        place = (reading.quantity, measured.observer)
        before = last.get(place, -1)
        if before >= 0:
            old = kept[before].measured
            if not measured.again and _same(old, measured):
                continue
            if old.instrument != measured.instrument:
                before = -1
        last[place] = len(kept)
        kept.append(Read(measured, reading, before))
    return tuple(kept)


def _same(one: Measured, other: Measured) -> bool:
    return replace(one, observer=other.observer, again=other.again) == other


def draw_weights(
    model: FaultModel, group: Group, signed: Signed, *, spoiled: bool = False
) -> Floats:
    """P(the readings of the group | machine d, signature): (U, D)."""
    each = reading_chances(model, group, signed, spoiled=spoiled)
    return np.asarray(np.multiply.reduce(each))


def reading_chances(
    model: FaultModel, group: Group, signed: Signed, *, spoiled: bool = False
) -> list[Floats]:
    """P(each reading | machine d, signature, the readings before it): one (U, D) each.

    If ``spoiled``, the most that it can be whatever chance there is of a wild number.
    """
    values = [values_of(model, signed.of(r.reading, r.measured.epoch), r.reading) for r in group]
    result = []
    for one, value in zip(group, values, strict=True):
        before = None if one.before < 0 else (group[one.before], values[one.before])
        fresh = _fresh(one, value, spoiled=spoiled)
        result.append(fresh if before is None else _repeated(model, (one, value), before, fresh))
    return result


@dataclass(frozen=True, slots=True)
class Values:
    """A quantity in every group and machine, with its causes and with none of them."""

    there: Floats  # (U, D)
    resolved: Floats  # (U, D)
    sound: Floats | None  # (U, D) where the fault need not show
    sound_resolved: Floats
    shows: Floats  # (U,)
    astray: Floats  # (U,) chance that the number has nothing to do with it
    usual: Usual


def values_of(model: FaultModel, seen: Seen, reading: Reading) -> Values:
    """Values of what is measured, for each signature."""
    predicting = model.predicting
    assert predicting is not None
    quantity, keys = reading.quantity, seen.keys
    there, resolved = predicting.values(quantity, keys)
    usual = predicting.usual(quantity)
    astray = 1.0 - (1.0 - BLUNDER) * (1.0 - seen.spoiled)
    if not reading.needs_fault:
        return Values(there, resolved, None, resolved, np.ones(len(keys)), astray, usual)
    sound, sound_resolved = predicting.values(quantity, [stripped([0, *k[1:]]) for k in keys])
    shows = _shows(model, predicting.touching(quantity), keys)
    return Values(there, resolved, sound, sound_resolved, shows, astray, usual)


def _shows(model: FaultModel, touching: Ints, keys: tuple[Signature, ...]) -> Floats:
    """Chance that a cause of the signature shows on one run: (U,)."""
    shows = model.shows[touching]
    quiet = [
        np.prod([1.0 - shows[i] for i in range(len(touching)) if k and k[0] >> i & 1]) for k in keys
    ]
    return 1.0 - np.array(quiet)


def _fresh(one: Read, value: Values, *, spoiled: bool) -> Floats:
    """P(one reading | machine, signature) with an error of its own: (U, D)."""
    result = chance(one.reading, value.usual, value.there, value.resolved, one.measured)
    if value.sound is not None:
        sound = chance(one.reading, value.usual, value.sound, value.sound_resolved, one.measured)
        shows = value.shows[:, None]
        result = shows * result + (1.0 - shows) * sound
    wild = blunder(value.usual, one.measured)
    if spoiled:
        return np.asarray(np.maximum(result, wild))
    astray = value.astray[:, None]
    return np.asarray((1.0 - astray) * result + astray * wild)


def _repeated(
    model: FaultModel, now: tuple[Read, Values], before: tuple[Read, Values], fresh: Floats
) -> Floats:
    """The same after a reading whose error may come again: (U, D)."""
    echo = model.repeat_errs_same
    return np.asarray(echo * _echoed(now, before) + (1.0 - echo) * fresh)


def _echoed(now: tuple[Read, Values], before: tuple[Read, Values]) -> Floats:
    """P(the number | the error of last time comes again): (U, D); no news where nothing changed."""
    (one, value), (old, old_value) = now, before
    if one.measured.says != IS or old.measured.says != IS:
        same = one.measured.says == old.measured.says
        return np.full_like(value.there, 1.0 if same else 0.0)
    shift = value.there - old_value.there
    expected = old.measured.value + np.where(np.isfinite(shift), shift, 0.0)
    scatter = SCATTER * error(one.reading, value.usual, np.abs(expected), one.measured.observer)
    density = np.exp(-0.5 * ((one.measured.value - expected) / scatter) ** 2)
    shown = value.usual.unit * density / (scatter * ROOT_TAU)
    return np.asarray(shown + 1e-3 * blunder(value.usual, one.measured))
