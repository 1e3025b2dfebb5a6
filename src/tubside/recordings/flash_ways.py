"""The ways in which the lit lamps of a panel may flash, under one explanation of the panel.

A lamp flashes evenly, in regular groups of blinks, or freely at a price for each switch;
lamps that flash mostly share one rhythm, together or in turn. Nats are relative to a lamp
that stays dark.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.blink_groups import best_groups
from tubside.recordings.lamp_fits import LampFit
from tubside.recordings.rhythms import Rhythm, refined

Array = NDArray[np.float64]
FLASH_NATS = 9.0
OTHER_CLOCK_NATS = 21.0
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
COUNTED_NATS = 40.0
GROUP_NATS = 45.0
ILL_GROUPS = 0.85


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


def grouped_blinks(t: Array, flashes: Flashes, reached: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return nats of regular groups of blinks, and their paths, for lamps ill explained so far.

    Blink, gap, count and start say all of it: their switches are no surprises.

    Parameters
    ----------
    t : Array
        Frame times in s, shape (frames,).
    flashes : Flashes
        The lit lamps.
    reached : Array
        Nats by which each lamp is explained so far, shape (lamps,).
    """
    nats, paths = np.full(len(reached), -np.inf), flashes.path.copy()
    most = np.maximum(flashes.for_lit, 0.0).sum(1)
    for k in np.flatnonzero(np.minimum(ILL_GROUPS * most, most - GROUP_NATS) > reached):
        found = best_groups(t, flashes.for_lit[k])
        if found is None or found.gain - GROUP_NATS < reached[k]:
            continue
        path = found.lit_at(t)
        soft = soft_edges(path, flashes.for_lit[k], flashes.to_spare[k])
        even = Rhythm(0.0, found.blink_s, found.start_s, found.duty)
        price = GROUP_NATS + strange_price(even, flashes.beat_hz, float(t[-1] - t[0]))
        nats[k], paths[k] = found.gain + soft - price, path
    return nats, paths


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
    groups, paths = grouped_blinks(t, flashes, np.maximum(steady, np.maximum(even, free)))
    regular = groups > np.maximum(free, even)
    paths = np.where(regular[:, None], paths, flashes.path)
    free = np.maximum(free, groups)
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
            regular &= ~follows
    lamps = []
    for k in range(len(steady)):
        nats = float(steady[k]), float(flashing[k])
        lamps.append(lamp_fit(t, flashes, k, nats, chosen[k], (paths[k], bool(regular[k]))))
    return lamps, price


def lamp_fit(
    t: Array,
    flashes: Flashes,
    k: int,
    nats: tuple[float, float],
    rhythm: Rhythm,
    freely: tuple[NDArray[np.bool_], bool],
) -> LampFit:
    """Return the fit of one lamp from its nats of steady and flashing, and its even flash.

    ``freely`` are its path otherwise, and whether that is one of regular groups.
    """
    row, (path, regular) = flashes.for_lit[k], freely
    counted = regular or counted_rather(row, flashes.to_spare[k], rhythm.lit_at(t), path)
    charged = GROUP_NATS if regular else 0.0
    return LampFit(*nats, rhythm, counted, path, charged, float(np.maximum(row, 0.0).sum()))


def counted_rather(
    for_lit: Array, to_spare: Array, even: NDArray[np.bool_], path: NDArray[np.bool_]
) -> bool:
    """Return whether a free path explains far more than an even flash, edges blurred in both."""
    said = [float(for_lit[one].sum()) + soft_edges(one, for_lit, to_spare) for one in (even, path)]
    return said[1] - said[0] > COUNTED_NATS
