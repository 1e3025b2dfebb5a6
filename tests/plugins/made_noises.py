"""Simulated sounds that are no message of a machine: speech, music, motors, knocks, glides."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from made_sounds import FS, NONE, Dry, MadeSound, Rng, Wave, log_uniform, place, tone

VOWELS = np.array(  # first three formants [Hz], Peterson & Barney 1952, men, from memory
    [[270, 2290, 3010], [390, 1990, 2550], [530, 1840, 2480], [660, 1720, 2410],
     [730, 1090, 2440], [570, 840, 2410], [440, 1020, 2240], [300, 870, 2240]], float
)  # fmt: skip


def _none(dry: Wave, made_as: str) -> Dry:
    return dry, MadeSound(NONE, "none", made_as)


def quiet(rng: Rng) -> Dry:
    """Return nothing at all: the noise is all there is."""
    return _none(np.zeros(int(rng.uniform(4, 10) * FS)), "quiet")


def resonated(source: Wave, formants: Wave, block: int = 441) -> Wave:
    """Return a source through three resonators in a row, whose tuning moves with time."""
    out = source
    for j, width in enumerate((60.0, 90.0, 130.0)):
        size = 2 * block
        window = np.hanning(size + 1)[:-1]
        padded = np.concatenate([np.zeros(block), out, np.zeros(size)])
        made = np.zeros(padded.size + 4 * block)
        f = np.fft.rfftfreq(3 * size, 1 / FS)
        for at in range(0, out.size + block, block):
            hz = formants[min(at, len(formants) - 1), j]
            answer = hz**2 / (hz**2 - f**2 + 1j * f * width)
            spectrum = np.fft.rfft(padded[at : at + size] * window, 3 * size)
            piece = np.fft.irfft(spectrum * answer, 3 * size)[: made.size - at]
            made[at : at + piece.size] += piece
        out = made[block : block + out.size]
    return out


def speech(rng: Rng) -> Dry:
    """Return babble of one voice: syllables, a moving pitch, formants, hissing, pauses."""
    n = int(rng.uniform(4, 9) * FS)
    t = np.arange(n) / FS
    base = log_uniform(rng, 85, 260)
    wander = np.interp(
        t,
        np.arange(0, t[-1] + 0.4, 0.17),
        rng.normal(0, 0.09, int(t[-1] / 0.17) + 4)[: len(np.arange(0, t[-1] + 0.4, 0.17))],
    )
    pitch = base * np.exp(wander - 0.05 * (t % 2.1))
    phase = np.cumsum(pitch) / FS
    voice = ((phase % 1.0) ** 2 - (phase % 1.0) ** 3) * 6.75
    voice = np.diff(voice, prepend=0.0)
    knots = np.arange(0, t[-1] + 0.3, 0.11)
    targets = VOWELS[rng.integers(0, len(VOWELS), len(knots))] * rng.uniform(0.95, 1.2)
    formants = np.stack([np.interp(t, knots, targets[:, j]) for j in range(3)], 1)
    loud = np.clip(np.interp(t, knots, rng.uniform(-0.4, 1.0, len(knots))), 0, 1)
    pause = (
        np.interp(
            t,
            np.arange(0, t[-1] + 1.5, 1.1),
            rng.uniform(-0.6, 1, int(t[-1] / 1.1) + 3)[: len(np.arange(0, t[-1] + 1.5, 1.1))],
        )
        > 0
    )
    hiss = rng.normal(size=n) * np.clip(
        np.interp(t, knots, rng.uniform(-1.5, 0.5, len(knots))), 0, 1
    )
    said = resonated(voice * loud, formants)
    said = said / said.std() + 0.35 * np.diff(hiss, prepend=0.0)
    return _none(np.asarray(said * pause), "speech")


def music(rng: Rng) -> Dry:
    """Return a band: chords, a bass, a melody that shakes, a drum."""
    n = int(rng.uniform(5, 9) * FS)
    beat = rng.uniform(0.32, 0.6)
    dry = np.zeros(n)
    root = log_uniform(rng, 110, 220)
    for k in range(int(n / FS / beat)):
        at = k * beat
        if k % 4 == 0:
            chord = root * 2 ** (rng.choice([0, 5, 7, 9]) / 12)
            for step in (0, rng.choice([3, 4]), 7, 12):
                amplitudes = 1 / np.arange(1, 7) ** 1.2
                place(dry, at, 0.5 * tone(rng, chord * 2 ** (step / 12), 4 * beat, amplitudes, 1.5))
        place(
            dry,
            at,
            0.8
            * tone(
                rng, root / 2 * 2 ** (rng.choice([0, 5, 7]) / 12), beat, 1 / np.arange(1, 5.0), 0.4
            ),
        )
        sung = np.arange(int(beat * rng.choice([1, 2]) * FS)) / FS
        hz = 4 * root * 2 ** (rng.choice([0, 2, 4, 5, 7, 9]) / 12)
        shake = rng.uniform(0.004, 0.012) * np.sin(2 * np.pi * rng.uniform(4.5, 6.5) * sung)
        turn = 2 * np.pi * np.cumsum(hz * (1 + shake)) / FS
        place(
            dry, at, sum(0.6 / m**1.3 * np.sin(m * turn) for m in (1, 2, 3)) * np.exp(-sung / 0.5)
        )
        m = int(0.12 * FS)
        place(dry, at, rng.normal(size=m) * np.exp(-np.arange(m) / (0.02 * FS)) * rng.uniform(0, 2))
    return _none(dry, "music")


def motor(rng: Rng) -> Dry:
    """Return a motor that runs up, stays or tumbles: many orders, a whine, never quite steady."""
    n = int(rng.uniform(5, 10) * FS)
    t = np.arange(n) / FS
    shape = rng.choice(["up", "stays", "tumbles"])
    base = rng.uniform(8, 24)
    if shape == "up":
        speed = base * (0.3 + 0.7 * np.clip(t / t[-1] * rng.uniform(1, 2), 0, 1))
    elif shape == "stays":
        speed = np.full(n, base)
    else:
        speed = base * 0.5 * np.clip(np.sin(2 * np.pi * t / rng.uniform(3, 6)) * 4, 0, 1)
    knots = np.arange(0, t[-1] + 0.2, 0.05)
    speed = speed * (1 + np.interp(t, knots, np.cumsum(rng.normal(0, 0.0015, len(knots)))))
    phase = 2 * np.pi * np.cumsum(speed) / FS
    running = np.clip(speed / base * 2, 0, 1)
    wave = sum(
        rng.uniform(0, 1) / k**0.5 * np.sin(k * phase + rng.uniform(0, 7)) for k in range(1, 30)
    )
    ratio = rng.uniform(9, 60)
    wave = (
        wave + 3 * rng.random() * np.sin(ratio * phase) + rng.random() * np.sin(2 * ratio * phase)
    )
    return _none(np.asarray((wave + rng.normal(size=n)) * running), "motor")


def knocks(rng: Rng) -> Dry:
    """Return a door, buttons of clothes, a dropped coin: struck metal at odd times."""
    n = int(rng.uniform(4, 8) * FS)
    dry = np.zeros(n)
    for at in np.sort(rng.uniform(0.2, n / FS - 0.5, int(rng.integers(2, 14)))):
        for _ in range(int(rng.integers(3, 8))):
            t = np.arange(int(0.5 * FS)) / FS
            hz = log_uniform(rng, 150, 5000)
            fall = np.exp(-t / log_uniform(rng, 0.008, 0.07))
            place(dry, at, rng.normal() * fall * np.sin(2 * np.pi * hz * t))
    return _none(dry, "knocks")


def glides(rng: Rng) -> Dry:
    """Return a belt or a hinge that squeals: tones whose pitch moves all the time."""
    n = int(rng.uniform(4, 9) * FS)
    dry = np.zeros(n)
    at = rng.uniform(0.3, 1.0)
    while at < n / FS - 0.8:
        length = rng.uniform(0.25, 1.2)
        t = np.arange(int(length * FS)) / FS
        first = log_uniform(rng, 400, 3000)
        last = first * 2 ** (rng.choice([-1, 1]) * rng.uniform(0.25, 1.0))
        turn = 2 * np.pi * np.cumsum(first * (last / first) ** (t / length)) / FS
        soft = np.sin(np.pi * t / length) ** 0.3
        place(dry, at, (np.sin(turn) + 0.4 * np.sin(2 * turn)) * soft)
        at += length + rng.uniform(0.1, 1.2)
    return _none(dry, "glides")


NOISES: dict[str, Callable[[Rng], Dry]] = {
    "quiet": quiet,
    "speech": speech,
    "music": music,
    "motor": motor,
    "knocks": knocks,
    "glides": glides,
}
