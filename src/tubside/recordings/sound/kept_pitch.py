"""Whether tones keep one pitch all along, as a beeper does and a motor's whine does not."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tubside.recordings.sound.partials import Array
from tubside.recordings.sound.tones import Tone
from tubside.recordings.sound.track import Track

PIECE_S = 0.4
SHORTEST_S = 0.05
BLOCK_S = 0.008
REACH_HZ, REACH_SHARE = 14.0, 0.012
CYCLES = 0.2
SHARE = 0.0005
"""Error of a piece's pitch: by its edges and a room's tail (over its length), and its own [1]."""


def pitch_near(track: Track, hz: float, start_s: float, end_s: float) -> float:
    """Return the pitch [Hz] of the strongest line near a frequency in a piece of a sound.

    The top of the spectrum of the whole piece, shifted to nought and thinned out, by a parabola.

    Examples
    --------
    >>> t = np.arange(8000) / 16_000
    >>> track = Track(np.sin(2 * np.pi * 1003.3 * t).astype(np.float32))
    >>> round(pitch_near(track, 1000.0, 0.05, 0.45), 1)
    1003.3
    """
    block = round(BLOCK_S * track.rate_hz)
    first, last = round(start_s * track.rate_hz), round(end_s * track.rate_hz)
    piece = track.samples[first : first + (last - first) // block * block]
    turn = np.exp(-2j * np.pi * hz / track.rate_hz * np.arange(len(piece)))
    low = (piece * turn).reshape(-1, block).sum(axis=1)
    power = np.abs(np.fft.fft(low * np.hanning(len(low) + 2)[1:-1], 2048)) ** 2
    f = np.fft.fftfreq(2048, BLOCK_S)
    power[np.abs(f) > min(REACH_HZ, REACH_SHARE * hz)] = 0.0
    top = int(power.argmax())
    a, b, c = (float(power[(top + k) % 2048]) for k in (-1, 0, 1))
    bend = a - 2 * b + c
    shift = (a - c) / (2 * bend) if bend < 0 else 0.0
    return float(hz + f[top] + shift / (2048 * BLOCK_S))


def pieces(tone: Tone) -> list[tuple[float, float]]:
    """Return a tone in even pieces of at most 0.4 s, as (start, end) [s]."""
    count = max(1, int(np.ceil(tone.length_s / PIECE_S)))
    edges = np.linspace(tone.start_s, tone.end_s, count + 1)
    return list(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True))


def leaving(track: Track, tones: Sequence[Tone]) -> float:
    """Return how far tones of one pitch leave it, in units of what a beeper's may seem to [1].

    The middle one of all pieces, by length, so that a note beside pulses does not count.
    """
    found = [
        (pitch_near(track, tone.lead_hz, a, b), b - a, tone)
        for tone in tones
        if tone.length_s >= SHORTEST_S and tone.lead_hz
        for a, b in pieces(tone)
    ]
    if len(found) < 2:
        return 0.0
    lowest = min(tone.pitch_hz for tone in tones)
    times = np.array([max(1, round(tone.lead_hz / lowest)) for _, _, tone in found])
    pitch = np.array([hz for hz, _, _ in found]) / times
    long = np.array([length for _, length, _ in found])
    error = np.hypot(CYCLES / long / times, SHARE * pitch)
    off = np.abs(pitch - middle_one(pitch, long)) / error
    return middle_one(off, long)


def middle_one(values: Array, weight: Array) -> float:
    """Return the weighted median.

    >>> middle_one(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 4.0]))
    2.0
    """
    order = np.argsort(values)
    sums = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(sums, sums[-1] / 2)])
