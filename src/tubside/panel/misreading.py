"""How people misread lamps and sounds: rates, and rows of P(said | true).

A lamp's words are sorted as *off*, *steady* and *changing* (flashing or a count).
People mix steady with changing more than lit with unlit, and lose or add one blink
more often than two. Every row is positive and sums to one over all that can be said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

import numpy as np
import numpy.typing as npt

from tubside.panel.lights import FLASHING, MOST_BLINKS, OFF, SOUNDS, STEADY, Light, Sound, blinks

Observer = Literal["customer", "technician"]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MisreadRates:
    """Chances of one observer's slips; all of them common practice, no source."""

    lit_unlit: float
    """A lit lamp is called off, or an unlit one lit."""
    steady_changing: float
    """A steady lamp is called flashing (or a count), or the other way round."""
    not_counted: float
    """A count is called merely flashing, or a flashing lamp is given a count."""
    slip_per_blink: float
    """Each blink of a count is another chance to lose count."""
    further_slip: float
    """Chance of a count off by n + 1, as a share of that of a count off by n."""
    sound_missed: float
    """A sound is called none, or silence is given a sound."""
    sound_mixed: float
    """A sound is called another kind of sound."""
    another_message: float
    """The whole panel is misread: another message is told in place of this one."""
    display_wrong: float = 0.03
    """The text on a display is told as another."""


RATES: Mapping[Observer, MisreadRates] = MappingProxyType(
    {
        "customer": MisreadRates(
            lit_unlit=0.02,
            steady_changing=0.05,
            not_counted=0.10,
            slip_per_blink=0.02,
            further_slip=0.25,
            sound_missed=0.12,
            sound_mixed=0.15,
            another_message=0.02,
        ),
        "technician": MisreadRates(
            lit_unlit=0.003,
            steady_changing=0.007,
            not_counted=0.01,
            slip_per_blink=0.004,
            further_slip=0.2,
            sound_missed=0.03,
            sound_mixed=0.04,
            another_message=0.003,
            display_wrong=0.005,
        ),
    }
)


def sayable(*, counts: bool) -> tuple[Light, ...]:
    """Every light that can be told of one lamp; counts only where the model counts."""
    plain = (OFF, STEADY, FLASHING)
    return plain + tuple(blinks(n) for n in range(1, MOST_BLINKS + 1)) if counts else plain


@cache
def lamp_row(true: Light, rates: MisreadRates, *, counts: bool) -> Floats:
    """P(said | true light), in the order of :func:`sayable`; sums to one."""
    off, steady, changing = _sorts(true, rates)
    return _kept([off, steady, *(changing * _changing_words(true, rates, counts=counts))])


@cache
def sound_row(true: Sound, rates: MisreadRates) -> Floats:
    """P(said | true sound), in the order of :data:`SOUNDS`; sums to one."""
    others = len(SOUNDS) - 1
    if true == "none":
        return _with_right(0, 1 - rates.sound_missed, [rates.sound_missed / others] * others)
    mixed = [rates.sound_mixed / (others - 1)] * (others - 1)
    right = 1 - rates.sound_missed - rates.sound_mixed
    return _with_right(SOUNDS.index(true), right, [rates.sound_missed, *mixed])


def _sorts(true: Light, rates: MisreadRates) -> tuple[float, float, float]:
    """P(called off, steady, changing | true light)."""
    if true == OFF:
        return 1 - rates.lit_unlit, rates.lit_unlit / 2, rates.lit_unlit / 2
    right = 1 - rates.lit_unlit - rates.steady_changing
    if true == STEADY:
        return rates.lit_unlit, right, rates.steady_changing
    return rates.lit_unlit, rates.steady_changing, right


def _changing_words(true: Light, rates: MisreadRates, *, counts: bool) -> Floats:
    """P(flashing, 1 blink, 2 blinks, ... | called changing, true light)."""
    if not counts:
        return np.ones(1)
    counted = 1 - rates.not_counted if true.kind == "blinks" else rates.not_counted
    if not true.changes:
        counted = 0.5
    return np.array([1 - counted, *(counted * _count_words(true, rates))])


def _count_words(true: Light, rates: MisreadRates) -> Floats:
    """P(1 blink, 2 blinks, ... | a count is told, true light)."""
    told = np.arange(1, MOST_BLINKS + 1)
    if true.kind != "blinks":
        return np.full(MOST_BLINKS, 1 / MOST_BLINKS)
    wrong = 1 - (1 - rates.slip_per_blink) ** true.count
    weights = rates.further_slip ** np.abs(told - true.count).astype(np.float64)
    weights[true.count - 1] = 0
    row: Floats = wrong * weights / weights.sum()
    row[true.count - 1] = 1 - wrong
    return row


def _with_right(place: int, right: float, others: Sequence[float]) -> Floats:
    """A row with ``right`` at ``place`` and the others around it, in order."""
    return _kept([*others[:place], right, *others[place:]])


def _kept(values: Sequence[float]) -> Floats:
    """A row that is shared between callers, so nobody may write to it."""
    row = np.array(values)
    row.flags.writeable = False
    return row
