"""A speed that stays: evidence from the mean spectrum of a whole recording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.orders import (
    FASTEST_HZ,
    HIGHEST_HZ,
    NOTCH_HZ,
    QUANTILE,
    RATE_HZ,
    SLOWEST_HZ,
    placed,
)
from tubside.recordings.sound.track import Samples

Array = NDArray[np.float64]

PIECE_S = 3.0
STEP = 0.0004
PRESENT = 0.7
STRENGTHS = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
TALLEST_NATS = 8.0
"""Of one order: many orders convince, a few loud lines do not, for a motor's lines lie off them."""
TEMPER = 2.0
"""Nats are divided by this: orders of one drum are heard or not heard together."""
HEARD_TO_HZ = (100.0, 140.0, 200.0, 280.0, 400.0, 560.0, HIGHEST_HZ)
"""Orders are heard up to one of these, each as likely: a slow drum's end where a fast one's go
on, and must not pay for what no drum of its speed sounds (common practice, no source)."""
SAME, ABOUT = 0.01, 0.03


@dataclass(frozen=True, slots=True)
class EvenSpeed:
    """Speed [turns/s], its 90 % interval, nats, chance within 1 %, and the best other speed."""

    turns_hz: float
    interval: tuple[float, float]
    nats: float
    probability: float
    other_hz: float


def mean_order_nats(outstands: Array, looks: float) -> Array:
    """Return the evidence for an order from its mean power over the noise in n looks [nat].

    The mean of n looks at noise of mean one has the density of Gamma(n) / n; with an order of
    mean strength A it is 1 + A times that:

    log(1 - q + q mean_A exp(n P A / (1 + A) - n log(1 + A))),

    the Bayes factor of :func:`tubside.recordings.sound.orders.order_nats` for n looks (Welch,
    *The use of fast Fourier transform for the estimation of power spectra*, IEEE Trans. Audio
    and Electroacoustics 15(2), 1967, for the looks).

    Examples
    --------
    An order at twice the noise says little in one look and much in ten; an empty place says the
    more against it, down to log(1 - q):

    >>> [mean_order_nats(np.array([2.0]), looks).round(2) for looks in (1.0, 10.0)]
    [array([-0.18]), array([1.39])]
    >>> mean_order_nats(np.array([0.5]), 10.0).round(2)
    array([-1.11])
    """
    a = np.array(STRENGTHS)[:, None]
    p = outstands.ravel()
    powers = looks * (p * a / (1 + a) - np.log1p(a))
    nats = np.log(1 - PRESENT + PRESENT * np.exp(np.minimum(powers, 50.0)).mean(axis=0))
    return np.asarray(np.minimum(nats, TALLEST_NATS).reshape(outstands.shape))


def mean_spectrum(samples: Samples) -> tuple[Array, float, float]:
    """Return the mean power over the noise around (B,), the width of a bin [Hz], and the looks."""
    from scipy.ndimage import percentile_filter  # noqa: PLC0415  # slow to import

    size = min(int(PIECE_S * RATE_HZ), len(samples))
    hop = max(1, size // 4)
    fft_size = 1 << (2 * size - 1).bit_length()
    bin_hz = RATE_HZ / fft_size
    top = int((HIGHEST_HZ + 60) / bin_hz)
    window = np.hanning(size)
    starts = range(0, len(samples) - size + 1, hop)
    power = np.zeros(top)
    for start in starts:
        piece = samples[start : start + size] * window
        spectrum = np.abs(np.fft.rfft(piece, fft_size)[:top]) ** 2
        power += spectrum / np.mean(spectrum)
    looks = 1 + 1.9 * (len(samples) - size) / size
    wide = int(40 / bin_hz)
    thin = percentile_filter(power[::4], 100 * QUANTILE, wide // 4 | 1)
    floor = np.interp(np.arange(top), np.arange(0, top, 4), thin) / low_share(looks)
    return power / np.maximum(floor, 1e-12 * power.max()), bin_hz, looks


def low_share(looks: float) -> float:
    """Return the quantile of the mean of n looks at noise of mean one that the floor is [1].

    >>> round(low_share(1.0), 3)
    0.357
    """
    from scipy.special import gammaincinv  # noqa: PLC0415  # slow to import

    return float(gammaincinv(looks, QUANTILE) / looks)


def order_sums(nats: Array, turns: Array, bin_hz: float) -> Array:
    """Return the evidence for each speed from that of its orders at each bin [nat]: (F,).

    How far up orders are heard is unknown, so the likelihoods of all ends are averaged:
    log mean_c exp(sum of the orders below c).

    Examples
    --------
    One strong order among 22 empty ones stands, for most of them lie above some of the ends:

    >>> bins = np.full(701, -1.0)
    >>> bins[30] = 8.0
    >>> order_sums(bins, np.array([30.0]), 1.0).round(1)
    array([4.4])
    """
    bins, owner = placed(turns, bin_hz)
    ends = np.searchsorted(HEARD_TO_HZ, bins * bin_hz, side="right")
    band = np.minimum(ends, len(HEARD_TO_HZ) - 1)
    shape = (len(HEARD_TO_HZ), len(turns))
    parts = np.bincount(band * len(turns) + owner, nats[bins], shape[0] * shape[1])
    sums = np.cumsum(parts.reshape(shape), axis=0)
    return np.asarray(np.logaddexp.reduce(sums, axis=0) - np.log(shape[0]))


def even_speed(samples: Samples, mains: Array, about_hz: float | None = None) -> EvenSpeed:
    """Return the speed that explains the mean spectrum best, by evidence over all its orders.

    The probability is over all speeds of 270 to 1800 turns a minute, of which beforehand any
    ratio is as likely. With ``about_hz`` only speeds within 3 % of it are looked at.
    """
    turns = np.exp(np.arange(np.log(SLOWEST_HZ), np.log(FASTEST_HZ), STEP))
    outstands, bin_hz, looks = mean_spectrum(samples)
    nats = mean_order_nats(outstands, looks)
    f = np.arange(len(nats)) * bin_hz
    for hz in mains:
        nats[np.abs(f - hz) < NOTCH_HZ + 0.001 * hz + 0.7] = 0.0
    total = order_sums(nats, turns, bin_hz)
    if about_hz is not None:
        total = np.where(np.abs(np.log(turns / about_hz)) < ABOUT, total, -np.inf)
    best = int(total.argmax())
    near = np.abs(np.log(turns / turns[best])) < SAME
    rival = int(np.where(near, -np.inf, total).argmax())
    weight = np.exp((total - total[best]) / TEMPER)
    inside = np.cumsum(weight[near]) / weight[near].sum()
    low, high = (turns[near][int(np.searchsorted(inside, q))] for q in (0.05, 0.95))
    return EvenSpeed(
        float(np.average(turns[near], weights=weight[near])),
        (float(low * (1 - STEP / 2)), float(high * (1 + STEP / 2))),
        float(total[best]),
        float(weight[near].sum() / weight.sum()),
        float(turns[rival]),
    )
