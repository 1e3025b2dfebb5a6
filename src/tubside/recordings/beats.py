"""Beats between a panel's multiplex and the camera's frames: where, and of what shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len

from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.strobing import BINS, Kind, coarse_kinds, table

Array = NDArray[np.float64]
CAP_NATS = 8.0
SLOWEST_MULTIPLEX_HZ = 45.0
FASTEST_MULTIPLEX_HZ = 1100.0
TRIED = 6
KEPT = 3
RANKED = 6
SAME_HEIGHT = 0.85
CUTS = (1.0, 0.65, 0.4, 0.15)
GUESSED = -2.0
KNOWN = -CAP_NATS
CLOCK_BINS = 2
FINE_STEPS = ((0.03, 5), (0.015, 3))
WIDE_STEPS = ((0.3, 15), (0.06, 5), *FINE_STEPS)


@dataclass(frozen=True, slots=True)
class Shaped:
    """A kind of beat at a rate, and the light expected of every lamp while lit.

    ``wave`` is a lamp's light by bin of phase, shape (lamps, BINS), and ``at`` the bin of each
    frame, shape (lamps, frames). ``cut`` says whether some lamp is thought to saturate the camera.
    """

    rate_hz: float
    kind: Kind
    lit: Array
    wave: Array
    at: NDArray[np.int64]
    cut: bool = False

    def band(self) -> tuple[Array, Array]:
        """Return the least and the most light expected when the clock is a little off."""
        near = [np.roll(self.wave, step, axis=1) for step in range(-CLOCK_BINS, CLOCK_BINS + 1)]
        low, high = np.min(near, axis=0), np.max(near, axis=0)
        return np.take_along_axis(low, self.at, 1), np.take_along_axis(high, self.at, 1)


def rate_limits(series: LampSeries) -> tuple[float, float]:
    """Return the lowest and highest phase rate in Hz at which a multiplex may show.

    On an even clock only its alias shows; off it, its own rate. The alias may be half the
    frame rate, so a little more is looked at: a peak is higher than both its neighbours.
    """
    if series.uneven:
        return SLOWEST_MULTIPLEX_HZ, FASTEST_MULTIPLEX_HZ
    return 0.25 / series.length_s, series.rate_hz / 2 + 1.0 / series.length_s


def powers(series: LampSeries, values: Array) -> tuple[Array, Array]:
    """Return rates in Hz and, at each, every row's power in units of what noise would give.

    ``values`` (lamps, frames) are nought where a frame does not count.
    """
    low, high = rate_limits(series)
    rates = np.arange(low, high, 0.25 / series.length_s)
    size = np.maximum((values**2).sum(1), 1e-12)[:, None]
    if not series.uneven:
        waves = np.exp(-2j * np.pi * rates[:, None] * series.times_s)
        return rates, np.asarray(np.abs(values @ waves.T) ** 2 / size)
    grid = 0.2 / high
    turns = next_fast_len(round(4 * series.length_s / grid), real=True)
    places = np.round((series.read_s - series.times_s[0]) / grid).astype(np.int64) % turns
    found = []
    for row, place in zip(values, places, strict=True):
        line = np.abs(np.fft.rfft(np.bincount(place, row, turns))) ** 2
        found.append(np.interp(rates, np.arange(len(line)) / (turns * grid), line))
    return rates, np.asarray(np.array(found) / size)


def beat_rates(series: LampSeries, level: Levelled) -> list[float]:
    """Return the rates at which the panel may be strobing, strongest first."""
    seen = level.seen & level.lit[:, None]
    mean = np.where(seen, level.x, 0.0).sum(1) / np.maximum(seen.sum(1), 1)
    rates, power = powers(series, np.where(seen, level.x - mean[:, None], 0.0))
    return peaks(rates, power.sum(0), TRIED)


def peaks(rates: Array, total: Array, most: int) -> list[float]:
    """Return the rates of the highest peaks, highest first, found between the rates tried."""
    inner = np.flatnonzero((total[1:-1] >= total[:-2]) & (total[1:-1] >= total[2:])) + 1
    found = inner[np.argsort(total[inner])[::-1][:most]]
    left, middle, right = total[found - 1], total[found], total[found + 1]
    bent = np.minimum(left - 2 * middle + right, -1e-12)
    between = 0.5 * (left - right) / bent
    return [float(rate) for rate in rates[found] + between * (rates[1] - rates[0])]


def places(series: LampSeries, rate: float) -> NDArray[np.int64]:
    """Return the bin of the phase of each lamp in each frame, shape (lamps, frames)."""
    return np.asarray(np.floor(series.read_s * rate % 1.0 * BINS).astype(np.int64) % BINS)


def folded(place: NDArray[np.int64], values: Array) -> Array:
    """Return sums of values by lamp and bin of phase, shape (lamps, BINS)."""
    lamps = len(place)
    flat = (place + np.arange(lamps)[:, None] * BINS).ravel()
    sums = np.bincount(flat, values.ravel(), lamps * BINS).astype(np.float64)
    return np.asarray(sums.reshape(lamps, BINS))


def slid(spectra: NDArray[np.complex128], sums: Array) -> Array:
    """Return Σ shape(bin + shift) sum(bin), shape (kinds, lamps, shifts), from shapes' spectra."""
    return np.asarray(np.fft.irfft(spectra[:, None, :] * np.conj(np.fft.rfft(sums)), BINS))


def saturated(level: Levelled) -> NDArray[np.bool_]:
    """Return the lamps that may saturate the camera: several that all reach the same height."""
    most = level.top.max(initial=0.0)
    high = level.lit & (level.top > SAME_HEIGHT * most)
    return high if int(high.sum()) > 1 else np.zeros_like(high)


def shapes_at(
    series: LampSeries, level: Levelled, rate: float, kinds: tuple[tuple[Kind, ...], Array]
) -> list[Shaped]:
    """Return the likeliest kinds at a rate.

    Ranked by what steady lamps would leave over, on all frames and on bright frames only,
    for a flash darkens frames that the beat would light. Lamps that may saturate the camera
    may be cut off at a share of their peak, each at its own.
    """
    names, shapes = kinds
    place, bright = places(series, rate), saturated(level)
    cuts = CUTS if bright.any() else CUTS[:1]
    tops = shapes.max(1, keepdims=True)
    cut = np.stack([np.minimum(shapes, share * tops) for share in cuts])
    flat = cut.reshape(-1, BINS)
    spectra, squares = np.fft.rfft(flat), np.fft.rfft(flat**2)
    found: list[Shaped] = []
    who = np.flatnonzero(level.lit)
    each = np.arange(len(who))
    x, noise, seen = level.x[who], level.noise[who, None], level.seen[who]
    for weight in (seen, seen & (x > 0.25 * level.top[who, None])):
        up = np.maximum(slid(spectra, folded(place[who], weight * x)), 0.0)
        down = np.maximum(slid(squares, folded(place[who], weight.astype(np.float64))), 1e-9)
        gain = (up**2 / down / (2 * noise**2)).reshape(len(cuts), len(names), -1, BINS)
        gain[1:, :, ~bright[who]] = 0.0
        for shape in np.argsort(gain.max((0, 3)).sum(1))[-RANKED:]:
            way, shift = np.divmod(
                gain[:, shape].transpose(1, 0, 2).reshape(len(who), -1).argmax(1), BINS
            )
            row = way * len(names) + shape
            size = up[row, each, shift] / down[row, each, shift]
            wave, at = np.zeros((len(place), BINS)), place.copy()
            wave[who], at[who] = size[:, None] * flat[row], (place[who] + shift[:, None]) % BINS
            light = np.take_along_axis(wave, at, axis=1)
            found.append(Shaped(rate, names[shape], light, wave, at, bool((way > 0).any())))
    return found


def against_dark(level: Levelled, lit: Array, spread: float = 0.0) -> Array:
    """Return the nats by which each frame speaks against a dark lamp, capped."""
    noise = np.hypot(level.noise, spread * lit.max(1, initial=0.0))[:, None]
    return np.asarray(np.where(level.seen, np.minimum((level.x / noise) ** 2 / 2, CAP_NATS), 0.0))


def speaking(level: Levelled, lit: Array, spread: float = 0.0) -> Array:
    """Return the nats by which each frame speaks for ``lit`` against dark, capped.

    Frames not seen say nothing. ``spread`` widens the noise by a share of the light.
    """
    noise = np.hypot(level.noise, spread * lit.max(1, initial=0.0))[:, None]
    bright = np.minimum(((level.x - lit) / noise) ** 2 / 2, CAP_NATS)
    return np.asarray(np.where(level.seen, against_dark(level, lit, spread) - bright, 0.0))


def speaking_off_clock(level: Levelled, shaped: Shaped, spread: float) -> Array:
    """Return the nats for a lamp lit under a beat, its edges blurred by the clock if they are.

    Light that is as likely anywhere between ``low`` and ``high``, with noise of spread s, has
    at most the density of the noise alone over 1 + (high - low)/(s √(2π)).
    """
    low, high = shaped.band()
    noise = np.hypot(level.noise, spread * shaped.lit.max(1, initial=0.0))[:, None]
    price = np.log1p((high - low) / (noise * np.sqrt(2 * np.pi)))
    off = level.x - np.clip(level.x, low, high)
    bright = np.minimum((off / noise) ** 2 / 2 + price, CAP_NATS)
    blurred = np.where(level.seen, against_dark(level, shaped.lit, spread) - bright, 0.0)
    exact = speaking(level, shaped.lit, spread)
    better = np.maximum(blurred, GUESSED).sum() > np.maximum(exact, GUESSED).sum()
    return np.asarray(blurred if better else exact)


def steady_gain(level: Levelled, shaped: Shaped, least: float = GUESSED) -> float:
    """Return how well a beat explains lit lamps, each frame speaking against it by ``least``.

    While it is not known which frames a flash darkens, dark frames are nearly left out.
    """
    return float(np.maximum(speaking(level, shaped.lit), least)[level.lit].sum())


def likely_beats(series: LampSeries, level: Levelled, rates: list[float]) -> list[Shaped]:
    """Return the beats that explain most, each with its shape, and its rate refined."""

    def gain(shaped: Shaped) -> float:
        return steady_gain(level, shaped)

    kinds = coarse_kinds()
    first = [max(shapes_at(series, level, rate, kinds), key=gain) for rate in rates]
    best = sorted(first, key=gain, reverse=True)[:KEPT]
    return [refined_beat(series, level, shaped, WIDE_STEPS) for shaped in best]


def refined_beat(
    series: LampSeries,
    level: Levelled,
    best: Shaped,
    steps: tuple[tuple[float, int], ...] = FINE_STEPS,
    least: float = GUESSED,
) -> Shaped:
    """Return the beat near a given one that explains most.

    ``steps`` are reaches of the rate, in turns over the clip, and how many rates to try.
    """

    def gain(shaped: Shaped) -> float:
        return steady_gain(level, shaped, least)

    for reach, count in steps:
        near = best.kind.near() if reach < WIDE_STEPS[0][0] else best.kind.narrower()
        shapes = near, table(near)
        found = [best]
        for step in np.linspace(-reach, reach, count) / series.length_s:
            found += shapes_at(series, level, best.rate_hz + float(step), shapes)
        best = max(found, key=gain)
    return best


def for_all(series: LampSeries, level: Levelled, some: Levelled, shaped: Shaped) -> Shaped:
    """Return a beat found on some lamps with the light that its kind makes of every lit lamp."""
    kind = (shaped.kind,)
    found = shapes_at(series, level, shaped.rate_hz, (kind, table(kind)))
    return max(found, key=lambda each: steady_gain(some, each))
