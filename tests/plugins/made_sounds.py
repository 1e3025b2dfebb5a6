"""Simulated recordings of sounds, with their truth. Shares nothing with the reader.

A dry sound is played into a room (decaying noise as its answer), noise is laid over it, a
phone's microphone and a codec follow. ``snr_db`` is the power of the dry sound while it
sounds over the power of all noise, both over the whole band.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float64]
Rng = np.random.Generator
FS = 44_100


@dataclass(frozen=True)
class MadeSound:
    """A recording (N,) at 44.1 kHz and what is really in it."""

    wave: Wave
    kind: str
    made_as: str
    count: int = 0
    groups: tuple[int, ...] = ()
    period_s: float = 0.0
    pitches_hz: tuple[float, ...] = ()
    length_s: float = field(default=0.0)


def pink(rng: Rng, n: int) -> Wave:
    """Return noise of equal power in each octave above 20 Hz, of power one."""
    size = 1 << n.bit_length()
    f = np.fft.rfftfreq(size, 1 / FS)
    shape = 1 / np.sqrt(np.maximum(f, 20.0))
    wave = np.fft.irfft(shape * (rng.normal(size=f.size) + 1j * rng.normal(size=f.size)), size)[:n]
    return np.asarray(wave / wave.std())


def hum(rng: Rng, n: int) -> Wave:
    """Return a comb of lines at multiples of twice the mains frequency."""
    base = 2 * rng.choice([50.0, 60.0]) * (1 + rng.normal(0, 5e-4))
    t = np.arange(n) / FS
    wave = np.zeros(n)
    for k in range(1, 9):
        wave += rng.uniform(0.2, 1) / k * np.sin(2 * np.pi * (k * base * t + rng.random()))
    return np.asarray(wave / wave.std())


def clicks(rng: Rng, n: int) -> Wave:
    """Return a few relays and knocks: short bursts, each ringing down in some milliseconds."""
    wave = np.zeros(n)
    for _ in range(int(rng.poisson(n / FS * 0.6))):
        m = int(rng.uniform(0.004, 0.03) * FS)
        at = int(rng.integers(0, n - m))
        wave[at : at + m] += rng.normal(size=m) * np.exp(-np.linspace(0, 6, m)) * rng.uniform(2, 8)
    return wave


def room(rng: Rng, dry: Wave) -> Wave:
    """Return the sound in a room: direct, and a tail of decaying noise."""
    tail_s = rng.uniform(0.15, 0.6)
    m = int(tail_s * FS)
    tail = rng.normal(size=m) * np.exp(-6.91 * np.arange(m) / m)
    tail *= np.sqrt(10 ** (-rng.uniform(0, 10) / 10) / np.sum(tail**2))
    tail[0] += 1.0
    size = 1 << (dry.size + m).bit_length()
    wet = np.fft.irfft(np.fft.rfft(dry, size) * np.fft.rfft(tail, size), size)
    return np.asarray(wet[: dry.size])


def microphone(rng: Rng, wave: Wave) -> Wave:
    """Return what a phone keeps: less bass, a gentle tilt, a level."""
    size = 1 << wave.size.bit_length()
    f = np.fft.rfftfreq(size, 1 / FS)
    low = rng.uniform(60, 160)
    bend = (f / low) ** 2 / (1 + (f / low) ** 2) * (1 + (f / 3000)) ** rng.uniform(-0.5, 0.5)
    heard = np.fft.irfft(np.fft.rfft(wave, size) * bend, size)[: wave.size]
    return np.asarray(heard / np.abs(heard).max() * rng.uniform(0.1, 0.9))


def tone(rng: Rng, hz: float, length_s: float, partials: Wave, fall_s: float = np.inf) -> Wave:
    """Return one tone with soft edges; it dies away with time constant ``fall_s``."""
    t = np.arange(int(length_s * FS)) / FS
    wave = sum(
        a * np.sin(2 * np.pi * (k * hz * t + rng.random()))
        for k, a in enumerate(partials, 1)
        if k * hz < FS / 2.2
    )
    edge = rng.uniform(0.002, 0.008)
    soft = np.minimum(1.0, np.minimum(t, length_s - t).clip(0) / edge)
    return np.asarray(wave * soft * np.exp(-t / fall_s))


def overtones(rng: Rng) -> Wave:
    """Return amplitudes of the partials of a beeper: pure, square-like or bright."""
    kind = rng.integers(3)
    if kind == 0:
        return np.array([1.0])
    k = np.arange(1, 8)
    odd = (k % 2).astype(float) if kind == 1 else np.ones(7)
    return np.asarray(odd / k ** rng.uniform(0.8, 1.8))


def log_uniform(rng: Rng, low: float, high: float) -> float:
    """Return a draw of which each octave is as likely as another."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def place(into: Wave, at_s: float, what: Wave) -> None:
    """Add a sound at a time; what runs over the end is lost."""
    at = int(at_s * FS)
    part = what[: max(0, into.size - at)]
    into[at : at + part.size] += part


Dry = tuple[Wave, MadeSound]
NONE = np.zeros(0)


def notes(rng: Rng) -> Dry:
    """Return a short tune: two to ten notes of a scale, at least two pitches."""
    n = int(rng.integers(2, 11))
    base = log_uniform(rng, 400, 1600)
    while True:
        steps = rng.choice([0, 2, 4, 5, 7, 9, 11, 12], n)
        if len(set(steps)) >= min(n, 3 if n > 3 else 2) and np.any(np.diff(steps) != 0):
            break
    pitch = base * 2 ** (steps / 12)
    unit = rng.uniform(0.12, 0.45)
    long = unit * rng.choice([1, 1, 1, 2], n)
    gap = rng.choice([0.0, rng.uniform(0.02, 0.1)])
    fall = rng.choice([np.inf, rng.uniform(0.15, 0.6)])
    start = rng.uniform(0.3, 2.5)
    dry = np.zeros(int((start + np.sum(long + gap) + rng.uniform(0.8, 4.0)) * FS))
    kind = overtones(rng)
    for hz, at, sound in zip(pitch, start + np.cumsum(long + gap) - long - gap, long, strict=True):
        place(dry, at, tone(rng, hz, sound, kind, fall))
    return dry, MadeSound(NONE, "notes", "notes", pitches_hz=tuple(pitch))


def pulse_times(rng: Rng) -> tuple[Wave, float, tuple[int, ...], float]:
    """Return start times, length of each, counts by group and the period of equal pulses."""
    long = log_uniform(rng, 0.07, 0.6)
    period = long + max(0.08, long * rng.uniform(0.4, 1.5))
    groups = int(rng.integers(1, 5))
    each = int(rng.integers(2, 7 if groups == 1 else 5))
    rest = period * rng.uniform(2.2, 3.5)
    starts = []
    at = 0.0
    for _ in range(groups):
        starts += [at + k * period for k in range(each)]
        at = starts[-1] + rest
    return np.array(starts), long, (each,) * groups, period


def pulses(rng: Rng) -> Dry:
    """Return equal pulses in equal groups."""
    starts, long, groups, period = pulse_times(rng)
    first = rng.uniform(0.3, 2.5)
    dry = np.zeros(int((first + starts[-1] + long + rng.uniform(0.8, 4.0)) * FS))
    hz, kind = log_uniform(rng, 500, 4200), overtones(rng)
    for at in first + starts:
        place(dry, at, tone(rng, hz, long, kind))
    made = MadeSound(NONE, "pulses", "pulses", len(starts), groups, period, (hz,))
    return dry, made


def mixed(rng: Rng) -> Dry:
    """Return a tune, and then equal pulses."""
    tune, told = notes(rng)
    beeps, made = pulses(rng)
    tune = tune[: tune.size - int(0.4 * FS)]
    both = np.concatenate([tune, beeps])
    return both, MadeSound(
        NONE, "mixed", "mixed", made.count, made.groups, made.period_s, told.pitches_hz
    )


def steady(rng: Rng) -> Dry:
    """Return one continuous tone that begins or ends in the recording, or fills it."""
    length = rng.uniform(5, 11)
    start = rng.choice([0.0, rng.uniform(0.3, 2.0)])
    stop = rng.choice([length, length - rng.uniform(0.3, 1.5)])
    dry = np.zeros(int(length * FS))
    hz = log_uniform(rng, 500, 4200)
    place(dry, start, tone(rng, hz, stop - start, overtones(rng)))
    return dry, MadeSound(NONE, "steady", "steady", pitches_hz=(hz,))


KINDS: dict[str, Callable[[Rng], Dry]] = {
    "notes": notes,
    "pulses": pulses,
    "mixed": mixed,
    "steady": steady,
}


def recorded(rng: Rng, dry: Wave, made: MadeSound, snr_db: float) -> MadeSound:
    """Return the recording of a dry sound."""
    wet = room(rng, dry)
    n = wet.size
    noise = pink(rng, n) + rng.uniform(0, 0.7) * hum(rng, n) + 0.4 * clicks(rng, n)
    sounding = np.abs(dry) > 1e-3 * np.abs(dry).max() if np.any(dry) else np.zeros(n, bool)
    power = float(np.mean(dry[sounding] ** 2)) if sounding.any() else 0.0
    scale = np.sqrt(power / 10 ** (snr_db / 10)) if power else 1.0
    wave = microphone(rng, wet + noise / noise.std() * scale)
    return MadeSound(
        wave,
        made.kind,
        made.made_as,
        made.count,
        made.groups,
        made.period_s,
        made.pitches_hz,
        n / FS,
    )


def made_sound(
    seed: int, snr_db: float, kind: str | None = None, most_s: float | None = None
) -> MadeSound:
    """Return a recording; without a kind, any: half with a told sound, half with none.

    With ``most_s`` no more than that of the dry sound is recorded.
    """
    from made_noises import NOISES  # noqa: PLC0415  # it builds upon this module

    rng = np.random.default_rng(seed)
    all_kinds = {**KINDS, **NOISES}
    if kind is None:
        from_which = KINDS if rng.random() < 0.55 else NOISES
        kind = str(rng.choice(list(from_which)))
    dry, made = all_kinds[kind](rng)
    kept = dry if most_s is None else dry[: int(most_s * FS)]
    return recorded(rng, kept, made, snr_db)


CODECS = {"m4a": "aac", "mp3": "mp3", "ogg": "libopus", "wav": "pcm_s16le"}


def write(path: Path, wave: Wave, rate: int = FS, bit_rate: int = 64_000) -> Path:
    """Write a mono file; the ending says the codec."""
    import av  # noqa: PLC0415  # heavy

    codec = CODECS[path.suffix[1:]]
    out_rate = 48_000 if codec == "libopus" else rate
    with av.open(str(path), "w") as box:
        stream = cast("av.AudioStream", box.add_stream(codec, rate=out_rate))
        stream.layout = "mono"
        if codec != "pcm_s16le":
            stream.bit_rate = bit_rate
        fit = av.AudioResampler(format=stream.format.name, layout="mono", rate=out_rate)
        data = (np.clip(wave, -1, 1) * 32767).astype(np.int16)
        for at in range(0, data.size, 4096):
            frame = av.AudioFrame.from_ndarray(data[None, at : at + 4096], "s16", "mono")
            frame.sample_rate, frame.pts = rate, at
            for made in fit.resample(frame):
                box.mux(stream.encode(made))
        for made in fit.resample(None):
            box.mux(stream.encode(made))
        box.mux(stream.encode(None))
    return path
