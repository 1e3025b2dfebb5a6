"""How well each explanation of a panel on camera accounts for its lamps.

An explanation is either that the camera sees every lamp alike in every frame, or a beat
between multiplex and frame rate with a shape that the whole panel shares. Under each, every
lamp may be off, steady or flashing. Nats are relative to a lamp that stays dark.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import Rhythm, even_flash, free_path
from tubside.recordings.strobing import BINS, Kind, coarse_kinds

Array = NDArray[np.float64]
DIMMEST = 0.2
CAP_NATS = 8.0
FLASH_NATS = 9.0
BEAT_NATS = 9.0
SHIFTS = 32
NEVER_NATS = 1e4
LEAST_DARK = 0.12


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat seen at ``rate_hz``; a lit lamp shows in ``share`` of frames (≥ 1: always)."""

    rate_hz: float
    share: float


@dataclass(frozen=True, slots=True)
class LampFit:
    """One lamp under one explanation: nats, its rhythm and free path when it flashes."""

    steady: float
    flashing: float
    rhythm: Rhythm
    free: bool
    path: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One explanation of a panel, and every lamp under it."""

    beat: Beat | None
    lamps: tuple[LampFit, ...]
    lit: NDArray[np.bool_]

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
        per_lamp = np.logaddexp.reduce(self.rows, axis=1)
        return float(np.sum(per_lamp) - (BEAT_NATS if self.beat else 0.0))


@dataclass(frozen=True, slots=True)
class Levelled:
    """Brightness above the unlit lamp, its noise, and whether each frame was seen."""

    x: Array
    seen: NDArray[np.bool_]
    noise: Array
    top: Array


def levelled(series: LampSeries) -> Levelled:
    """Return the series with each lamp's unlit brightness taken off, where it is seen."""
    y = series.brightness
    seen = np.isfinite(y)
    filled = np.where(seen, y, 0.0)
    low = np.array(
        [np.quantile(row[ok], 0.05) if ok.any() else 0.0 for row, ok in zip(y, seen, strict=True)]
    )
    x = np.where(seen, filled - np.where(low < DIMMEST / 2, low, 0.0)[:, None], 0.0)
    top = np.array(
        [np.quantile(row[ok], 0.97) if ok.any() else 0.0 for row, ok in zip(x, seen, strict=True)]
    )
    jumps = np.abs(x[:, 1:-1] - (x[:, :-2] + x[:, 2:]) / 2) / 1.2247
    noise = max(0.012, 1.4826 * float(np.median(jumps, axis=1).min()))
    return Levelled(x, seen, np.hypot(noise, 0.05 * top), top)


def spectrum(series: LampSeries, level: Levelled) -> tuple[Array, Array]:
    """Return rates in Hz and the lamps' summed share of variance at each."""
    rates = np.arange(0.25 / series.length_s, series.rate_hz / 2, 0.25 / series.length_s)
    waves = np.exp(-2j * np.pi * rates[:, None] * series.times_s)
    lit = level.top > DIMMEST
    x = np.where(level.seen, level.x, 0.0)[lit]
    x = np.where(level.seen[lit], x - x.sum(1, keepdims=True) / level.seen[lit].sum(1)[:, None], 0)
    power = np.abs(waves @ x.T) ** 2
    return rates, np.asarray((power / np.maximum((x**2).sum(1), 1e-9)).sum(1))


def strength(series: LampSeries, level: Levelled, rate: float) -> Array:
    """Return each lamp's power at a rate, in units of what noise alone would give."""
    wave = np.exp(-2j * np.pi * rate * series.times_s)
    mean = level.x.sum(1, keepdims=True) / np.maximum(level.seen.sum(1, keepdims=True), 1)
    x = np.where(level.seen, level.x - mean, 0.0)
    return np.asarray(np.abs(x @ wave) ** 2 / np.maximum((x**2).sum(1), 1e-9))


def beat_rates(series: LampSeries, level: Levelled, count: int = 6) -> list[float]:
    """Return the rates at which the panel may be strobing, strongest first."""
    rates, power = spectrum(series, level)
    inner = np.flatnonzero((power[1:-1] >= power[:-2]) & (power[1:-1] >= power[2:])) + 1
    return [float(rates[k]) for k in inner[np.argsort(power[inner])[::-1][:count]]]


def speaking(x: Array, lit: Array, noise: float) -> Array:
    """Return the nats by which each frame speaks for ``lit`` against dark, capped."""
    dark = np.minimum((x / noise) ** 2 / 2, CAP_NATS)
    return np.asarray(dark - np.minimum(((x - lit) / noise) ** 2 / 2, CAP_NATS))


def fitted(t: Array, for_lit: Array, price: float = 0.0) -> LampFit:
    """Return a lamp's fit from what each frame says for lit against dark."""
    rhythm = even_flash(t, for_lit)
    gain, path = free_path(for_lit)
    turns = int(np.abs(np.diff(path.astype(np.int64))).sum())
    free = gain - (FLASH_NATS if turns > 1 else 99.0)
    even = rhythm.gain - FLASH_NATS
    return LampFit(float(for_lit.sum()), max(even, free) - price, rhythm, free > even, path)


def without_beat(series: LampSeries, level: Levelled) -> Explanation:
    """Return the explanation that every frame sees lit lamps alike."""
    fits = []
    for x, noise, top in zip(level.x, level.noise, level.top, strict=True):
        lit = x[x > top / 2]
        middle = float(np.median(lit)) if len(lit) else top
        fits.append(fitted(series.times_s, speaking(x, np.full_like(x, middle), noise)))
    return Explanation(None, tuple(fits), level.top > DIMMEST)


@dataclass(frozen=True, slots=True)
class Shaped:
    """A kind of beat at a rate, and the light expected of every lamp while lit."""

    rate_hz: float
    kind: Kind
    lit: Array


def shapes_at(
    series: LampSeries, level: Levelled, rate: float, kinds: tuple[Kind, ...]
) -> list[Shaped]:
    """Return the likeliest kinds at a rate.

    Ranked by what steady lamps would leave over, on all frames and on lit frames only.
    """
    table = np.array([kind.shape() for kind in kinds])
    turns = np.floor(series.times_s * rate % 1.0 * BINS).astype(np.int64)
    light = table[:, (turns + np.arange(0, BINS, BINS // SHIFTS)[:, None]) % BINS]
    bright = np.where(level.x > 0.25 * level.top[:, None], 1.0, 0.0)
    found: list[Shaped] = []
    for weight in (level.seen.astype(float), bright):
        up = np.maximum(light @ (weight * level.x).T, 0.0)
        down = np.maximum((light**2) @ weight.T, 1e-9)
        gain = np.where(level.top > DIMMEST, up**2 / down / (2 * level.noise**2), 0.0)
        for shape in np.argsort(gain.max(1).sum(1))[-2:]:
            shift = gain[shape].argmax(0)
            each = np.arange(len(shift))
            size = up[shape, shift, each] / down[shape, shift, each]
            found.append(Shaped(rate, kinds[shape], size[:, None] * light[shape, shift]))
    return found


def steady_gain(level: Levelled, shaped: Shaped) -> float:
    """Return how well a beat explains the lamps, dark frames of a flash nearly left out."""
    rows = zip(level.x, shaped.lit, level.noise, strict=True)
    return sum(float(np.maximum(speaking(x, lit, s), -2.0).sum()) for x, lit, s in rows)


def with_beat(series: LampSeries, level: Levelled, rate: float) -> Explanation:
    """Return the explanations by a beat at about ``rate``, rate and shape refined."""

    def gain(shaped: Shaped) -> float:
        return steady_gain(level, shaped)

    first = max(shapes_at(series, level, rate, coarse_kinds()), key=gain)
    tried = [first]
    for _ in range(2):
        for step in (-0.1, -0.05, 0.0, 0.05, 0.1):
            near = tried[0].rate_hz + step / series.length_s
            tried += shapes_at(series, level, near, tried[0].kind.near())
        tried = [max(tried, key=gain)]
    best = tried[0]
    beat = Beat(best.rate_hz, best.kind.share)
    return Explanation(beat, beaten(series, level, best), level.top > DIMMEST)


def beaten(series: LampSeries, level: Levelled, best: Shaped) -> tuple[LampFit, ...]:
    """Return every lamp under a beat; a flash must darken a fair share of bright frames."""
    fits = []
    for x, lit, noise, ok in zip(level.x, best.lit, level.noise, level.seen, strict=True):
        loose = float(np.hypot(noise, 0.08 * lit.max(initial=0.0)))
        for_lit = np.where(ok, speaking(x, lit, loose), 0.0)
        most = float(np.minimum((lit / loose) ** 2 / 2, CAP_NATS)[ok].sum())
        fits.append(fitted(series.times_s, for_lit, most * LEAST_DARK))
    return tuple(fits)


def explanations(series: LampSeries, level: Levelled) -> list[Explanation]:
    """Return every explanation tried, the one without a beat first."""
    found = [without_beat(series, level)]
    if (level.top > DIMMEST).any():
        found += [with_beat(series, level, rate) for rate in beat_rates(series, level)]
    return found
