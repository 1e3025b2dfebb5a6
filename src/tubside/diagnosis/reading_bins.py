"""A reading as a step to come: what it may show, cut into bins, for each hypothesis.

For planning a number is one of a few bins, whose edges are quantiles of what the leading
hypotheses expect; for updating the number itself is used. The machines are weighed by
what was measured of them before. A last bin holds "no number at all", where that can be.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import Rows
from tubside.diagnosis.instrument import error
from tubside.diagnosis.reading_density import (
    Group,
    draw_weights,
    groups,
    values_of,
)
from tubside.diagnosis.reading_signatures import Signed, signatures
from tubside.pack.fault_model import Check, FaultModel, Floats, Ints, Reading, Usual

BINS = 5
LEADING = 12
"""Signatures whose expectations the bins are cut from."""
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True, slots=True)
class Binned:
    """P(bin | row) of one reading; bin b runs from edge b - 1 to edge b."""

    edges: Floats  # (b - 1,) [SI]
    none: bool  # whether a last bin stands for "no number"
    said: Floats  # (N, bins)


@dataclass(frozen=True, slots=True)
class Shown:
    """What the instrument will show, sampled: one number a machine and signature."""

    signed: Signed
    numbers: Floats  # (U, D) [SI]; infinite and nan as in the values
    weights: Floats  # (U, D) rows sum to one: machines weighed by earlier readings
    astray: Floats  # (U,) chance that it shows anything at all


def binned(
    model: FaultModel, evidence: Evidence, belief: Belief, check: Check, observer: int
) -> Binned:
    """Cut a reading that is still to come into bins.

    Raises
    ------
    ValueError
        When the check is no reading, or nothing predicts it.
    """
    shown = shown_numbers(model, evidence, belief.rows, check, observer)
    mass = np.bincount(shown.signed.index, weights=belief.probability, minlength=len(shown.numbers))
    leading = np.argsort(-mass, kind="stable")[:LEADING]
    edges, none = _edges(shown.numbers[leading], shown.weights[leading] * mass[leading, None])
    table = _counted(shown, edges, none=none)
    astray = shown.astray[:, None]
    table = (1.0 - astray) * table + astray / table.shape[1]
    return Binned(edges, none, table[shown.signed.index])


def shown_numbers(
    model: FaultModel, evidence: Evidence, rows: Rows, check: Check, observer: int
) -> Shown:
    """Sample what the instrument will show now, for every signature of the rows."""
    reading = check.reading
    if reading is None or model.predicting is None:
        msg = "this check reads no number"
        raise ValueError(msg)
    now = len(evidence.treatments)
    earlier = _earlier(model, evidence, reading)
    wanted = [(reading, now), *((r.reading, r.measured.epoch) for r in earlier)]
    signed = signatures(model, wanted, rows)
    value = values_of(model, signed.of(reading, now), reading)
    numbers = _with_error(reading, model.predicting.usual(reading.quantity), value.there, observer)
    if value.sound is not None:
        hidden = _uniform(numbers.shape[1], 1) >= value.shows[:, None]
        usual = model.predicting.usual(reading.quantity)
        sound = _with_error(reading, usual, value.sound, observer)
        numbers = np.where(hidden, sound, numbers)
    return Shown(signed, numbers, _weights(model, earlier, signed, numbers.shape), value.astray)


def _earlier(model: FaultModel, evidence: Evidence, reading: Reading) -> Group:
    """The readings so far that tell something of the machines that this one asks of."""
    assert model.predicting is not None
    needs = model.predicting.needs(reading.quantity)
    for group in groups(model, evidence.readings):
        if any(model.predicting.needs(r.reading.quantity) & needs for r in group):
            return group
    return ()


def _weights(model: FaultModel, earlier: Group, signed: Signed, shape: tuple[int, ...]) -> Floats:
    if not earlier:
        return np.full(shape, 1.0 / shape[1])
    weights = draw_weights(model, earlier, signed)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _with_error(reading: Reading, usual: Usual, value: Floats, observer: int) -> Floats:
    with np.errstate(invalid="ignore"):
        shown = value + error(reading, usual, value, observer) * _normal(value.shape[1])
    shown = np.where(value >= 0.0, np.maximum(shown, 0.0), shown)  # no flow is below none
    return np.where(np.isposinf(value), np.inf, shown)


def _edges(numbers: Floats, weights: Floats) -> tuple[Floats, bool]:
    """Quantiles of the finite numbers, without doubles, and whether some show no number."""
    none = bool(np.isnan(numbers).any())
    finite = np.isfinite(numbers)
    flat, weight = numbers[finite], weights[finite]
    if not len(flat):
        return np.zeros(0), none
    order = np.argsort(flat, kind="stable")
    held = np.cumsum(weight[order])
    share = np.arange(1, BINS) / BINS * held[-1]
    edges = np.unique(flat[order][np.searchsorted(held, share).clip(max=len(flat) - 1)])
    if np.isposinf(numbers).any() and flat.max() not in edges:
        edges = np.append(edges[: BINS - 2], flat.max())
    return edges, none


def _counted(shown: Shown, edges: Floats, *, none: bool) -> Floats:
    """P(bin | signature): (U, bins)."""
    below = [(shown.weights * (shown.numbers < edge)).sum(axis=1) for edge in edges]
    nothing = (shown.weights * np.isnan(shown.numbers)).sum(axis=1)
    upto = np.stack([np.zeros_like(nothing), *below, 1.0 - nothing], axis=1)
    table = np.maximum(np.diff(upto, axis=1), 0.0)
    return np.column_stack([table, nothing]) if none else table


@cache
def _uniform(count: int, number: int) -> Floats:
    """Evenly spread over (0, 1) in an order of its own."""
    return np.asarray(((np.arange(count) + 0.5) * _GOLDEN * (number + 1)) % 1.0)


@cache
def _normal(count: int) -> Floats:
    """Standard normal, evenly spread: the instrument's error on each machine."""
    bell = NormalDist()
    order: Ints = np.argsort(np.argsort(_uniform(count, 0)))
    return np.array([bell.inv_cdf((float(place) + 0.5) / count) for place in order])
