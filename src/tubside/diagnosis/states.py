r"""P(outcome of a finding | set of causes).

Graded outcomes run from worst (0) to best and combine by noisy-MAX (Diez 1993,
"Parameter adjustment in Bayes networks: the generalized noisy OR-gate", UAI;
from memory): with :math:`T(o \mid x) = P(\text{index} \ge o \mid x)`

.. math:: T(o \mid S) = T(o \mid \text{healthy})
          \prod_{i \in S} \frac{T(o \mid i)}{T(o \mid \text{healthy})}

so that one cause gives exactly its own row. Where rows speak *for* health the
product can pass 1 or rise with o; it is then cut to the nearest lower bound.
For kinds, the first cause in the pack's order of dominance decides.
"""

from __future__ import annotations

import numpy as np

from tubside.pack.fault_model import Bools, FaultModel, Finding, Floats

TINY = 1e-12


def log_ratios(finding: Finding) -> Floats:
    """log T(o | cause) / T(o | healthy) for graded findings: (m, k)."""
    return np.asarray(np.log(_at_least(finding.rows)) - np.log(_at_least(finding.healthy)))


def state_table(finding: Finding, sets: Bools) -> Floats:
    """P(outcome | S) while the fault shows, for each set (N, n): (N, k)."""
    inside = sets[:, finding.touched]
    if not finding.graded:
        return _dominated(finding, inside)
    tail = np.exp(inside @ log_ratios(finding)) * _at_least(finding.healthy)
    tail = np.minimum.accumulate(np.minimum(tail, 1.0), axis=1)
    table = tail.copy()
    table[:, :-1] -= tail[:, 1:]
    return np.asarray(table)


def seen_table(model: FaultModel, number: int, sets: Bools) -> Floats:
    """P(outcome | S) on a day when the fault may not show: (N, k).

    Only causes that alter the finding count: another that shows makes nothing of it.
    """
    finding = model.findings[number]
    table = state_table(finding, sets)
    if not finding.needs_fault:
        return table
    shows = 1.0 - np.exp(sets[:, finding.touched] @ log_quiet(model, finding))[:, None]
    return np.asarray(shows * table + (1.0 - shows) * finding.healthy)


def log_quiet(model: FaultModel, finding: Finding) -> Floats:
    """log of the chance that a cause which alters the finding does not show on one run: (m,)."""
    return np.asarray(np.log1p(-np.minimum(model.shows[finding.touched], 1.0 - TINY)))


def showing(model: FaultModel, sets: Bools) -> Floats:
    """Chance that something of the set shows on one run: (N,)."""
    return np.asarray(1.0 - np.exp(sets @ np.log1p(-np.minimum(model.shows, 1.0 - TINY))))


def _at_least(rows: Floats) -> Floats:
    """P(index >= o) along the last axis, kept off zero."""
    return np.maximum(np.cumsum(rows[..., ::-1], axis=-1)[..., ::-1], TINY)


def _dominated(finding: Finding, inside: Bools) -> Floats:
    if not inside.shape[1]:
        return np.tile(finding.healthy, (len(inside), 1))
    first = inside.argmax(axis=1)
    some = np.asarray(inside.any(axis=1))
    return np.where(some[:, None], finding.rows[first], finding.healthy)
