"""The course of one cycle over time, for drawing: level, temperature, speed, swing, torque."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tubside.machine import washing
from tubside.machine.controller import PARTS, Noticed
from tubside.machine.cycle import Cycle, Limits
from tubside.machine.draws import Values
from tubside.machine.emptying import Emptied
from tubside.machine.fill import Fill
from tubside.machine.inlet import inlets
from tubside.machine.mixing import mix
from tubside.machine.spinning import Spun, swings
from tubside.pack.fault_model import Floats
from tubside.physics.heater import heated

POINTS = 24
"""Points of a stage whose course is a closed formula."""
TRIED = 20.0
"""Time for which a part that stops before it begins is drawn [s]."""


@dataclass(frozen=True, slots=True)
class Band:
    """One part of the cycle and when it ran [s]."""

    part: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Course:
    """One machine's cycle over time; arrays (T,), not a number where there is nothing."""

    time: Floats  # s
    level: Floats  # m over the air bell
    temperature: Floats  # K of the water in the tub
    speed: Floats  # rad/s of the basket in spin
    swing: Floats  # m of the tub
    torque: Floats  # N m that holds agitator or basket back
    bands: tuple[Band, ...]
    stopped: float | None  # s
    spins: bool = True  # a drum turns and spins; without one its curves say nothing


@dataclass(frozen=True, slots=True)
class _Piece:
    """A part as it runs: times from its start, and what is known of it then."""

    part: str
    time: Floats
    level: Floats
    temperature: Floats | float = np.nan
    speed: Floats | float = 0.0
    swing: Floats | float = 0.0
    torque: Floats | float = 0.0


def course(cycle: Cycle, limits: Limits, noticed: Noticed, *, spins: bool = True) -> Course:
    """The course of the first machine of a cycle, up to where it stops.

    Parameters
    ----------
    cycle
        Played with one machine or more; the first is drawn.
    limits
        The controller's limits.
    noticed
        What stopped it (see :func:`tubside.machine.controller.noticed`).
    spins
        Whether the family has a drum; without one no spin is told, and no torque.
    """
    last = int(noticed.part[0])
    pieces, bands, now = [], [], 0.0
    order = list(PARTS)
    for played in _pieces(cycle, limits, spins=spins):
        if last >= 0 and order.index(played.part) > last:
            break
        stops_here = last >= 0 and order.index(played.part) == last
        piece = _shaken_off(played, limits["swing_limit"]) if stops_here else played
        end = now + float(piece.time[-1])
        bands.append(Band(piece.part, now, end))
        pieces.append((now, piece))
        now = end
    if last >= 0 and (not bands or bands[-1].part != order[last]):
        bands.append(Band(order[last], now, now + TRIED))
        still = _Piece(order[last], np.array([0.0, TRIED]), _end_of(pieces))
        pieces.append((now, still))
        now += TRIED
    joined = _joined(pieces, bands, now if last >= 0 else None)
    return replace(joined, spins=spins)


def _shaken_off(piece: _Piece, most: float) -> _Piece:
    """The last part, cut where the tub swings as far as the controller allows, if it does."""
    swing = np.broadcast_to(piece.swing, piece.time.shape)
    if not np.any(swing > most):
        return piece
    end = int(np.argmax(swing > most)) + 1
    names = ("time", "level", "temperature", "speed", "swing", "torque")
    whole = {name: np.broadcast_to(getattr(piece, name), piece.time.shape) for name in names}
    return _Piece(piece.part, **{name: value[:end] for name, value in whole.items()})


def _end_of(pieces: list[tuple[float, _Piece]]) -> Floats:
    level = float(pieces[-1][1].level[-1]) if pieces else 0.0
    return np.full(2, level)


def _joined(pieces: list[tuple[float, _Piece]], bands: list[Band], stopped: float | None) -> Course:
    def whole(name: str) -> Floats:
        parts = [np.broadcast_to(getattr(p, name), p.time.shape) for _, p in pieces]
        return np.concatenate(parts)

    return Course(
        time=np.concatenate([start + piece.time for start, piece in pieces]),
        level=whole("level"),
        temperature=whole("temperature"),
        speed=whole("speed"),
        swing=whole("swing"),
        torque=whole("torque"),
        bands=tuple(bands),
        stopped=stopped,
    )


def _pieces(cycle: Cycle, limits: Limits, *, spins: bool) -> Iterator[_Piece]:
    values = {name: value[:1] for name, value in cycle.values.items()}
    yield _filled(values, "fill", cycle.fill, warm=True)
    if cycle.warmed is not None and cycle.warmed.seconds[0] > 0.0:
        yield _heated(cycle)
    washed = _washed(values, cycle, limits)
    yield washed if spins else replace(washed, torque=0.0)
    yield _emptied("drain", cycle.drained)
    if spins:
        yield _spun(values, "first spin", cycle.first_spin)
    yield _soaked(_filled(values, "rinse", cycle.rinse, warm=False), limits["rinse_time"])
    yield _emptied("rinse drain", cycle.rinse_drained)
    if spins:
        yield _spun(values, "last spin", cycle.spun)


def _filled(values: Values, part: str, fill: Fill, *, warm: bool) -> _Piece:
    times, levels = fill.way.times[:, 0], fill.way.levels[:, 0]
    came = (fill.cold[0] + fill.hot[0]) * times / max(float(times[-1]), 1e-9)
    many = {name: np.repeat(value, times.size) for name, value in values.items()}
    mixed = mix(many, inlets(many), came, warm=warm)
    temperature = np.where(came > 0.0, mixed.temperature, np.nan)
    return _Piece(part, times, levels, temperature)


def _soaked(filled: _Piece, seconds: float) -> _Piece:
    """A rinse once full: the water stands."""
    time = np.append(filled.time, filled.time[-1] + seconds)
    warmth = np.broadcast_to(filled.temperature, filled.time.shape)
    level, temperature = np.append(filled.level, filled.level[-1]), np.append(warmth, warmth[-1])
    return _Piece(filled.part, time, level, temperature)


def _heated(cycle: Cycle) -> _Piece:
    warmed = cycle.warmed
    assert warmed is not None
    times = np.linspace(0.0, float(warmed.seconds[0]), POINTS)
    temperature = heated(warmed.bath, warmed.power, warmed.start, times[:, None])[:, 0]
    level = np.full(POINTS, float(cycle.fill.level[0]))
    return _Piece("heat", times, level, temperature)


def _washed(values: Values, cycle: Cycle, limits: Limits) -> _Piece:
    times = np.linspace(0.0, limits["wash_time"], POINTS)
    start, end = float(cycle.washed.start[0]), float(cycle.washed.level[0])
    level = np.linspace(start, end, POINTS)
    needed = washing.torque_needed(values, np.minimum(cycle.washed.level[:1], 2.0))
    temperature = float(cycle.washed.temperature[0])
    return _Piece("wash", times, level, temperature, torque=float(needed[0]))


def _emptied(part: str, drained: Emptied) -> _Piece:
    """The way down, and what follows once the pump lifts no more."""
    times = np.append(drained.way.times[:, 0], float(drained.seconds[0]))
    return _Piece(part, times, np.append(drained.way.levels[:, 0], float(drained.left[0])))


def _spun(values: Values, part: str, spun: Spun) -> _Piece:
    return _Piece(
        part,
        spun.times,
        spun.levels[:, 0],
        speed=spun.speeds[:, 0],
        swing=swings(values, spun)[:, 0],
        torque=spun.torques[:, 0],
    )
