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
    likely_beats,
    peaks,
    powers,
    refined_beat,
    speaking,
)
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import (
    Rhythm,
    flash_rates,
    free_paths,
    refined,
    runs_by_rate,
)

Array = NDArray[np.float64]
FLASH_NATS = 9.0
BEAT_NATS = 9.0
SLOT_NATS = 2.5
RHYTHM_NATS = 6.0
OWN_PHASE_NATS = 5.0
SAME_PHASE_NATS = 1.5
FEW_TURNS_NATS = 6.0
NEVER_NATS = 1e4
DUTIES = (0.12, 0.88)
DUTY_NATS = 15.0
LEAST_DARK = 0.02
EDGE_NATS = 2.0
SHORT_EDGE_NATS = 6.5
LONG_SHARE = 1.3
SURELY_NATS = 25.0
COUNTED_NATS = 40.0
FEWEST_LIT = 16
CLIP = 0.4
MOVED_S = 1e-6
SPREAD = 0.08


@dataclass(frozen=True, slots=True)
class LampFit:
    """One lamp under one explanation: nats, its rhythm and free path when it flashes.

    It is ``counted`` when its free path says so much more that no even flash is meant.
    """

    steady: float
    flashing: float
    rhythm: Rhythm
    counted: bool
    path: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One explanation of a panel, its price in nats, and every lamp under it."""

    beat: Shaped | None
    lamps: tuple[LampFit, ...]
    lit: NDArray[np.bool_]
    price: float

    @property
    def rows(self) -> Array:
        """Nats of off, steady and flashing, shape (lamps, 3); what was seen lit is not off."""
        fits = np.array([[0.0, fit.steady, fit.flashing] for fit in self.lamps])
        kinds = np.array([[0.0, -NEVER_NATS, -NEVER_NATS], [-NEVER_NATS, 0.0, 0.0]])
        never = kinds[self.lit.astype(np.int64)]
        return np.asarray(np.where(never < 0.0, never, fits))

    @property
    def nats(self) -> float:
        """Log-likelihood of all lamps together, each over its states."""
        return float(np.logaddexp.reduce(self.rows, axis=1).sum()) - self.price


@dataclass(frozen=True, slots=True)
class Flashes:
    """The lit lamps under one explanation: what frames say, and the best of each way."""

    for_lit: Array
    to_spare: Array
    by_rate: Array
    free_gain: Array
    path: NDArray[np.bool_]
    dearer: Array


def middle_light(level: Levelled) -> Array:
    """Return the light of lamps that every frame sees alike, shape (lamps, frames)."""
    lit = []
    for x, ok, top in zip(level.x, level.seen, level.top, strict=True):
        bright = x[ok & (x > top / 2)]
        lit.append(float(np.median(bright)) if len(bright) else top)
    return np.repeat(np.array(lit)[:, None], level.x.shape[1], axis=1)


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
    lead = refined(t, flashes.for_lit[leader], float(rates[at]))
    nats, rhythms = [], []
    for row, spare, curve in zip(flashes.for_lit, flashes.to_spare, flashes.by_rate, strict=True):
        ways = []
        for rhythm in (lead, lead.in_turn()):
            path = rhythm.lit_at(t)
            soft = soft_edges(path, row, spare)
            ways.append((float(row[path].sum()) + soft - SAME_PHASE_NATS, rhythm))
        own = refined(t, row, float(rates[near][curve[near].argmax()]))
        soft = soft_edges(own.lit_at(t), row, spare)
        ways.append((own.gain + soft - OWN_PHASE_NATS - uneven_price(own), own))
        gain, rhythm = max(ways, key=lambda way: way[0])
        nats.append(gain)
        rhythms.append(replace(rhythm, gain=gain))
    return np.array(nats), rhythms


def uneven_price(rhythm: Rhythm) -> float:
    """Return what a flash costs that is all but always lit, or all but always dark."""
    return 0.0 if DUTIES[0] <= rhythm.duty <= DUTIES[1] else DUTY_NATS


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
        gains.append(rhythm.gain + soft - FLASH_NATS - few - uneven_price(rhythm))
    return np.array(gains), rhythms


def fitted(t: Array, rates: Array, flashes: Flashes) -> tuple[list[LampFit], float]:
    """Return the lit lamps' fits and the price of the rhythm they share, if they do."""
    steady = flashes.for_lit.sum(1)
    turns = np.abs(np.diff(flashes.path.astype(np.int64), axis=1)).sum(1)
    soft = [
        soft_edges(*row) for row in zip(flashes.path, flashes.for_lit, flashes.to_spare, strict=True)
    ]
    free = flashes.free_gain + np.array(soft) - np.where(turns > 1, FLASH_NATS, 99.0)
    even, rhythms = own_ways(t, rates, flashes)
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


def dark_fit(frames: int) -> LampFit:
    """Return the fit of a lamp that was never seen lit."""
    never = Rhythm(0.0, 1.0, 0.0, 0.0)
    return LampFit(0.0, 0.0, never, False, np.zeros(frames, dtype=np.bool_))  # noqa: FBT003


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
    return plain + found + explained(series, level, [again])


def explained(
    series: LampSeries, level: Levelled, shapes: Sequence[Shaped | None]
) -> list[Explanation]:
    """Return the explanations by given beats, or by none."""
    lit = np.flatnonzero(level.lit)
    t, rates = series.times_s, flash_rates(series.times_s)
    said, spare, dearer = [], [], []
    for shaped in shapes:
        light = middle_light(level) if shaped is None else shaped.lit
        said.append(speaking(level, light, SPREAD)[lit])
        edge = EDGE_NATS if shaped is None or shaped.kind.share > LONG_SHARE else SHORT_EDGE_NATS
        spare.append(against_dark(level, light, SPREAD)[lit] - edge)
        dearer.append(np.zeros(len(lit)) if shaped is None else least_dark(level, light)[lit])
    every = np.concatenate(said)
    curves, (gains, paths) = runs_by_rate(t, every, rates), free_paths(every)
    found = []
    for k, shaped in enumerate(shapes):
        part = slice(k * len(lit), (k + 1) * len(lit))
        flashes = Flashes(said[k], spare[k], curves[part], gains[part], paths[part], dearer[k])
        fits, price = fitted(t, rates, flashes)
        lamps = [dark_fit(len(t))] * len(level.x)
        for lamp, fit in zip(lit, fits, strict=True):
            lamps[lamp] = fit
        price += 0.0 if shaped is None else BEAT_NATS + SLOT_NATS * len(lit)
        found.append(Explanation(shaped, tuple(lamps), level.lit, price))
    return found


def lit_frames(level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return the frames in which each lamp is surely lit, those beside a switch left out."""
    inside = []
    for fit, lit, ok in zip(best.lamps, best.lit, level.seen, strict=True):
        path = fit.path if fit.flashing > fit.steady + SURELY_NATS else np.ones_like(ok)
        wide = np.pad(path, 1, mode="edge")
        inside.append(path & wide[:-2] & wide[2:] & ok & lit)
    return np.array(inside)


def unmoved(series: LampSeries, share: Array, frames: NDArray[np.bool_]) -> Array:
    """Return the ripple that a moving hand does not explain, nought in frames left out.

    A hand moves lamps to other rows, read at other phases of the multiplex, also where the
    frames are locked to it.
    """
    rows = series.read_s - series.times_s
    found = np.zeros_like(share)
    for out, y, row, ok in zip(found, share, rows, frames, strict=True):
        if ok.any():
            moved = row[ok] - row[ok].mean()
            size = max(float(np.abs(moved).max()), 1e-9)
            terms = np.vander(moved / size, 4 if size > MOVED_S else 1)
            out[ok] = y[ok] - terms @ np.linalg.lstsq(terms, y[ok], rcond=None)[0]
    return found


def ripples(series: LampSeries, level: Levelled, best: Explanation) -> tuple[Array, Array, int]:
    """Return rates, the summed power of the lit lamps' ripple at each, and how many lamps."""
    frames = lit_frames(level, best)
    frames &= (frames.sum(1) >= FEWEST_LIT)[:, None]
    kept = frames.any(1)
    middle = middle_light(level)
    share = np.clip(np.where(frames, level.x / np.maximum(middle, 1e-6) - 1.0, 0.0), -1.0, CLIP)
    rates, power = powers(series, unmoved(series, share, frames))
    return rates, np.asarray(power[kept].sum(0)), int(kept.sum())


def least_dark(level: Levelled, lit: Array) -> Array:
    """Return what a flash under a beat costs: it must darken a fair share of bright frames."""
    noise = np.hypot(level.noise, SPREAD * lit.max(1, initial=0.0))[:, None]
    most = np.where(level.seen, np.minimum((lit / noise) ** 2 / 2, CAP_NATS), 0.0)
    return np.asarray(LEAST_DARK * most.sum(1))
