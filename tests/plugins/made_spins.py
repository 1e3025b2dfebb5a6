"""Simulated recordings of a spinning drum, its motor, a pump, a worn bearing; with their truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from made_sounds import FS, Rng, Wave, clicks, hum, microphone, pink, room


@dataclass(frozen=True)
class MadeSpin:
    """A recording (N,) at 44.1 kHz and the true speed [turns a minute] at each 0.1 s."""

    wave: Wave
    rpm: Wave
    shape: str

    @property
    def plateau_rpm(self) -> float:
        """Mean speed of the last tenth."""
        return float(self.rpm[-len(self.rpm) // 10 :].mean())


def speed(rng: Rng, n: int, shape: str) -> Wave:
    """Return turns a second: constant but for a small wander, or a run-up to a plateau."""
    t = np.arange(n) / FS
    top = rng.uniform(400, 1600) / 60
    slow = np.interp(
        t,
        np.arange(0, t[-1] + 1, 0.5),
        rng.normal(0, 6e-4, int(2 * t[-1]) + 3)[: len(np.arange(0, t[-1] + 1, 0.5))],
    )
    if shape == "constant":
        return np.asarray(top * (1 + slow))
    first = max(5.5, top * rng.uniform(0.3, 0.6))
    until = t[-1] * rng.uniform(0.5, 0.7)
    x = np.clip((t - 1.0) / (until - 1.0), 0, 1)
    return np.asarray((first + (top - first) * (3 * x**2 - 2 * x**3 + x) / 2) * (1 + slow))


def made_spin(seed: int, snr_db: float, shape: str = "constant", rough: float = 0.0) -> MadeSpin:
    """Return a recording; ``snr_db`` is the power of all orders over that of all noise.

    ``rough`` adds bursts of broad noise, some orders apart, as a pitted race makes them.
    """
    rng = np.random.default_rng(seed)
    length = rng.uniform(9, 11) if shape == "constant" else rng.uniform(16, 22)
    n = int(length * FS)
    turns = speed(rng, n, shape)
    phase = 2 * np.pi * np.cumsum(turns) / FS
    orders = np.zeros(n)
    for k in range(1, 26):
        if rng.random() < 0.75 or k == 1:
            size = 10 ** (rng.normal(0, 5) / 20) / k**0.35
            orders += size * np.sin(k * phase + rng.uniform(0, 2 * np.pi))
    ratio = float(rng.uniform(6, 14)) if rng.random() < 0.6 else float(rng.choice([18, 24, 36]))
    for k in (1, 2, 3):
        orders += rng.uniform(0.3, 1.5) / k * np.sin(k * ratio * phase + rng.uniform(0, 7))
    power = float(np.mean(orders**2))
    roar = rng.normal(size=n) * (1 + rng.uniform(0.1, 0.5) * np.sin(phase)) * 0.15 * power**0.5
    roar = roar * (turns / turns.max()) ** 1.5
    if rough:
        burst = np.maximum(0, np.sin(rng.uniform(4.3, 5.7) * phase)) ** 24
        hard = np.diff(rng.normal(size=n), prepend=0.0)
        roar = roar + rough * burst * hard * power**0.5
    noise = pink(rng, n) + rng.uniform(0, 0.7) * hum(rng, n) + 0.4 * clicks(rng, n)
    noise *= np.sqrt(power / 10 ** (snr_db / 10)) / noise.std()
    wave = microphone(rng, room(rng, orders + roar) + noise)
    return MadeSpin(wave, 60 * turns[:: FS // 10], shape)


def made_pump(seed: int, state: str, snr_db: float = 10.0) -> tuple[Wave, float]:
    """Return a recording in which a pump starts, and when [s].

    ``loaded``: hum of the motor and flowing water; ``free``: less hum, air drawn in gulps;
    ``blocked``: strong hum alone; ``silent``: nothing starts.
    """
    rng = np.random.default_rng(seed)
    n = int(rng.uniform(9, 14) * FS)
    start = rng.uniform(3, 5)
    t = np.arange(n) / FS
    on = np.clip((t - start) / 0.15, 0, 1)
    base = 2 * float(rng.choice([50, 60]))
    lines = sum(
        rng.uniform(0.3, 1) / k**0.7 * np.sin(2 * np.pi * (k * base * t + rng.random()))
        for k in range(1, 8)
    )
    flow = pink(rng, n) - 0.6 * np.concatenate([[0.0], pink(rng, n)[:-1]])
    gulps = np.interp(
        t,
        np.arange(0, t[-1] + 0.4, 0.18),
        rng.uniform(0, 1, int(t[-1] / 0.18) + 5)[: len(np.arange(0, t[-1] + 0.4, 0.18))],
    )
    sounds = {
        "loaded": rng.uniform(0.7, 1.3) * lines + rng.uniform(0.8, 1.6) * flow,
        "free": rng.uniform(0.3, 0.7) * lines + rng.uniform(1.5, 3.0) * flow * gulps**2,
        "blocked": rng.uniform(1.5, 3.0) * lines + 0.03 * flow,
        "silent": np.zeros(n),
    }
    rest = pink(rng, n) + 0.2 * clicks(rng, n)
    quiet = 10 ** (-snr_db / 20)
    return microphone(rng, room(rng, np.asarray(sounds[state] * on)) + quiet * rest), start
