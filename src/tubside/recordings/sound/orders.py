"""How well each spin speed explains a short piece of sound: evidence summed over its orders."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.track import Samples, Track

Array = NDArray[np.float64]

RATE_HZ = 4_000
HIGHEST_HZ = 700.0
"""Orders of a drum are heard up to here (common practice, no source)."""
LOWEST_HZ = 25.0
SLOWEST_HZ, FASTEST_HZ = 4.5, 30.0
"""270 to 1800 turns a minute: slower ones are not told from a tumbling drum."""
STEP = 0.0015
PIECE_S = 1.5
HOP_S = 0.5
PRESENT = 0.7
"""Chance that an order of the drum is heard at all (common practice, no source)."""
STRENGTHS = (3.0, 10.0, 30.0, 100.0)
TALLEST = 12.0
"""Power over noise counts up to here: many orders convince, a few loud lines do not, for a
motor's lines and a bearing's lie off the drum's orders."""
QUANTILE = 0.3
SLOPES = (0.0, 0.004, 0.008, 0.016, 0.03, 0.05, 0.08, 0.12)
"""Relative changes of speed that are tried, each way [1/s]."""
MAINS_HZ = (50.0, 60.0)
NOTCH_HZ = 0.3


@dataclass(frozen=True, slots=True)
class Evidence:
    """Nats for each piece and speed (T, F), the best slope there [1/s], and the axes."""

    nats: Array
    slopes: Array
    times_s: Array
    turns_hz: Array


def order_nats(outstands: Array) -> Array:
    """Return the evidence for an order from the power over the noise at its place [nat].

    Noise power is exponential with mean one; with an order of mean strength A it has mean
    1 + A. The order is there with chance q, and any strength listed is as likely:

    log(1 - q + q mean_A exp(P A / (1 + A)) / (1 + A))

    a Bayes factor (Kass and Raftery, *Bayes factors*, J. American Statistical
    Association 90(430), 1995) for amplitudes of unknown phase.

    Examples
    --------
    Nothing where an order should be speaks against it, but not much:

    >>> order_nats(np.array([0.0, 1.0, 5.0, 20.0])).round(2).tolist()
    [-1.0, -0.79, 1.53, 7.65]
    """
    a = np.array(STRENGTHS)[:, None]
    p = np.minimum(outstands.ravel(), TALLEST)
    ratio = np.exp(p * a / (1 + a)) / (1 + a)
    return np.asarray(np.log(1 - PRESENT + PRESENT * ratio.mean(axis=0)).reshape(outstands.shape))


def without_mains(track: Track) -> tuple[Samples, Array]:
    """Return the sound at a low rate without lines of the mains, and which these were [Hz].

    Whichever comb of 50 or 60 Hz stands out more is cut from the spectrum of the whole.
    """
    from scipy.signal import resample_poly  # noqa: PLC0415  # slow to import

    low = resample_poly(track.samples, 1, track.rate_hz // RATE_HZ)
    spectrum = np.fft.rfft(low)
    f = np.asarray(np.fft.rfftfreq(len(low), 1 / RATE_HZ), np.float64)
    power = np.abs(spectrum) ** 2
    best, most = np.zeros(0), 8.0
    for mains in MAINS_HZ:
        found = [(hz, _stands(power, f, hz)) for hz in np.arange(mains, HIGHEST_HZ, mains)]
        tall = [(hz, out) for hz, out in found if out > 8.0]
        total = sum(min(out, 50.0) for _, out in tall)
        if total > most:
            best, most = np.array([hz for hz, _ in tall]), total
    for hz in best:
        spectrum[np.abs(f - hz) < NOTCH_HZ + 0.001 * hz] = 0.0
    return np.fft.irfft(spectrum, len(low)).astype(np.float32), best


def _stands(power: Array, f: Array, hz: float) -> float:
    """Return how far a line at a frequency stands out of what is around it."""
    at = np.abs(f - hz) < NOTCH_HZ + 0.001 * hz
    around = (np.abs(f - hz) < 4.0) & ~at
    return float(power[at].max() / power[around].mean()) if at.any() and around.any() else 0.0


def speeds() -> Array:
    """Return the speeds that are tried [turns a second], each 0.15 % above the last."""
    return np.asarray(np.exp(np.arange(np.log(SLOWEST_HZ), np.log(FASTEST_HZ), STEP)))


def evidence(samples: Samples, mains: Array) -> Evidence:
    """Return how well each speed explains each piece of a sound, its mains taken out before.

    A piece is stretched in time so that a speed changing evenly becomes constant, then its
    spectrum is held against the noise around, and the evidence summed over all orders of each
    speed up to 700 Hz. A speed of half the true one pays for its empty odd orders, one of twice
    for those it leaves out: no rule about octaves is needed.
    """
    turns = speeds()
    size, hop = int(PIECE_S * RATE_HZ), int(HOP_S * RATE_HZ)
    size = min(size, len(samples))
    starts = np.arange(0, len(samples) - size + 1, hop)
    fft_size = 1 << (2 * size - 1).bit_length()
    places = placed(turns, RATE_HZ / fft_size)
    slopes = np.array(sorted({s * sign for s in SLOPES for sign in (-1.0, 1.0)}))
    nats = np.full((len(starts), len(turns)), -np.inf)
    best = np.zeros_like(nats)
    for row, start in enumerate(starts):
        piece = samples[start : start + size]
        for slope in slopes:
            bins = _bins(piece, slope, fft_size, mains)
            here = np.bincount(places[1], bins[places[0]], len(turns))
            better = here > nats[row]
            nats[row][better] = here[better]
            best[row][better] = slope
    return Evidence(nats, best, (starts + size / 2) / RATE_HZ, turns)


def placed(turns: Array, bin_hz: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the bins of all orders of all speeds, and the speed that each belongs to."""
    bins, owner = [], []
    for k, hz in enumerate(turns):
        order = np.arange(np.ceil(LOWEST_HZ / hz), HIGHEST_HZ / hz)
        bins.append(np.round(order * hz / bin_hz).astype(np.int64))
        owner.append(np.full(len(order), k))
    return np.concatenate(bins), np.concatenate(owner)


def _bins(piece: Samples, slope: float, fft_size: int, mains: Array) -> Array:
    """Return the evidence for an order at each bin, for speed changing by ``slope`` [1/s]."""
    from scipy.ndimage import percentile_filter  # noqa: PLC0415  # slow to import

    n = len(piece)
    t = (np.arange(n) - n / 2) / RATE_HZ
    even = np.interp(_when(t, slope), t, piece) if slope else piece
    top = int((HIGHEST_HZ + 60) * fft_size / RATE_HZ)
    power = np.abs(np.fft.rfft(even * np.hanning(n), fft_size)[:top]) ** 2
    wide = int(50 * fft_size / RATE_HZ) | 1
    thin = percentile_filter(power[::4], 100 * QUANTILE, wide // 4 | 1)
    floor = np.interp(np.arange(top), np.arange(0, top, 4), thin) / -np.log(1 - QUANTILE)
    nats = order_nats(power / np.maximum(floor, 1e-12 * power.max() + 1e-30))
    if abs(slope) < 0.005:
        f = np.arange(top) * RATE_HZ / fft_size
        for hz in mains:
            nats[np.abs(f - hz) < NOTCH_HZ + 1.4 / PIECE_S] = 0.0
    return nats


def _when(even: Array, slope: float) -> Array:
    """Return the true time at which the phase of a speed 1 + slope t has come to ``even``.

    The phase is t + slope t^2 / 2; its inverse is (sqrt(1 + 2 slope even) - 1) / slope.
    """
    return np.asarray((np.sqrt(np.maximum(1 + 2 * slope * even, 0.01)) - 1) / slope)
