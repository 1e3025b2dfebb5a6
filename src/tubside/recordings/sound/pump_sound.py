"""What a drain pump does, from the change within one recording; never from a level alone.

A phone sets its own gain, so only the change counts: the lines of the mains, which the magnets
of the motor give, and the broad noise of water and air. In centrifugal pumps air and cavitation
raise 1 to 10 kHz while the lines hardly change (Kotb and Abdulaziz, Energy and Power Engineering
7, 2015, pp. 575-583).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.track import Track

Array = NDArray[np.float64]

PIECE_S, HOP_S = 0.4, 0.1
BROAD_HZ = (1000.0, 6000.0)
LINES_TO_HZ = 810.0
MAINS_HZ = (50.0, 60.0)
SIDE_S = 1.5
"""Least length before and after the change."""
SILENT_DB = 1.5
"""A smaller change of both is none (common practice, no source)."""
STATES = ("loaded", "free", "blocked", "silent")

TYPICAL = {"loaded": (15.0, 0.7), "free": (14.0, 3.0), "blocked": (40.0, 0.7)}
SPREAD = (8.0, 0.8)
MOST_RATIO_DB, MOST_GULPS_DB = 45.0, 3.2
"""Density of lines over that of broad noise, both as added by the pump [dB], and how the broad
noise goes up and down in a second or two [dB]: middles and spreads (common practice, no
source; no pump was recorded)."""


@dataclass(frozen=True, slots=True)
class PumpSound:
    """State, likelihoods under a flat prior, and what they rest on.

    ``change_s`` is when the pump starts or stops [s]; ``lines_db`` and ``broad_db`` are by how
    much lines and broad noise are louder with it [dB]; ``gulps_db`` is how much the broad noise
    swings meanwhile [dB].
    """

    state: str
    probability: dict[str, float]
    change_s: float | None
    lines_db: float
    broad_db: float
    gulps_db: float


def levels(track: Track) -> tuple[Array, Array]:
    """Return the power of the lines and of the broad noise in each piece: (T,), (T,)."""
    size, hop = int(PIECE_S * track.rate_hz), int(HOP_S * track.rate_hz)
    cuts = np.lib.stride_tricks.sliding_window_view(track.samples, size)[::hop]
    f = np.fft.rfftfreq(size, 1 / track.rate_hz)
    window = np.hanning(size).astype(np.float32)
    broad_at = (f >= BROAD_HZ[0]) & (f < BROAD_HZ[1])
    combs = [np.arange(2 * mains, LINES_TO_HZ, 2 * mains) for mains in MAINS_HZ]
    at = [np.abs(f[:, None] - comb[None, :]).min(axis=1) < 1.5 / PIECE_S for comb in combs]
    lines: list[list[float]] = [[], []]
    broad = []
    for cut in cuts:
        power = np.abs(np.fft.rfft(cut * window)) ** 2
        broad.append(float(power[broad_at].mean()))
        for kept, where in zip(lines, at, strict=True):
            kept.append(float(power[where].mean()))
    swing = [np.ptp(np.log(np.maximum(row, 1e-12))) if row else 0.0 for row in lines]
    return np.array(lines[int(np.argmax(swing))]), np.array(broad)


def change_point(rows: Array) -> tuple[int, float]:
    """Return where rows (2, T) change their means most, and by how many nats that is better.

    The likeliest place of one change in normal noise (Hinkley, *Inference about the
    change-point in a sequence of random variables*, Biometrika 57(1), 1970).

    Examples
    --------
    >>> rows = np.array([[0.0, 1, 0, 1, 0, 1, 9, 8, 9, 8, 9, 8]] * 2)
    >>> change_point(rows)[0]
    6
    """
    n = rows.shape[1]
    least = min(max(2, round(SIDE_S / HOP_S)), n // 3)
    whole = n * np.log(rows.var(axis=1) + 1e-3).sum() / 2
    best, gain = 0, -np.inf
    for at in range(least, n - least + 1):
        inside = at * rows[:, :at].var(axis=1) + (n - at) * rows[:, at:].var(axis=1)
        here = whole - n * np.log(inside / n + 1e-3).sum() / 2
        if here > gain:
            best, gain = at, float(here)
    return best, gain


def read_pump(track: Track) -> PumpSound | None:
    """Return what the pump does, or none in a recording too short to hold a change."""
    lines, broad = levels(track)
    if len(lines) < 3 * SIDE_S / HOP_S:
        return None
    tiny = 1e-9 * (lines.max() + broad.max()) + 1e-30
    both = 10 * np.log10(np.stack([lines, broad]) + tiny)
    at, _ = change_point(both)
    guard = round(PIECE_S / HOP_S)
    parts = [slice(0, max(1, at - guard)), slice(at + guard, len(lines))]
    means = [(np.median(lines[p]), np.median(broad[p])) for p in parts]
    on = int(np.sum(np.log(np.array(means[1]) + tiny)) > np.sum(np.log(np.array(means[0]) + tiny)))
    (line_off, broad_off), (line_on, broad_on) = means[1 - on], means[on]
    lines_db = float(10 * np.log10((line_on + tiny) / (line_off + tiny)))
    broad_db = float(10 * np.log10((broad_on + tiny) / (broad_off + tiny)))
    gulps_db = swings(both[1, parts[on]])
    ratio = float(10 * np.log10(max(line_on - line_off, tiny) / max(broad_on - broad_off, tiny)))
    chances = likelihoods(lines_db, broad_db, ratio, gulps_db)
    state = max(STATES, key=lambda s: chances[s])
    when = None if state == "silent" else round(at * HOP_S + PIECE_S / 2, 1)
    rounded = (round(value, 1) for value in (lines_db, broad_db, gulps_db))
    return PumpSound(state, chances, when, *rounded)


def swings(level_db: Array) -> float:
    """Return how far a level goes up and down, slow drift taken off [dB]."""
    n = len(level_db)
    drift = np.polyval(np.polyfit(np.arange(n), level_db, 1), np.arange(n)) if n > 3 else level_db
    return float(np.std(level_db - drift))


def likelihoods(
    lines_db: float, broad_db: float, ratio: float, gulps_db: float
) -> dict[str, float]:
    """Return the likelihood of each state under a flat prior; they add to one.

    Examples
    --------
    Hum comes, and no water: the pump is held.

    >>> told = likelihoods(lines_db=15.0, broad_db=0.5, ratio=42.0, gulps_db=1.0)
    >>> max(told, key=told.get)
    'blocked'
    """
    most = max(lines_db, broad_db)
    changed = float(1 / (1 + np.exp(-(most - 2 * SILENT_DB) / (SILENT_DB / 3))))
    out = {}
    for state, (middle, gulp) in TYPICAL.items():
        off = (
            (min(ratio, MOST_RATIO_DB) - middle) / SPREAD[0],
            (min(gulps_db, MOST_GULPS_DB) - gulp) / SPREAD[1],
        )
        out[state] = float(np.exp(-(off[0] ** 2 + off[1] ** 2) / 2)) + 0.01
    total = sum(out.values())
    told = {state: changed * value / total for state, value in out.items()}
    told["silent"] = 1 - changed
    return {state: round(0.01 + 0.96 * told[state], 4) for state in STATES}
