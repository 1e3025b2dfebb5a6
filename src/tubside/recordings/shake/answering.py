"""What a shake log tells, as JSON: bounces, damping, frequency, flags; or the run-up."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.shake.damped import columns
from tubside.recordings.shake.events import Search, railed, search
from tubside.recordings.shake.log_file import ShakeLog, read_log
from tubside.recordings.shake.rest import Rest, rest_around
from tubside.recordings.shake.ring_down import Ring, ring_down
from tubside.recordings.shake.run_up import RunUp, run_up
from tubside.recordings.shake.told import (
    LEVEL,
    Swing,
    Told,
    agree,
    by_tops,
    is_ring_down,
    is_rough,
    swing_of,
    whole_counts,
)

Array = NDArray[np.float64]
FRICTION, TWO, CLIPPING, NONE = "friction", "two modes", "clipping", "no ring-down here"
AT_ONCE, DISAGREE, FEW = "dies at once", "pushes disagree", "log too short"
SLOW = "few samples a second"
LEAST_RATE_HZ = 20.0
"""Three samples a swing of 6 Hz, the fastest of tubs; with fewer it looks like a slower one."""
STRONG = 0.4
"""Ring-downs weaker than this share of the strongest are not asked."""
DEAD = 0.35
TRACE_POINTS = 600
ADVICE = {
    FRICTION: "The swing stops by dry friction: always push by the same depth, and compare with "
    "the same model.",
    TWO: "Two swings at once: push straight down in the middle, or lay the phone nearer the "
    "middle.",
    CLIPPING: "The sensor reached its end: push less, or lay the phone on something soft.",
    NONE: "No swing that dies away was found: push once, take the hand off at once, keep off the "
    "machine for eight seconds.",
    AT_ONCE: "The tub comes back without swinging on: there are no bounces to count.",
    DISAGREE: "The pushes differ from each other: push again, straight down each time.",
    SLOW: "With fewer than 20 samples a second a fast swing looks like a slow one: choose 50 or "
    "more in the app that records.",
    FEW: "The log ends before the swing has: record for eight seconds after the push.",
}


class Second(msgspec.Struct, frozen=True):
    """The smaller of two swings; ``share`` of the main one's size."""

    frequency_hz: float
    damping_ratio: float
    share: float


class Trace(msgspec.Struct, frozen=True):
    """What was recorded along the main way of the swing, and what was fitted (None outside)."""

    times_s: list[float]
    recorded: list[float]
    fitted: list[float | None]


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """All that is told of a log; numbers are null where there is no ring-down.

    ``bounces`` are whole swings until one is below a tenth of the first, ``bounce_count``
    the same not rounded; ``interval`` holds the ends within which each lies with ``level``,
    ``counts`` the whole counts that do together, with the chance of each, the likeliest first.
    """

    bounces: int | None = None
    bounce_count: float | None = None
    frequency_hz: float | None = None
    damping_ratio: float | None = None
    interval: dict[str, list[float]] | None = None
    counts: dict[int, float] = {}
    level: float = LEVEL
    flags: list[str] = []
    advice: list[str] = []
    by_tops: float | None = None
    second: Second | None = None
    pushes: int = 0
    run_up: RunUp | None = None
    rate_hz: float = 0.0
    length_s: float = 0.0
    units: str = ""
    notes: list[str] = []
    trace: Trace | None = None
    bare: str | None = None


class Options(msgspec.Struct, frozen=True):
    """``trace`` adds the curve to be drawn; ``name`` is what the file is called in errors.

    ``bare`` adds the log written anew, numbers alone, without what else stood in the file.
    """

    trace: bool = False
    bare: bool = False
    name: str = ""


def answer(paths: Sequence[Path], options: bytes) -> bytes:
    """Read one log and tell what it says; JSON in, JSON out.

    Raises
    ------
    RecordingError
        Naming file and line of what cannot be read.
    """
    if len(paths) != 1:
        msg = "one log is read at a time"
        raise RecordingError(msg)
    wanted = msgspec.json.decode(options or b"{}", type=Options)
    log = read_log(paths[0], wanted.name)
    told = read_shake(log, trace=wanted.trace)
    if wanted.bare:
        told = msgspec.structs.replace(told, bare=bare_text(log))
    return msgspec.json.encode(told)


def bare_text(log: ShakeLog) -> str:
    """The log written anew: times, accelerations, nothing else."""
    heading = ",".join(["time (s)", *(f"{name} (m/s^2)" for name in log.names)])
    rows = np.column_stack([log.times_s, log.axes])
    lines = (",".join("" if np.isnan(x) else f"{x:.7g}" for x in row) for row in rows)
    return "\n".join([heading, *lines, ""])


def read_shake(log: ShakeLog, *, trace: bool = False) -> Answer:
    """Tell bounces, damping and frequency of a log, or its run-up."""
    rails = railed(log.axes)
    axes = np.where(rails, np.nan, log.axes)
    if np.isfinite(axes).all(axis=1).sum() < 30:
        return _told(log, [NONE, CLIPPING])
    bridged = _bridged(log.times_s, axes)
    found = search(log.times_s, bridged)
    ran = run_up(log.times_s, bridged)
    if ran is not None:
        return _told(log, [CLIPPING] if rails.any() else [], run_up=ran)
    rings = _rings(log.times_s, axes, found)
    flags = [CLIPPING] if rails.any() else []
    if log.rate_hz < LEAST_RATE_HZ:
        flags.append(SLOW)
    if not rings:
        return _told(log, [NONE, *flags], trace=_trace(log, None) if trace else None)
    return _ringing(log, rings, flags, trace=trace)


def _bridged(times_s: Array, axes: Array) -> Array:
    """Samples at the rails replaced by a line between their neighbours, for the search only."""
    out = axes.copy()
    for column in range(out.shape[1]):
        there = np.isfinite(out[:, column])
        if there.any():
            out[:, column] = np.interp(times_s, times_s[there], out[there, column])
    return out


def _rings(times_s: Array, axes: Array, found: Search) -> list[Ring]:
    """Ring-downs that may be trusted, the surest first."""
    rings: list[tuple[Ring, Rest]] = []
    for push in found.pushes:
        ring = ring_down(times_s, axes, push, found.quiet)
        if ring is None or not is_ring_down(ring):
            continue
        rest = rest_around(times_s, axes, ring)
        if rest.proven:
            rings.append((ring, rest))
    whole = [ring for ring, rest in rings if rest.whole]
    kept = whole or [ring for ring, _ in rings]
    top = max((ring.outstands for ring in kept), default=0.0)
    return sorted((r for r in kept if r.outstands >= STRONG * top), key=lambda r: r.doubt)


def _ringing(log: ShakeLog, rings: list[Ring], flags: list[str], *, trace: bool) -> Answer:
    first = rings[0]
    joined = [first, *(ring for ring in rings[1:] if agree(first, ring))]
    swing = swing_of(joined)
    flags = [*flags, *_flags(log, rings, joined, swing)]
    second = None
    if first.model.modes == 2:
        omega, sigma, _ = first.model.rates(1 - first.main)
        sizes = first.model.amplitude
        ratio = float(sigma / np.hypot(omega, sigma))
        second = Second(omega / (2.0 * np.pi), ratio, float(sizes.min() / sizes.max()))
    parts = {
        "bounces": swing.bounces,
        "frequency_hz": swing.frequency_hz,
        "damping_ratio": swing.ratio,
    }
    return _told(
        log,
        flags,
        bounces=round(swing.bounces.value),
        bounce_count=swing.bounces.value,
        frequency_hz=swing.frequency_hz.value,
        damping_ratio=swing.ratio.value,
        interval={name: _ends(told) for name, told in parts.items()},
        counts=whole_counts(swing.bounces),
        by_tops=by_tops(first),
        second=second,
        pushes=len(joined),
        trace=_trace(log, first) if trace else None,
    )


def _ends(told: Told) -> list[float]:
    return [float(told.low), float(told.high)]


def _flags(log: ShakeLog, rings: list[Ring], joined: list[Ring], swing: Swing) -> list[str]:
    first, found = joined[0], []
    if is_rough(first):
        found.append(FRICTION)
    if first.model.modes == 2:
        found.append(TWO)
    if swing.ratio.value >= DEAD:
        found.append(AT_ONCE)
    if len(joined) < len(rings) and first.model.modes == 1 and not first.model.friction:
        found.append(DISAGREE)
    _, sigma, _ = first.model.rates(first.main)
    left = float(log.times_s[-1]) - first.start_s
    if sigma * left < 1.2 and not first.model.friction:
        found.append(FEW)
    return found


def _trace(log: ShakeLog, ring: Ring | None) -> Trace:
    """The log along the main way of its swing, thinned to be drawn."""
    whole = np.isfinite(log.axes).all(axis=1)
    times, axes = log.times_s[whole], log.axes[whole]
    base = axes if ring is None else ring.window.values
    middle = np.median(base, axis=0)
    _, _, ways = np.linalg.svd(base - base.mean(axis=0), full_matrices=False)
    along = (axes - middle) @ ways[0]
    fitted: Array = np.full(len(times), np.nan)
    if ring is not None:
        basis = columns(ring.window.times_s, ring.model.logs, friction=ring.model.friction)
        linear, *_ = np.linalg.lstsq(basis, (ring.window.values - middle) @ ways[0], rcond=None)
        at = ring.start_s + ring.window.times_s
        inside = (times >= at[0]) & (times <= at[-1])
        fitted[inside] = np.interp(times[inside], at, basis @ linear)
    keep = np.unique(np.linspace(0, len(times) - 1, TRACE_POINTS).round().astype(int))
    return Trace(
        [round(float(t), 4) for t in times[keep]],
        [round(float(a), 4) for a in along[keep]],
        [None if np.isnan(a) else round(float(a), 4) for a in fitted[keep]],
    )


def _told(log: ShakeLog, flags: list[str], **parts: Any) -> Answer:  # noqa: ANN401  # fields of Answer
    return Answer(
        flags=flags,
        advice=[ADVICE[flag] for flag in flags],
        rate_hz=log.rate_hz,
        length_s=float(log.times_s[-1]),
        units=log.units,
        notes=list(log.notes),
        **parts,
    )
