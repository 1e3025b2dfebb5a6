r"""What accepted proposals do to the shares of causes at each complaint, before and after.

The share of origin i among calls reported as c is, by the pack's own tables,

    P(i | c) = w_i R[i, c] / sum_j w_j R[j, c]

with weights w and rows R of ``reported_as``: of the first cause of a call, a second fault left
out. The interval holds nine in ten of draws of the changed weights and rows about their means
(gamma draws, made to sum to one); what was not changed stays as the pack says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.learning.adopting import adopted
from tubside.learning.proportions import LEVEL, Floats
from tubside.learning.proposal import Proposal
from tubside.learning.tables import Tables, tables_of
from tubside.pack.reading import PackSource

DRAWS = 400
LEAST_SHARE = 0.005
"""Causes rarer than that before and after are left out."""


@dataclass(frozen=True, slots=True)
class ShareMoved:
    """The share of one origin at one complaint: before, after, and the interval of the latter."""

    origin: str
    before: float
    after: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Consequence:
    """One complaint, its origins by the share after; ``share`` of all calls before and after."""

    complaint: str
    before: float
    after: float
    origins: tuple[ShareMoved, ...]


def shares_by_complaint(tables: Tables) -> Floats:
    """P(origin | complaint): (m, c), columns sum to one."""
    joint = tables.weights[:, None] * tables.reported
    return np.asarray(joint / joint.sum(axis=0, keepdims=True))


def consequences(
    source: PackSource, chosen: Sequence[Proposal], seed: int = 0
) -> tuple[Consequence, ...]:
    """Shares per complaint without and with the chosen proposals, in the order of the pack.

    Parameters
    ----------
    source : PackSource
        The pack that the proposals were made on.
    chosen : sequence of Proposal
        Those to be accepted; others than weights and rows of reports change nothing here.
    seed : int
        Of the draws for the intervals: the same seed, the same intervals.
    """
    before = tables_of(source.pack)
    speaking = [one for one in chosen if one.what in {"weight", "reported"}]
    after = tables_of(adopted(source, speaking).pack)
    drawn = _drawn(after, speaking, np.random.default_rng(seed))
    tail = (1.0 - LEVEL) / 2.0
    low, high = np.quantile(drawn, [tail, 1.0 - tail], axis=0)
    old, new = shares_by_complaint(before), shares_by_complaint(after)
    shown_before = before.weights @ before.reported
    shown_after = after.weights @ after.reported
    low, high = np.minimum(low, new), np.maximum(high, new)
    return tuple(
        Consequence(
            complaint,
            float(shown_before[c]),
            float(shown_after[c]),
            tuple(
                ShareMoved(before.origins[i], *_numbers(old, new, low, high, (i, c)))
                for i in np.argsort(-new[:, c], kind="stable").tolist()
                if max(old[i, c], new[i, c]) >= LEAST_SHARE
            ),
        )
        for c, complaint in enumerate(before.conditions)
    )


def _numbers(
    old: Floats, new: Floats, low: Floats, high: Floats, at: tuple[int, int]
) -> tuple[float, float, float, float]:
    return float(old[at]), float(new[at]), float(low[at]), float(high[at])


def _drawn(after: Tables, chosen: Sequence[Proposal], rng: np.random.Generator) -> Floats:
    """Draws of P(origin | complaint): (draws, m, c)."""
    weights = np.repeat(after.weights[None], DRAWS, axis=0)
    reported = np.repeat(after.reported[None], DRAWS, axis=0)
    for one in chosen:
        i = after.origin(one.target[1])
        size = one.jobs + one.prior_jobs
        if one.what == "weight":
            weights[:, i] = rng.gamma(np.maximum(size * after.weights[i], 1e-6), size=DRAWS) / size
        else:
            shape = np.maximum(size * after.reported[i], 1e-6)
            row = rng.gamma(shape[None], size=(DRAWS, len(shape)))
            reported[:, i] = row / row.sum(axis=1, keepdims=True)
    joint = weights[:, :, None] * reported
    return np.asarray(joint / joint.sum(axis=1, keepdims=True))
