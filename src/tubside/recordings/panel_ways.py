"""Whole panels explained: by one explanation, or by two where two multiplexes drive the lamps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_fits import Explanation, LampFit

Array = NDArray[np.float64]
SPLIT_NATS = 60.0
CHANCE_NATS = 60.0
STEPS = (1.0, 2.0, 3.0)
IN_STEP = 0.5
APART_TURNS = 1.0
ALWAYS = 1.1


@dataclass(frozen=True, slots=True)
class Way:
    """One way to account for a panel: its parts, each with the lamps it explains as ``lit``.

    ``rows`` are nats of off, steady and flashing, shape (lamps, 3); ``nats`` those of all lamps
    together, each over its states, less what the way costs.
    """

    parts: tuple[Explanation, ...]
    lamps: tuple[LampFit, ...]
    rows: Array
    nats: float

    @property
    def lit(self) -> NDArray[np.bool_]:
        """Lamps that were seen lit."""
        return np.asarray(np.any([part.lit for part in self.parts], axis=0))

    @property
    def strobes(self) -> bool:
        """Whether some lit lamps go dark on camera."""
        return any(strobes(part) for part in self.parts)


def strobes(explanation: Explanation) -> bool:
    """Return whether lit lamps go dark on camera."""
    return explanation.beat is not None and explanation.beat.kind.share < ALWAYS


def panel_ways(tried: list[Explanation], length_s: float) -> list[Way]:
    """Return every way to account for a panel, those of one explanation first.

    Lamps of one board share a multiplex; a second board, or a second driver, may have its own.
    Each lamp is then of either, at even odds, and the second multiplex costs ``SPLIT_NATS``
    beside its own price. ``length_s`` is the clip's length.
    """
    rows = [explanation.rows for explanation in tried]
    ways = [Way((one,), one.lamps, row, one.nats) for one, row in zip(tried, rows, strict=True)]
    for a, b in combinations(range(len(tried)), 2):
        if differ(tried[a], tried[b], length_s):
            ways.append(split((tried[a], tried[b]), (rows[a], rows[b]), length_s))
    return ways


def differ(one: Explanation, other: Explanation, length_s: float) -> bool:
    """Return whether two explanations have clearly different beats."""
    if one.beat is None or other.beat is None:
        return one.beat is not other.beat
    return abs(one.beat.rate_hz - other.beat.rate_hz) * length_s > APART_TURNS


def chance_step(one: Explanation, other: Explanation, length_s: float) -> Array:
    """Return what lamps of one part cost that flash in step with the beat of the other.

    Such a flash is a steady lamp of the other part, taken for another thing.
    """
    rates = np.array([1.0 / fit.rhythm.period_s for fit in one.lamps])
    if other.beat is None:
        return np.zeros(len(rates))
    off = np.abs(np.array(STEPS)[:, None] * other.beat.rate_hz - rates).min(0)
    return np.where(off * length_s < IN_STEP, CHANCE_NATS, 0.0)


def split(pair: tuple[Explanation, Explanation], rows: tuple[Array, Array], length_s: float) -> Way:
    """Return the way in which each lamp is of either explanation."""
    lit = pair[0].lit
    flashes = np.array([0.0, 0.0, 1.0])
    rows = (
        rows[0] - chance_step(pair[0], pair[1], length_s)[:, None] * flashes,
        rows[1] - chance_step(pair[1], pair[0], length_s)[:, None] * flashes,
    )
    both = np.logaddexp(*rows) - np.log(2.0)
    said = [np.logaddexp.reduce(row, axis=1) for row in rows]
    second = said[1] > said[0]
    lamps = tuple(
        b if taken else a for a, b, taken in zip(pair[0].lamps, pair[1].lamps, second, strict=True)
    )
    parts = (replace(pair[0], lit=lit & ~second), replace(pair[1], lit=lit & second))
    price = pair[0].price + pair[1].price + SPLIT_NATS
    nats = float(np.logaddexp.reduce(both, axis=1)[lit].sum()) - price
    return Way(tuple(part for part in parts if part.lit.any()), lamps, both, nats)
