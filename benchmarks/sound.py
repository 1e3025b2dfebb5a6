"""How well sounds are read from simulated recordings, beside a plain way. All figures simulated."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from made_noises import NOISES
from made_sounds import CODECS, MadeSound, made_sound, write
from made_spins import made_pump, made_spin
from tubside.recordings.sound.pump_sound import STATES, read_pump
from tubside.recordings.sound.roughness import compared
from tubside.recordings.sound.told import read_sound
from tubside.recordings.sound.track import Track, read_track
from tubside.recordings.sound.turning import read_spin

Array = NDArray[np.float64]
Counts = dict[str, float]
FIRST_SEED = 3_100_000
SURE, CONFIDENT = 0.8, 0.9


def recorded(wave: Array, number: int, folder: Path) -> Track:
    """Return a recording after a round trip through one of the codecs."""
    ending = list(CODECS)[number % len(CODECS)]
    return read_track(write(folder / f"sound.{ending}", wave))


def loudest_bin(track: Track) -> tuple[str, int]:
    """Return kind and count the plain way: the loudest bin of each piece over a threshold."""
    cuts = np.lib.stride_tricks.sliding_window_view(track.samples, 1024)[::256]
    power = np.abs(np.fft.rfft(cuts * np.hanning(1024), axis=1)[:, 16:450]) ** 2
    on = power.max(axis=1) > 30 * np.median(power, axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(int), [0]]))).reshape(-1, 2)
    runs = [(a, b) for a, b in edges.tolist() if b - a >= 3]
    if not runs:
        return "none", 0
    pitches = [float(np.median(power[a:b].argmax(axis=1))) for a, b in runs]
    if max(b - a for a, b in runs) * 256 / track.rate_hz > 2.5:
        return "steady", len(runs)
    return ("pulses" if np.ptp(pitches) <= 2 else "notes"), len(runs)


def sounds(snr_db: float, count: int, kinds: tuple[str, ...] = ()) -> Iterator[tuple[str, Counts]]:
    """Yield what each simulated sound adds to a row: by kind, and to all.

    With ``kinds`` only these are made, by turns, from seeds of their own.
    """
    first = FIRST_SEED + 10_000 * len(kinds)
    with TemporaryDirectory() as folder:
        for number in range(count):
            kind = kinds[number % len(kinds)] if kinds else None
            made = made_sound(first + number, snr_db, kind)
            track = recorded(made.wave, number, Path(folder))
            score = sound_score(made, track)
            yield "all", score
            yield ("none: " if made.made_as in NOISES else "") + made.made_as, score


def sound_score(made: MadeSound, track: Track) -> Counts:
    """Return what one sound adds."""
    told = read_sound(track)
    plain, plain_count = loudest_bin(track)
    right = told.kind == made.kind
    sure = told.probability[told.kind]
    out = {
        "recordings": 1.0,
        "right": right,
        "answered": sure >= SURE,
        "right of answered": right and sure >= SURE,
        "wrong but confident": not right and sure >= CONFIDENT,
        "plain right": plain == made.kind,
    }
    if made.count:
        exact = told.pulses is not None and told.pulses.count == made.count
        groups = told.pulses is not None and told.pulses.groups == made.groups
        out |= {"counted": 1.0, "count exact": exact, "groups exact": groups}
        out["plain count"] = plain_count == made.count
    return out


def spins(snr_db: float, count: int, shape: str) -> Iterator[tuple[str, Counts]]:
    """Yield what each simulated spin adds."""
    with TemporaryDirectory() as folder:
        for number in range(count):
            made = made_spin(FIRST_SEED + number, snr_db, shape)
            track = recorded(made.wave, number, Path(folder))
            true = float(made.rpm.mean()) if shape == "constant" else made.plateau_rpm
            told = read_spin(track)
            near = told.rpm is not None and abs(told.rpm / true - 1) < 0.01
            inside = told.interval is not None and told.interval[0] <= true <= told.interval[1]
            sure = told.rpm is not None and told.probability >= SURE
            confident = told.rpm is not None and told.probability >= CONFIDENT
            yield (
                shape,
                {
                    "recordings": 1.0,
                    "right": near,
                    "answered": sure,
                    "right of answered": near and sure,
                    "wrong but confident": confident and not near,
                    "in interval": inside,
                    "run-up told": told.run_up is not None,
                    "plain right": abs(plain_rpm(track) / true - 1) < 0.01,
                },
            )


def plain_rpm(track: Track) -> float:
    """Return the speed the plain way: the loudest line where a drum may turn."""
    power = np.abs(np.fft.rfft(track.samples * np.hanning(len(track.samples)))) ** 2
    f = np.fft.rfftfreq(len(track.samples), 1 / track.rate_hz)
    inside = (f > 5) & (f < 30)
    return float(60 * f[inside][power[inside].argmax()])


def pumps(snr_db: float, count: int) -> Iterator[tuple[str, Counts]]:
    """Yield what each simulated pump adds."""
    with TemporaryDirectory() as folder:
        for number in range(count):
            state = STATES[number % 4]
            wave, _ = made_pump(FIRST_SEED + number, state, snr_db)
            told = read_pump(recorded(wave, number // 4, Path(folder)))
            assert told is not None
            sure = told.probability[told.state]
            right = told.state == state
            yield (
                state,
                {
                    "recordings": 1.0,
                    "right": right,
                    "answered": sure >= SURE,
                    "right of answered": right and sure >= SURE,
                    "wrong but confident": not right and sure >= CONFIDENT,
                },
            )


def bearings(snr_db: float, count: int) -> Iterator[tuple[str, Counts]]:
    """Yield what each pair of recordings adds: the same bearing twice, or one grown rough."""
    for number in range(count):
        rng = np.random.default_rng(FIRST_SEED + number)
        rough = (0.0, 1.0, 2.0)[number % 3]
        pair = []
        for worn in (rough, 0.0):
            made = made_spin(FIRST_SEED + number, snr_db + rng.uniform(-2, 2), "constant", worn)
            pair.append((plainly(made.wave), float(made.rpm.mean()), None))
        told = compared(pair[0], pair[1])
        row = {0.0: "no change", 1.0: "somewhat rougher", 2.0: "much rougher"}[rough]
        said = {
            word: float(told.trend == word) for word in ("rougher", "about the same", "smoother")
        }
        yield row, {"recordings": 1.0, **said}


def plainly(wave: Array) -> Track:
    """Return a recording without a codec."""
    return Track(resample_poly(wave, 160, 441).astype(np.float32))


TABLES: dict[str, Callable[[int], Iterator[tuple[str, Counts]]]] = {
    "sounds at 10 dB": lambda n: sounds(10.0, n),
    "sounds at 0 dB": lambda n: sounds(0.0, n),
    "sounds at -10 dB": lambda n: sounds(-10.0, n),
    "pulses at 0 dB": lambda n: sounds(0.0, n, ("pulses", "mixed")),
    "spins at 0 dB": lambda n: spins(0.0, n, "constant"),
    "spins at -10 dB": lambda n: spins(-10.0, n, "constant"),
    "run-ups at 0 dB": lambda n: spins(0.0, n, "run-up"),
    "pumps at 10 dB": lambda n: pumps(10.0, n),
    "pumps at 0 dB": lambda n: pumps(0.0, n),
    "bearings at 10 dB": lambda n: bearings(10.0, n),
}


def table(name: str, count: int) -> Iterator[str]:
    """Yield the lines of one table: a row for each kind, shares of its recordings."""
    rows: dict[str, Counts] = defaultdict(lambda: defaultdict(float))
    for row, score in TABLES[name](count):
        for key, value in score.items():
            rows[row][key] += value
    yield f"{name}:"
    for row, sums in rows.items():
        total, counted = sums.pop("recordings"), sums.pop("counted", 0.0)
        of = dict.fromkeys(("count exact", "groups exact", "plain count"), counted)
        of["right of answered"] = sums.get("answered", 0.0)
        shares = [f"{k} {v / max(of.get(k, total), 1.0):.3f}" for k, v in sums.items()]
        yield f"  {row} ({total:.0f}): " + ", ".join(shares)


def report(count: int = 12) -> Iterator[str]:
    """Yield all tables, small: their shares are rough, the docs hold those of long runs."""
    for name in TABLES:
        yield from table(name, count)


def main() -> None:
    """Print the tables named by their numbers, or all: ``sound.py [recordings] [number ...]``."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    chosen = [list(TABLES)[int(k)] for k in sys.argv[2:]] or list(TABLES)
    for name in chosen:
        for line in table(name, count):
            print(line, flush=True)


if __name__ == "__main__":
    main()
