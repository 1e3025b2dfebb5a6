"""How well each explanation of a panel on camera accounts for its lamps.

An explanation is either that the camera sees every lamp alike in every frame, or a beat
between multiplex and frame rate with a shape that the whole panel shares. Under each, every
lamp may be off, steady or flashing; lamps that flash mostly share one rhythm, together or in
turn. Nats are relative to a lamp that stays dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
from tubside.recordings.lamp_fits import Explanation, LampFit, dark_fit, middle_light, reached_share
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import (
    SWITCH_NATS,
    Rhythm,
    blink_counts,
    flash_rates,
    free_paths,
    refined,
    runs_by_rate,
)
from tubside.recordings.ripples import lit_frames, ripples

Array = NDArray[np.float64]
FLASH_NATS = 9.0
OTHER_CLOCK_NATS = 21.0
BEAT_NATS = 9.0
CUT_NATS = 6.0
SLOT_NATS = 2.5
RHYTHM_NATS = 6.0
OWN_PHASE_NATS = 15.0
SAME_PHASE_NATS = 1.5
FEW_TURNS_NATS = 6.0
DUTIES = (0.2, 0.8)
DUTY_NATS = 25.0
SHORTEST_S = 0.08
SHORT_NATS = 60.0
IN_STEP_NATS = 15.0
IN_STEP = 0.5
STEPS = (1.0, 2.0, 3.0)
ILL = 0.75
LEAST_DARK = 0.02
EDGE_NATS = 2.0
SHORT_EDGE_NATS = 6.5
LONG_SHARE = 1.3
COUNTED_NATS = 40.0
COUNT_NATS = 60.0
SPREAD = 0.08


@dataclass(frozen=True, slots=True)
class Flashes:
    """The lit lamps under one explanation: what frames say, and the best of each way."""

    for_lit: Array
    to_spare: Array
    by_rate: Array
    free_gain: Array
    path: NDArray[np.bool_]
    dearer: Array
    beat_hz: float | None


def soft_edges(path: NDArray[np.bool_], for_lit: Array, to_spare: Array) -> float:
    """Return the nats gained back where a lamp switches within an exposure.

    One frame beside each switch may be of any brightness between dark and lit.

    Parameters
    ----------
    path : NDArray
        Whether the lamp is lit, shape (frames,).
    for_lit, to_spare : Array
        Nats of a lit frame, and of a frame of any brightness, against a dark one.
    """
    gain = np.maximum(to_spare - np.where(path, for_lit, 0.0), 0.0)
    switch = np.flatnonzero(path[1:] != path[:-1])
    return float(np.maximum(gain[switch], gain[switch + 1]).sum())


def leads(t: Array, rates: Array, flashes: Flashes, leader: int) -> tuple[Array, list[Rhythm]]:
    """Return nats of flashing, and rhythms, when every lamp may follow one lamp's rhythm."""
    at = int(flashes.by_rate[leader].argmax())
    near = slice(max(0, at - 1), at + 2)
    length = float(t[-1] - t[0])
    lead = refined(t, flashes.for_lit[leader], float(rates[at]))
    nats, rhythms = [], []
    for row, spare, curve in zip(flashes.for_lit, flashes.to_spare, flashes.by_rate, strict=True):
        ways = []
        for rhythm in (lead, lead.in_turn()):
            path = rhythm.lit_at(t)
            soft = soft_edges(path, row, spare)
            price = SAME_PHASE_NATS + strange_price(rhythm, flashes.beat_hz, length)
            ways.append((float(row[path].sum()) + soft - price, rhythm))
        own = refined(t, row, float(rates[near][curve[near].argmax()]))
        soft = soft_edges(own.lit_at(t), row, spare)
        price = OWN_PHASE_NATS + strange_price(own, flashes.beat_hz, length)
        ways.append((own.gain + soft - price, own))
        gain, rhythm = max(ways, key=lambda way: way[0])
        nats.append(gain)
        rhythms.append(replace(rhythm, gain=gain))
    return np.array(nats), rhythms


def strange_price(rhythm: Rhythm, beat_hz: float | None, length_s: float) -> float:
    """Return what a flash costs that no panel is likely to show.

    That is one all but always lit or dark, one too short to be seen, or one in step with the
    beat: lit just when the camera looks, it would be a mere chance. Flashing lamps are told to
    light evenly at up to 2.8 Hz (IEC 60073, from memory); a beat may show lamps for less than
    a tenth of a second.
    """
    even = DUTIES[0] <= rhythm.duty <= DUTIES[1]
    shorter = min(rhythm.duty, 1.0 - rhythm.duty) * rhythm.period_s
    price = SHORT_NATS if shorter < SHORTEST_S else 0.0 if even else DUTY_NATS
    if beat_hz is None:
        return price
    steps = np.array(STEPS) * beat_hz - 1 / rhythm.period_s
    return price + (IN_STEP_NATS if (np.abs(steps) * length_s < IN_STEP).any() else 0.0)


def path_prices(t: Array, paths: NDArray[np.bool_]) -> Array:
    """Return what free sequences cost whose spans are too short to be seen, shape (lamps,)."""
    length = float(t[-1] - t[0])
    spans = np.abs(np.diff(paths.astype(np.int64), axis=1)).sum(1) / 2
    lit = paths.mean(1)
    shorter = np.minimum(lit, 1.0 - lit) * length / np.maximum(spans, 0.5)
    return np.where(shorter < SHORTEST_S, SHORT_NATS, 0.0)


def count_refund(t: Array, path: NDArray[np.bool_], turns: int) -> float:
    """Return what a free sequence gets back that is a regular count, told in few numbers.

    Blink, gap, count and start say all of it: its switches are no surprises.
    """
    counts = blink_counts(t, path).counts
    regular = len(counts) > 1 and len(set(counts)) == 1 and counts[0] > 1
    return turns * SWITCH_NATS - COUNT_NATS if regular else 0.0


def own_ways(t: Array, rates: Array, flashes: Flashes) -> tuple[Array, list[Rhythm]]:
    """Return nats of flashing, and rhythms, when every lamp has its own rhythm."""
    rhythms = [
        refined(t, row, float(rates[curve.argmax()]))
        for row, curve in zip(flashes.for_lit, flashes.by_rate, strict=True)
    ]
    gains = []
    for rhythm, row, spare in zip(rhythms, flashes.for_lit, flashes.to_spare, strict=True):
        path = rhythm.lit_at(t)
        few = FEW_TURNS_NATS if np.count_nonzero(path[1:] != path[:-1]) < 3 else 0.0
        soft = soft_edges(path, row, spare)
        price = OTHER_CLOCK_NATS + few + strange_price(rhythm, flashes.beat_hz, float(t[-1] - t[0]))
        gains.append(rhythm.gain + soft - price)
    return np.array(gains), rhythms


def fitted(t: Array, rates: Array, flashes: Flashes) -> tuple[list[LampFit], float]:
    """Return the lit lamps' fits and the price of the rhythm they share, if they do."""
    steady = flashes.for_lit.sum(1)
    turns = np.abs(np.diff(flashes.path.astype(np.int64), axis=1)).sum(1)
    soft = [
        soft_edges(path, row, spare)
        for path, row, spare in zip(flashes.path, flashes.for_lit, flashes.to_spare, strict=True)
    ]
    free = flashes.free_gain + np.array(soft) - np.where(turns > 1, FLASH_NATS, 99.0)
    free -= path_prices(t, flashes.path)
    even, rhythms = own_ways(t, rates, flashes)
    for k in np.flatnonzero(turns * SWITCH_NATS > COUNT_NATS):
        if free[k] + turns[k] * SWITCH_NATS - COUNT_NATS > max(even[k], steady[k]):
            free[k] += count_refund(t, flashes.path[k], int(turns[k]))
    alone = np.maximum(even, free) - flashes.dearer
    best, price = np.logaddexp(steady, alone).sum(), 0.0
    flashing, chosen = alone, rhythms
    leaders = np.argsort(even - np.maximum(steady, 0.0))[::-1][:2]
    for leader in leaders:
        shared, led = leads(t, rates, flashes, int(leader))
        nats = np.maximum(shared - flashes.dearer, alone)
        total = np.logaddexp(steady, nats).sum() - RHYTHM_NATS
        if total > best:
            best, price, flashing = total, RHYTHM_NATS, nats
            follows = shared - flashes.dearer >= alone
            chosen = [b if f else a for a, b, f in zip(rhythms, led, follows, strict=True)]
            even = np.where(follows, shared, even)
    return [
        LampFit(float(s), float(f), rhythm, counted_rather(t, row, rhythm, path), path)
        for s, f, rhythm, row, path in zip(
            steady, flashing, chosen, flashes.for_lit, flashes.path, strict=True
        )
    ], price


def counted_rather(t: Array, for_lit: Array, rhythm: Rhythm, path: NDArray[np.bool_]) -> bool:
    """Return whether a free path explains far more than an even flash."""
    return bool(for_lit[path].sum() - for_lit[rhythm.lit_at(t)].sum() > COUNTED_NATS)


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
