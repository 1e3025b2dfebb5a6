"""How well bounces and damping are read from simulated logs. All figures simulated.

``python benchmarks/shake.py [LOGS [ROW ...]]``: as many fresh logs a row, 300 if none are
said. The simulator steps the motion in time and shares nothing with the reader. Beside the
share of exact counts stands what the best possible estimator would reach (Cramér and Rao).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from made_shakes import MadeLog, Phone, Tub, any_phone, any_tub, pushed, run_up
from tubside.recordings.shake.answering import Answer, read_shake
from tubside.recordings.shake.log_file import parse_log

FIRST_SEED = 950_000
LOGS = 300
SURE = 0.8
"""A count is called sure from this chance on."""
FAR = 0.25
"""Wrong but confident: off by more than this share, outside the interval, and no flag."""


@dataclass
class Row:
    """What is counted over the logs of one row."""

    errors: list[float] = field(default_factory=list)
    hertz: list[float] = field(default_factory=list)
    exact: list[bool] = field(default_factory=list)
    near: list[bool] = field(default_factory=list)
    bound: list[float] = field(default_factory=list)
    covered: list[bool] = field(default_factory=list)
    sure: list[bool] = field(default_factory=list)
    held: list[bool] = field(default_factory=list)
    several: list[int] = field(default_factory=list)
    confident: int = 0
    flags: dict[str, int] = field(default_factory=dict)
    logs: int = 0
    seconds: float = 0.0


def bound(log: MadeLog, phone: Phone) -> float:
    """P(count exact) of an unbiased estimator at the Cramér-Rao bound of one swing.

    The variance of log sigma is 16 sigma s^2 / (A^2 r) for amplitude A over noise s at r
    samples a second, amplitude and phase unknown and the swing seen to its end (from the
    Fisher information of A e^(-sigma t) cos(omega t)).
    """
    sigma = 2.0 * np.pi * log.tub.frequency_hz * log.tub.damping_ratio
    ratio = 10.0 ** (-phone.snr_db / 20.0)
    spread = np.sqrt(16.0 * sigma * ratio**2 / (phone.rate_hz * (1.0 - phone.lost)))
    drawn = log.bounces * np.exp(spread * np.linspace(-3.0, 3.0, 201))
    weight = np.exp(-0.5 * np.linspace(-3.0, 3.0, 201) ** 2)
    hit = np.round(drawn) == round(log.bounces)
    return float((hit * weight).sum() / weight.sum())


def take(row: Row, log: MadeLog, phone: Phone, *, damped: bool = True) -> Answer:
    """Read one log and count what came of it."""
    content = log.csv()
    start = time.perf_counter()
    told = read_shake(parse_log(content))
    row.seconds += time.perf_counter() - start
    row.logs += 1
    for flag in told.flags:
        row.flags[flag] = row.flags.get(flag, 0) + 1
    if told.bounce_count is None or told.interval is None or told.damping_ratio is None:
        return told
    true, low, high = log.bounces, *told.interval["bounces"]
    row.exact.append(told.bounces == round(true))
    if max(told.counts.values()) >= SURE:
        row.sure.append(row.exact[-1])
    row.held.append(round(true) in told.counts)
    row.several.append(len(told.counts))
    row.near.append(abs((told.bounces or 0) - round(true)) <= 1)
    row.bound.append(bound(log, phone))
    row.covered.append(low <= true <= high)
    off = abs(told.bounce_count / true - 1.0)
    row.confident += off > FAR and not low <= true <= high and not told.flags
    row.errors.append(abs(told.damping_ratio / log.tub.damping_ratio - 1.0) if damped else off)
    row.hertz.append(abs((told.frequency_hz or 0.0) / log.tub.frequency_hz - 1.0))
    return told


def plain(snr_db: float, low: float = 0.02, high: float = 0.25) -> Callable[[int], tuple]:  # type: ignore[type-arg]  # three things
    """Logs of one swing at a height over the noise."""

    def made(seed: int) -> tuple[MadeLog, Phone, bool]:
        rng = np.random.default_rng(seed)
        tub, phone = any_tub(rng, low, high), any_phone(rng, snr_db)
        return pushed(rng, tub, phone), phone, True

    return made


def rough(seed: int) -> tuple[MadeLog, Phone, bool]:
    """Logs of a tub held by dry friction; the error is that of the count."""
    rng = np.random.default_rng(seed)
    tub = replace(any_tub(rng, 0.01, 0.06), friction=float(rng.uniform(0.02, 0.06)))
    phone = any_phone(rng, 25.0)
    return pushed(rng, tub, phone), phone, False


def double(seed: int) -> tuple[MadeLog, Phone, bool]:
    """Logs of two swings at once."""
    rng = np.random.default_rng(seed)
    tub, phone = any_tub(rng, 0.02, 0.15), any_phone(rng, 25.0)
    factor = float(rng.uniform(1.25, 2.2)) ** float(rng.choice([-1.0, 1.0]))
    second = Tub(tub.frequency_hz * factor, float(rng.uniform(0.02, 0.15)))
    return pushed(rng, tub, phone, second, float(rng.uniform(0.2, 0.6))), phone, True


def clipped(seed: int) -> tuple[MadeLog, Phone, bool]:
    """Logs in which the sensor reaches its end."""
    rng = np.random.default_rng(seed)
    tub, phone = any_tub(rng), any_phone(rng, 25.0)
    log = pushed(np.random.default_rng(seed), tub, phone)
    top = float(np.abs(log.axes[log.times_s > log.let_go_s]).max())
    phone = replace(phone, range_ms2=9.81 + float(rng.uniform(0.45, 0.75)) * (top - 9.81))
    return pushed(np.random.default_rng(seed), tub, phone), phone, True


def heavy(seed: int) -> tuple[MadeLog, Phone, bool]:
    """Logs of a tub that hardly swings; the error is that of the count."""
    rng = np.random.default_rng(seed)
    tub, phone = any_tub(rng, 0.35, 0.9), any_phone(rng, 25.0)
    return pushed(rng, tub, phone), phone, False


ROWS: dict[str, Callable[[int], tuple[MadeLog, Phone, bool]]] = {
    "30 dB": plain(30.0),
    "20 dB": plain(20.0),
    "20 dB, ratio 0.08 to 0.25": plain(20.0, 0.08),
    "15 dB": plain(15.0),
    "10 dB": plain(10.0),
    "friction, 25 dB": rough,
    "two modes, 25 dB": double,
    "clipped, 25 dB": clipped,
    "ratio 0.35 to 0.9, 25 dB": heavy,
}


def still(seed: int) -> MadeLog:
    """A log in which nobody pushes: noise and a slow tilt, or somebody walks with the phone."""
    rng = np.random.default_rng(seed)
    times = np.cumsum(rng.normal(0.01, 0.001, 1000).clip(0.003))
    axes = rng.normal(size=(1000, 3)) * 0.05 + np.array([0.0, 0.3, 9.8])
    if seed % 2:
        step = rng.uniform(1.5, 2.2)
        for order in (1, 2, 3):
            size = rng.normal(size=3) * 2.0 / order
            turn = 2.0 * np.pi * order * step * times + 0.3 * np.cumsum(rng.normal(size=1000)) * 0.1
            axes += np.sin(turn)[:, None] * size
    return MadeLog(times, axes, Tub(1.0, 0.1), 0.0)


def negatives(logs: int) -> Iterator[str]:
    """Yield how often a log without a push is taken for one."""
    for kind, word in ((0, "still"), (1, "walking")):
        found = 0
        for n in range(logs):
            told = read_shake(parse_log(still(FIRST_SEED + 2 * n + kind).csv()))
            found += told.bounce_count is not None or told.run_up is not None
        yield f"{word}: {found} of {logs} taken for a push or a run-up"


def run_ups(logs: int) -> Iterator[str]:
    """Yield errors of speed, resonance and damping of run-ups."""
    for snr_db in (20.0, 10.0, 0.0):
        speed, hertz, ratio, missed, off = [], [], [], 0, 0
        for n in range(logs):
            rng = np.random.default_rng(FIRST_SEED + n)
            top = float(rng.uniform(8.5, 12.5))
            tub = replace(any_tub(rng, 0.03, 0.25), runs_up_s=20.0, top_hz=top)
            phone = any_phone(rng, snr_db)
            told = read_shake(parse_log(run_up(rng, tub, phone).csv())).run_up
            if told is None:
                missed += 1
                continue
            speed.append(abs(told.end_rpm / (60.0 * top) - 1.0))
            if told.resonance_hz is None or told.damping_ratio is None:
                off += 1
                continue
            hertz.append(abs(told.resonance_hz / tub.frequency_hz - 1.0))
            ratio.append(abs(told.damping_ratio / tub.damping_ratio - 1.0))
        cells = [np.median(one) if one else np.nan for one in (speed, hertz, ratio)]
        shown = " | ".join(f"{100 * cell:.2g} %" for cell in cells)
        yield f"| {snr_db:.0f} dB | {logs} | {missed} | {off} | {shown} |"


def line(name: str, row: Row) -> str:
    """One row of the table."""
    read = len(row.errors)
    flags = ", ".join(f"{flag} {count}" for flag, count in sorted(row.flags.items()))
    cells = [
        name,
        f"{row.logs}",
        f"{row.logs - read}",
        f"{100 * np.median(row.errors):.1f} %",
        f"{100 * np.quantile(row.errors, 0.9):.0f} %",
        f"{100 * np.median(row.hertz):.2f} %",
        f"{np.mean(row.exact):.2f}",
        f"{np.mean(row.bound):.2f}",
        f"{np.mean(row.near):.2f}",
        f"{np.mean(row.sure) if row.sure else np.nan:.2f} of {len(row.sure)}",
        f"{np.mean(row.held):.2f} by {np.mean(row.several):.1f}",
        f"{np.mean(row.covered):.2f}",
        f"{row.confident}",
        flags or "-",
        f"{row.seconds / row.logs:.2f}",
    ]
    return "| " + " | ".join(cells) + " |"


def table(logs: int, wanted: Sequence[str]) -> Iterator[str]:
    """Yield the lines of the rows that are wanted, each of as many logs."""
    yield (
        "| simulated logs | logs | not read | error median | 9 of 10 | frequency | count exact "
        "| at the bound | within one | sure: exact | counts told hold | interval holds "
        "| wrong but confident | flags | s a log |"
    )
    yield "|---" * 15 + "|"
    for number, (name, made) in enumerate(ROWS.items()):
        if name in wanted:
            row = Row()
            for n in range(logs):
                log, phone, damped = made(FIRST_SEED + 10_000 * number + n)
                take(row, log, phone, damped=damped)
            yield line(name, row)
    if "negatives" in wanted:
        yield from negatives(logs)
    if "run-ups" in wanted:
        yield from run_ups(logs)


def report(logs: int = 12) -> Iterator[str]:
    """Yield all rows, small: their shares are rough, the docs hold those of long runs."""
    yield from table(logs, [*ROWS, "negatives", "run-ups"])


def main() -> None:
    """Print the tables."""
    logs = int(sys.argv[1]) if len(sys.argv) > 1 else LOGS
    for one in table(logs, sys.argv[2:] or [*ROWS, "negatives", "run-ups"]):
        print(one, flush=True)


if __name__ == "__main__":
    main()
