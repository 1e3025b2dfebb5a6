"""How well each explanation of a panel on camera accounts for its lamps.

An explanation is either that the camera sees every lamp alike in every frame, or a beat
between multiplex and frame rate with a shape that the whole panel shares. Under each, every
lamp may be off, steady or flashing; lamps that flash mostly share one rhythm, together or in
turn. Nats are relative to a lamp that stays dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.beats import (
    CAP_NATS,
    KNOWN,
    Shaped,
    against_dark,
    beat_rates,
    for_all,
    likely_beats,
    peaks,
    refined_beat,
    speaking,
    speaking_off_clock,
)
from tubside.recordings.flash_ways import Flashes, fitted
from tubside.recordings.lamp_fits import Explanation, dark_fit, middle_light, reached_share
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import (
    flash_rates,
    free_paths,
    runs_by_rate,
)
from tubside.recordings.ripples import lit_frames, ripples

Array = NDArray[np.float64]
BEAT_NATS = 9.0
CUT_NATS = 6.0
SLOT_NATS = 2.5
ILL = 0.75
LEAST_DARK = 0.02
EDGE_NATS = 2.0
SHORT_EDGE_NATS = 6.5
LONG_SHARE = 1.3
SPREAD = 0.08


def explanations(series: LampSeries, level: Levelled) -> list[Explanation]:
    """Return every explanation tried, the one without a beat first.

    Beats are looked for in what is seen, and in the ripple that it leaves on lit lamps.
    """
    if not level.lit.any():
        dark = dark_fit(len(series.times_s))
        return [Explanation(None, (dark,) * len(level.x), level.lit, 0.0)]
    plain = explained(series, level, [None])
    rates, total, _ = ripples(series, level, plain[0])
    shapes = likely_beats(series, level, beat_rates(series, level))
    lit = replace(level, seen=lit_frames(level, plain[0]))
    shapes += likely_beats(series, lit, peaks(rates, total, 1))
    found = explained(series, level, shapes)
    best = max(found, key=lambda explanation: explanation.nats)
    assert best.beat is not None
    lit = replace(level, seen=lit_frames(level, best))
    again = refined_beat(series, lit, best.beat, least=KNOWN)
    found += explained(series, level, [again]) if again is not best.beat else []
    return plain + found + second_beats(series, level, plain + found)


def second_beats(
    series: LampSeries, level: Levelled, tried: Sequence[Explanation]
) -> list[Explanation]:
    """Return beats found in those lamps alone that the best explanation leaves ill explained.

    A panel of two multiplexes shows two beats, of which the stronger hides the other.
    """
    best = max(tried, key=lambda explanation: explanation.nats)
    ill = level.lit & (reached_share(level, best.lamps) < ILL)
    if not ill.any():
        return []
    alone = replace(level, top=np.where(ill, level.top, 0.0))
    shapes = likely_beats(series, alone, beat_rates(series, alone))
    return explained(series, level, [for_all(series, level, alone, shaped) for shaped in shapes])


def explained(
    series: LampSeries, level: Levelled, shapes: Sequence[Shaped | None]
) -> list[Explanation]:
    """Return the explanations by given beats, or by none."""
    lit = np.flatnonzero(level.lit)
    t, rates = series.times_s, flash_rates(series.times_s)
    said, spare, dearer = [], [], []
    for shaped in shapes:
        light = middle_light(level) if shaped is None else shaped.lit
        if shaped is None:
            said.append(speaking(level, light, SPREAD)[lit])
        else:
            said.append(speaking_off_clock(level, shaped, SPREAD)[lit])
        edge = EDGE_NATS if shaped is None or shaped.kind.share > LONG_SHARE else SHORT_EDGE_NATS
        spare.append(against_dark(level, light, SPREAD)[lit] - edge)
        dearer.append(np.zeros(len(lit)) if shaped is None else least_dark(level, light)[lit])
    every = np.concatenate(said)
    curves, (gains, paths) = runs_by_rate(t, every, rates), free_paths(every)
    found = []
    for k, shaped in enumerate(shapes):
        part = slice(k * len(lit), (k + 1) * len(lit))
        beat_hz = None if shaped is None else shaped.rate_hz
        flashes = Flashes(
            said[k], spare[k], curves[part], gains[part], paths[part], dearer[k], beat_hz
        )
        fits, price = fitted(t, rates, flashes)
        lamps = [dark_fit(len(t))] * len(level.x)
        for lamp, fit in zip(lit, fits, strict=True):
            lamps[lamp] = fit
        if shaped is not None:
            price += BEAT_NATS + SLOT_NATS * len(lit) + (CUT_NATS if shaped.cut else 0.0)
        found.append(Explanation(shaped, tuple(lamps), level.lit, price))
    return found


def least_dark(level: Levelled, lit: Array) -> Array:
    """Return what a flash under a beat costs: it must darken a fair share of bright frames."""
    noise = np.hypot(level.noise, SPREAD * lit.max(1, initial=0.0))[:, None]
    most = np.where(level.seen, np.minimum((lit / noise) ** 2 / 2, CAP_NATS), 0.0)
    return np.asarray(LEAST_DARK * most.sum(1))
