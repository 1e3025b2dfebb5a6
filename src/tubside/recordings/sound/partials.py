"""Partials: lines of a spectrum that last, each followed through time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.track import Track

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

WINDOW_S = 0.064
HOP_S = 0.008
LOWEST_HZ = 250.0
HIGHEST_HZ = 7000.0
AROUND_HZ = 240.0
"""A line is held against the middle power of the frequencies this far around it."""
OUTSTANDS = 8.0
"""Of a line over what is around it; pure noise passes it in one bin of 250 (2^-8)."""
JUMP_HZ = 14.0
"""A partial moves no further from one hop to the next."""
MISSED = 2
"""Hops that a partial may be hidden for."""


@dataclass(frozen=True, slots=True)
class Picture:
    """Power over frequency and time (F, T), the noise around each place, and the axes."""

    power: Array
    floor: Array
    bin_hz: float
    hop_s: float
    window_s: float = WINDOW_S

    @property
    def times_s(self) -> Array:
        """Middle of each column [s]: (T,)."""
        return np.asarray(np.arange(self.power.shape[1]) * self.hop_s + self.window_s / 2)


@dataclass(frozen=True, slots=True)
class Partial:
    """One line followed through hops ``frames`` (n,): frequency [Hz], power, noise around it."""

    frames: Ints
    hz: Array
    power: Array
    floor: Array

    @property
    def outstands_db(self) -> float:
        """How far it stands out of the noise, over its length [dB]."""
        return float(10 * np.log10(self.power.mean() / self.floor.mean()))

    @property
    def pitch_hz(self) -> float:
        """Frequency, the strong parts counting for more [Hz]."""
        return float(np.average(self.hz, weights=self.power))

    @property
    def wander(self) -> float:
        """Spread of its frequency [Hz], by squared power: edges are moved by what is beside."""
        weight = self.power**2
        mean = float(np.average(self.hz, weights=weight))
        return float(np.sqrt(np.average((self.hz - mean) ** 2, weights=weight)))


def picture(track: Track, window_s: float = WINDOW_S) -> Picture:
    """Return the short-time spectrum of a sound and the noise around each place.

    Hann window of 64 ms, or as long as is asked for [s], every 8 ms (Harris, *On the use of
    windows for harmonic analysis with the discrete Fourier transform*, Proc. IEEE 66(1), 1978).
    The noise at a place is the median of the frequencies around it, smoothed over five hops: a
    few lines do not move a median, many close ones, of a voice or a motor, do.
    """
    from scipy.ndimage import uniform_filter1d  # noqa: PLC0415  # slow to import

    size, hop = round(window_s * track.rate_hz), round(HOP_S * track.rate_hz)
    shape = np.hanning(size + 1)[:-1].astype(np.float32)
    cuts = np.lib.stride_tricks.sliding_window_view(track.samples, size)[::hop]
    bin_hz = track.rate_hz / size
    top = int((HIGHEST_HZ + AROUND_HZ) / bin_hz) + 1
    power = np.empty((top, len(cuts)))
    for at in range(0, len(cuts), 512):
        spectrum = np.fft.rfft(cuts[at : at + 512] * shape, axis=1)[:, :top]
        power[:, at : at + 512] = (np.abs(spectrum) ** 2).T
    smooth = uniform_filter1d(power, 5, axis=1, mode="nearest")
    floor = median_around(smooth, int(AROUND_HZ / bin_hz)) / np.log(2)
    return Picture(power, np.maximum(floor, 1e-9 * power.max()), bin_hz, HOP_S, window_s)


def median_around(power: Array, reach: int) -> Array:
    """Return the median over frequency of each place and ``reach`` to both sides: (F, T).

    The columns, their ends prolonged, are filtered as one long row, which is eight times as fast
    as a filter of two dimensions.

    Examples
    --------
    >>> median_around(np.array([[1.0], [9.0], [2.0], [3.0]]), 1).ravel()
    array([1., 2., 3., 3.])
    """
    from scipy.ndimage import median_filter  # noqa: PLC0415  # slow to import

    columns = np.pad(power.T, ((0, 0), (reach, reach)), mode="edge")
    found = median_filter(columns.ravel(), size=2 * reach + 1, mode="nearest")
    return np.asarray(found.reshape(columns.shape)[:, reach:-reach].T)


def peaks(seen: Picture) -> tuple[Ints, Ints, Array]:
    """Return hop, bin and refined frequency [Hz] of each line that stands out, by hop.

    The top of a parabola through the logarithms of three bins: exact for a Gaussian window,
    within a twentieth of a bin for Hann's (Harris 1978; Smith and Serra, PARSHL, 1987).
    """
    p = seen.power
    low = int(LOWEST_HZ / seen.bin_hz)
    inner = p[low:-2]
    top = (inner > p[low - 1 : -3]) & (inner >= p[low + 1 : -1])
    top &= (inner > p[low - 2 : -4]) & (inner >= p[low + 2 :])
    top &= inner > OUTSTANDS * seen.floor[low:-2]
    hop, where = np.nonzero(top.T)
    row = where + low
    a, b, c = (np.log(p[row + k, hop] + 1e-30) for k in (-1, 0, 1))
    bend = a - 2 * b + c
    shift = np.where(bend < 0, (a - c) / (2 * np.where(bend < 0, bend, -1.0)), 0.0)
    return hop, row, (row + np.clip(shift, -0.5, 0.5)) * seen.bin_hz


def partials(seen: Picture, shortest: int = 4) -> list[Partial]:
    """Return the partials of at least ``shortest`` hops, in the order they begin.

    Each line goes on with the nearest one of the next hop (McAulay and Quatieri, *Speech
    analysis/synthesis based on a sinusoidal representation*, IEEE Trans. ASSP 34(4), 1986).
    """
    hop, row, hz = peaks(seen)
    edges = np.searchsorted(hop, np.arange(seen.power.shape[1] + 1))
    open_: list[list[int]] = []
    done: list[list[int]] = []
    for at in range(seen.power.shape[1]):
        going = [line for line in open_ if at - hop[line[-1]] <= MISSED + 1]
        done += [line for line in open_ if at - hop[line[-1]] > MISSED + 1]
        new = range(int(edges[at]), int(edges[at + 1]))
        open_ = joined(going, list(new), hz)
    found = [np.array(line) for line in done + open_ if len(line) >= shortest]
    found.sort(key=lambda line: (int(hop[line[0]]), float(hz[line[0]])))
    return [
        Partial(
            hop[line], hz[line], seen.power[row[line], hop[line]], seen.floor[row[line], hop[line]]
        )
        for line in found
    ]


def joined(going: list[list[int]], new: list[int], hz: Array) -> list[list[int]]:
    """Return the lines with each new peak put to the nearest line, nearest pairs first."""
    pairs = sorted(
        (abs(hz[line[-1]] - hz[peak]), k, peak)
        for k, line in enumerate(going)
        for peak in new
        if abs(hz[line[-1]] - hz[peak]) <= JUMP_HZ
    )
    taken_lines: set[int] = set()
    taken: set[int] = set()
    for _, k, peak in pairs:
        if k not in taken_lines and peak not in taken:
            going[k].append(peak)
            taken_lines.add(k)
            taken.add(peak)
    return going + [[peak] for peak in new if peak not in taken]
