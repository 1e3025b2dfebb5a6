"""Tones: from steady partials to single events with a start, an end and a pitch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.partials import Partial, Picture
from tubside.recordings.sound.track import Track

Array = NDArray[np.float64]

STEADY_HZ = 1.8
STEADY_SHARE = 0.001
TAIL_SHARE, TAIL_SHARE_S = 0.0018, 0.0005
SPREAD_CYCLES = 0.2
SPREAD_HZ = 2.5
"""Spread of a tone's frequency: of its own [Hz] and [1], by its edges and a room's tail (over its
length, [1]), and by noise where it only just stands out [Hz]. A voice has five times as much."""
LASTS_S = 0.05
CLEAR_DB = 10.0
SAME_HZ = 7.0
SAME_SHARE = 0.008
"""Two partials are of one line when no further apart than this."""
MOST_LINES = 24
WEAKEST_DB = 26.0
"""Lines this far below the strongest are left out: echoes, partials, leftovers of a codec."""
FALLS_DB = 6.5
"""A tone has ended when it is this far below its loudest nearby."""
NEARBY_S = 0.45
OVER_NOISE = 6.0
SHORTEST_S = 0.035


@dataclass(frozen=True, slots=True)
class Tone:
    """One event: from start to end [s], pitch [Hz], power, and how far it falls [dB].

    ``falls_db`` compares the first third with the last: about nought for a beeper, more for
    what was struck. ``with_hz`` are all its partials, ``strange`` those that are no multiple.
    """

    start_s: float
    end_s: float
    pitch_hz: float
    power: float
    falls_db: float = 0.0
    with_hz: tuple[float, ...] = ()
    strange: tuple[float, ...] = ()
    lead_hz: float = 0.0
    strange_share: float = 0.0

    @property
    def length_s(self) -> float:
        """Length [s]."""
        return self.end_s - self.start_s


def is_steady(partial: Partial, hop_s: float) -> bool:
    """Return whether a partial keeps its pitch, lasts and stands out, as a tone's does."""
    lasts_s = len(partial.frames) * hop_s
    noise = SPREAD_HZ * 10 ** ((CLEAR_DB - partial.outstands_db) / 20)
    share = STEADY_SHARE + min(TAIL_SHARE, TAIL_SHARE_S / lasts_s)
    parts = (STEADY_HZ, share * partial.pitch_hz, SPREAD_CYCLES / lasts_s, noise)
    steady = partial.wander <= float(np.linalg.norm(parts))
    return steady and lasts_s >= LASTS_S and partial.outstands_db >= CLEAR_DB


def lines_of(steady: Sequence[Partial]) -> list[tuple[float, float]]:
    """Return (frequency [Hz], energy) of the lines that steady partials lie on, strongest first."""
    lines: list[list[float]] = []
    for one in sorted(steady, key=lambda p: -float(p.power.sum())):
        energy, pitch = float(one.power.sum()), one.pitch_hz
        near = [k for k in lines if abs(k[0] - pitch) <= max(SAME_HZ, SAME_SHARE * pitch)]
        if near:
            line = near[0]
            line[0] += (pitch - line[0]) * energy / (line[1] + energy)
            line[1] += energy
        else:
            lines.append([pitch, energy])
    lines.sort(key=lambda line: -line[1])
    weakest = lines[0][1] / 10 ** (WEAKEST_DB / 10) if lines else 0.0
    return [(hz, energy) for hz, energy in lines[:MOST_LINES] if energy >= weakest]


def loudness(track: Track, hz: float, window_s: float, hop_s: float) -> Array:
    """Return the power of a sound at one frequency through time: (T,) at multiples of ``hop_s``.

    One bin of a short-time spectrum with a Hann window, laid exactly on the frequency.
    """
    size, hop = round(window_s * track.rate_hz), round(hop_s * track.rate_hz)
    shape = np.hanning(size + 2)[1:-1]
    wave = np.exp(-2j * np.pi * hz / track.rate_hz * np.arange(size))
    probe = (shape / shape.sum() * wave).astype(np.complex64)
    padded = np.pad(track.samples, (size // 2, size))
    cuts = np.lib.stride_tricks.sliding_window_view(padded, size)[::hop]
    cuts = cuts[: len(track.samples) // hop]
    parts = [cuts[at : at + 2048] @ np.stack([probe.real, probe.imag], 1) for at in
             range(0, len(cuts), 2048)]  # fmt: skip
    return np.asarray(np.sum(np.concatenate(parts).astype(np.float64) ** 2, axis=1))


def on_and_off(level: Array, noise: float, hop_s: float) -> list[tuple[int, int]]:
    """Return where a level is on, as (first, past last) hops.

    On means well over the noise and within some decibels of the loudest nearby, so that a
    room's tail does not join two pulses.
    """
    from scipy.ndimage import maximum_filter1d  # noqa: PLC0415  # slow to import

    wide = 2 * round(NEARBY_S / hop_s) + 1
    peak = maximum_filter1d(level, wide, mode="nearest")
    on = level > np.maximum(OVER_NOISE * noise, peak / 10 ** (FALLS_DB / 10))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(int), [0]])))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


@dataclass(frozen=True, slots=True)
class Stretch:
    """One line while it is on: start and end [s], frequency [Hz], power, fall [dB]."""

    start_s: float
    end_s: float
    hz: float
    power: float
    falls_db: float

    @property
    def energy(self) -> float:
        """Power times length."""
        return self.power * (self.end_s - self.start_s)

    def shared(self, other: Stretch | Tone) -> float:
        """Return how much of the shorter of the two is common to both [1]."""
        both = min(self.end_s, other.end_s) - max(self.start_s, other.start_s)
        return both / min(self.end_s - self.start_s, other.end_s - other.start_s)


def window_for(hz: float, lines: Sequence[float], clear: float) -> float:
    """Return how long a window [s] a line needs: to stand out, and to leave others out.

    Hann's main lobe is two bins to each side, so lines 2.4 / window apart do not mix.
    """
    apart = min((abs(hz - k) for k in lines if k != hz), default=np.inf)
    noise = 0.024 if clear > 300.0 else 0.048 if clear > 40.0 else 0.09
    return float(min(max(noise, 2.4 / apart), 0.12))


def stretches(track: Track, seen: Picture, lines: Sequence[tuple[float, float]]) -> list[Stretch]:
    """Return when each line is on."""
    found = []
    names = [hz for hz, _ in lines]
    size = np.hanning(round(seen.window_s * track.rate_hz) + 1)[:-1]
    for hz in names:
        row = min(round(hz / seen.bin_hz), len(seen.floor) - 1)
        density = float(np.median(seen.floor[row])) / float(np.sum(size**2))
        first = loudness(track, hz, 0.048, seen.hop_s)
        window_s = window_for(hz, names, float(np.quantile(first, 0.95)) / _noise(track, density))
        level = loudness(track, hz, window_s, seen.hop_s)
        noise = _noise(track, density, window_s)
        found += _stretches(level, noise, hz, seen.hop_s)
    return found


def _noise(track: Track, density: float, window_s: float = 0.048) -> float:
    """Return the level that noise of a power per sample gives in :func:`loudness`."""
    return density * 1.5 / (window_s * track.rate_hz)


def _stretches(level: Array, noise: float, hz: float, hop_s: float) -> list[Stretch]:
    """Return the stretches of one line that last, and are no mere remainder of it."""
    runs: list[list[int]] = []
    for a, b in on_and_off(level, noise, hop_s):
        if runs and (a - runs[-1][1]) * hop_s < 0.025:
            runs[-1][1] = b
        else:
            runs.append([a, b])
    lasting = [(a, b) for a, b in runs if (b - a) * hop_s >= SHORTEST_S]
    if not lasting:
        return []
    tops = [float(level[a:b].max()) for a, b in lasting]
    return [
        Stretch(a * hop_s, b * hop_s, hz, float(level[a:b].mean()), _falls(level[a:b]))
        for (a, b), top in zip(lasting, tops, strict=True)
        if top > max(tops) / 16
    ]


def _falls(level: Array) -> float:
    third = max(1, len(level) // 3)
    return float(10 * np.log10(level[:third].mean() / level[-third:].mean()))


def multiple(hz: float, of: float, slack: float = 0.012) -> bool:
    """Return whether a frequency is a whole multiple of another, or the other of it.

    >>> multiple(2100.0, of=700.0), multiple(700.0, of=2105.0), multiple(1050.0, of=700.0)
    (True, True, False)
    """
    high, low = max(hz, of), min(hz, of)
    times = round(high / low)
    return abs(high / low - times) < slack * times


def tones_of(found: Sequence[Stretch]) -> list[Tone]:
    """Return tones in the order they begin: stretches that sound together are one.

    The strongest leads; the pitch is the lowest partial that is not much weaker than it. What
    sounds with a tone and is much weaker without being a multiple is a remainder of another.
    """
    heads: list[list[Stretch]] = []
    for one in sorted(found, key=lambda s: -s.energy):
        near = [head for head in heads if one.shared(head[0]) > 0.5]
        if not near:
            heads.append([one])
            continue
        best = max(near, key=lambda head: one.shared(head[0]))
        weak = one.power < best[0].power / 30
        if multiple(one.hz, best[0].hz) or not weak:
            best.append(one)
    return sorted((_tone(head) for head in heads), key=lambda tone: tone.start_s)


def _tone(head: list[Stretch]) -> Tone:
    lead = head[0]
    whole = [s for s in head if multiple(s.hz, lead.hz)]
    pitch = min(s.hz for s in whole if s.power > lead.power / 60)
    strange = tuple(s.hz for s in head if not multiple(s.hz, lead.hz))
    partial = tuple(sorted(s.hz for s in whole))
    power = sum(s.power for s in head)
    energy = sum(s.energy for s in head)
    odd = sum(s.energy for s in head if not multiple(s.hz, lead.hz)) / energy
    start, end, falls = lead.start_s, lead.end_s, lead.falls_db
    return Tone(start, end, pitch, power, falls, partial, strange, lead.hz, odd)
