"""Whether a clip proves that lamps which stay dark would have been caught if lit.

On a multiplex locked to the frames some lamps are never caught; they look like unlit ones.
A dark lamp is off only where the light of the lit ones shows that the exposure has come past
every slot of the multiplex.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.beats import Shaped, places
from tubside.recordings.exposure import long_exposure
from tubside.recordings.lamp_fits import Explanation, clear
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import Rhythm
from tubside.recordings.ripples import MOVED_S, ripples
from tubside.recordings.strobing import BINS

Array = NDArray[np.float64]
FEWEST_TURNS = 4.0
WIDEST_GAP = 0.4
GAP_OF_SHARE = 0.6
PROVEN_NATS = 7.0
LONG_NATS = 10.0
REFUTING_NATS = 13.0
SLOW_PROVEN_NATS = 22.0
SHAKEN_PROVEN_NATS = 40.0
SHAKES = 2.0
SURE_FLASH_NATS = 15.0
SHOWS = 0.25
FEWEST_SIGHTS = 3
SLOTS_TRIED = 24
STEPS = (1.0, 2.0, 3.0)
IN_STEP = 0.5
SAME_PERIOD = 0.04
SLOW_HZ = (0.25, 4.5)
OPEN_SHARE = 0.8
OVERTONES = 6.0
FEW_LIT = 4
FEW_FASTEST_HZ = 7.0


@dataclass(frozen=True, slots=True)
class Ripple:
    """The strongest regular ripple on lit lamps: its rate, and nats against chance."""

    rate_hz: float
    nats: float


def ripple(series: LampSeries, level: Levelled, best: Explanation) -> Ripple:
    """Return the strongest ripple: under noise, a lamp's power at a rate is exponential.

    The sum over L lamps exceeds x by chance with P = e^-x Σ x^k/k!, k < L (the Gamma
    distribution of order L), at each of the rates tried.
    """
    rates, total, lamps = ripples(series, level, best)
    if not lamps:
        return Ripple(0.0, 0.0)
    if not series.uneven:
        total = np.where(rates * series.length_s >= FEWEST_TURNS, total, 0.0)
    at = int(total.argmax())
    x = max(float(total[at]), 1e-9)
    orders = np.arange(lamps)
    terms = np.cumsum(np.log(np.maximum(orders, 1)))
    chance = -x + np.logaddexp.reduce(orders * np.log(x) - terms)
    return Ripple(float(rates[at]), float(-(chance + np.log(len(rates)))))


def widest_gap(place: NDArray[np.int64], seen: NDArray[np.bool_]) -> float:
    """Return the widest stretch of phase, in turns, at which a lamp was never looked at."""
    there = np.unique(place[seen])
    if not len(there):
        return 1.0
    return float((np.diff(np.append(there, there[0] + BINS)) - 1).max()) / BINS


def proven(series: LampSeries, level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return for each lamp whether every slot of the multiplex was surely caught.

    Not every phase need be looked at: where lit lamps show in a share w of the phases, a
    slot is missed only if all of w fell into a gap between the phases looked at. An exposure
    of 1/60 s and more passes every slot of any multiplex of 60 Hz and more in each frame; a
    slower one would flicker to the eye (common practice, no source).
    """
    found = ripple(series, level, best)
    beat = best.beat if best.beat is not None and best.beat.kind.share < 1.0 else None
    rate = found.rate_hz if beat is None else beat.rate_hz
    few = not series.uneven and rate * series.length_s < FEWEST_TURNS
    needed = PROVEN_NATS
    if rate <= SLOW_HZ[1] and beat is None:
        needed = SHAKEN_PROVEN_NATS if shaken_at(series, rate) else SLOW_PROVEN_NATS
    if found.nats < needed or few:
        long = beat is None and long_exposure(series, level, best) > LONG_NATS
        return np.full(len(level.x), long)
    place = places(series, rate)
    gaps = [widest_gap(row, ok) for row, ok in zip(place, level.seen, strict=True)]
    share = WIDEST_GAP if beat is None else min(beat.kind.share * GAP_OF_SHARE, WIDEST_GAP)
    return np.array(gaps) < share


def shaken_at(series: LampSeries, rate_hz: float) -> bool:
    """Return whether the square of the hand's movement over the rows has a rate.

    On a multiplex locked to the frames the movement alone makes a ripple, which proves
    nothing. What follows it smoothly is taken out; where a slot begins or ends it does not.
    """
    moved = series.read_s - series.times_s
    moved = moved - moved.mean(1, keepdims=True)
    if not np.abs(moved).max(initial=0.0) > MOVED_S:
        return False
    squares = moved**2 - (moved**2).mean(1, keepdims=True)
    near = rate_hz + np.linspace(-1.0, 1.0, 9) / series.length_s
    waves = np.exp(-2j * np.pi * near[:, None] * series.times_s)
    size = np.maximum((squares**2).sum(1), 1e-30)[:, None]
    return bool((np.abs(squares @ waves.T) ** 2 / size).max() > SHAKES)


def refutes(found: Ripple, beat: Shaped, length_s: float) -> bool:
    """Return whether a sure ripple is none of a beat's own, so that the beat is refuted.

    Lamps of one multiplex ripple at its beat's rate and at multiples of it.
    """
    orders = np.round(found.rate_hz / beat.rate_hz)
    off = abs(found.rate_hz - orders * beat.rate_hz) * length_s
    return found.nats > REFUTING_NATS and (orders > OVERTONES or bool(off > 1.0))


def known_rhythms(best: Explanation, lamps: int) -> list[Rhythm]:
    """Return the even rhythms that so many lamps surely share, each together and in turn.

    A lamp that shows one by far counts as two.
    """
    sure = [
        (fit.rhythm, 2 if clear(fit) else 1)
        for fit, lit in zip(best.lamps, best.lit, strict=True)
        if lit and fit.flashing > fit.steady + SURE_FLASH_NATS and not fit.counted
    ]
    periods = np.log([rhythm.period_s for rhythm, _ in sure])
    weights = np.array([weight for _, weight in sure])
    alike = (np.abs(periods[:, None] - periods) < SAME_PERIOD) @ weights
    shared = [one[0] for one, count in zip(sure, alike, strict=True) if count >= lamps]
    return [rhythm for one in shared for rhythm in (one, one.in_turn())]


def slow(beat: Shaped, best: Explanation) -> bool:
    """Return whether a beat is as slow as a flash may be.

    Where few lamps are lit, twice the rate of a slow beat may be found in its place.
    """
    fastest = FEW_FASTEST_HZ if int(best.lit.sum()) < FEW_LIT else SLOW_HZ[1]
    return bool(SLOW_HZ[0] < beat.rate_hz < fastest)


def out_of_step(series: LampSeries, beat: Shaped, best: Explanation) -> list[Rhythm]:
    """Return the rhythms that two lamps surely share and that do not keep step with a beat."""
    steps = np.array(STEPS)[:, None] * beat.rate_hz
    return [
        rhythm
        for rhythm in known_rhythms(best, 2)
        if (np.abs(steps - np.arange(1, 4) / rhythm.period_s) > IN_STEP / series.length_s).all()
    ]


def may_flash_unseen(series: LampSeries, beat: Shaped, best: Explanation) -> bool:
    """Return whether a flash could fall into the dark of a beat in every turn.

    A fast beat comes round within a flash's lit time, and the flashes that the panel shows are
    tried. On a slow beat any flash may keep step with it, unless two lamps show the rhythm of
    the panel out of step with the beat: the lamps of a panel flash by one clock.
    """
    rhythms = out_of_step(series, beat, best) if slow(beat, best) else known_rhythms(best, 1)
    if not rhythms:
        return slow(beat, best)
    shape = beat.kind.shape()
    place = places(series, beat.rate_hz)[0]
    shifts = np.arange(SLOTS_TRIED) * (BINS // SLOTS_TRIED)
    shows = shape[(place + shifts[:, None]) % BINS] > SHOWS * shape.max()
    lit = np.array([rhythm.lit_at(series.times_s) for rhythm in rhythms])
    sights = shows.astype(np.int64) @ lit.astype(np.int64).T
    return bool((sights < FEWEST_SIGHTS).any())


def locked(series: LampSeries, beat: Shaped, best: Explanation) -> NDArray[np.bool_]:
    """Return the lamps that may flash in step with a beat, always lit when they are looked at.

    A flash that two lamps of the panel show, out of step with the beat, settles it where
    frames fall into its dark; where there is none, a slow beat leaves it open.
    """
    shows = beat.lit > SHOWS * beat.lit.max(1, keepdims=True, initial=1e-9)
    rhythms = out_of_step(series, beat, best)
    if not rhythms:
        left_open = slow(beat, best) and not series.uneven and beat.kind.share < OPEN_SHARE
        return np.asarray(best.lit & left_open)
    dark = np.array([~rhythm.lit_at(series.times_s) for rhythm in rhythms])
    sights = shows.astype(np.int64) @ dark.astype(np.int64).T
    return np.asarray((sights < FEWEST_SIGHTS).any(1) & best.lit)
