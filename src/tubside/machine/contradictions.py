"""Where a pack's table of reports and the physics of its causes contradict each other.

Each cause that moves something is put into the same sound machines, and each plays a
cycle. What the controller then stops for is held against ``reported_as``. Symptoms are
left out: people notice them or not, for reasons of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tubside.errors import Problem
from tubside.machine.controller import noticed
from tubside.machine.draws import Draws, base_draws, values_with
from tubside.machine.playing import play_any
from tubside.pack.fault_model import FaultModel, Ints, Machine
from tubside.pack.reading import PackSource
from tubside.pack.schema import Cause

CYCLES = 1000
"""Cycles played with each cause, where fewer do not settle it."""
FIRST_CYCLES = 128
"""Cycles played at first."""
GROUP = 16
"""Causes whose first cycles are played at once."""
CLAIMED = 0.15
"""A stopping condition with this share of reports or more must come about in some cycle."""
MOSTLY = 0.5
"""A stopping condition that comes about in more cycles than this ..."""
HARDLY = 0.02
"""... must have at least this share of reports."""
NOWHERE_NEAR = 0.25
"""A share of the first cycles below this does not rise above :data:`MOSTLY` in all."""
MOST_SHOWN = 12
"""Rows of the report."""
SOUND = 0.05
"""A machine without any cause may stop in this share of cycles, not more."""


@dataclass(frozen=True, slots=True)
class Stops:
    """What stops each of D machines: an index of conditions, -1 for nothing."""

    sound: Ints  # (D,) with no cause
    faulty: Ints  # (D,) with the cause, in the same machines

    def share(self, condition: int) -> float:
        """Share of cycles that stop for this condition."""
        return float(np.mean(self.faulty == condition))

    def brings(self, condition: int) -> bool:
        """Whether some cycle stops for this only because the cause is there."""
        return bool(np.any((self.faulty == condition) & (self.sound != condition)))


@dataclass(frozen=True, slots=True)
class Played:
    """The cycles of a pack's machine: with no cause, and with each that moves it."""

    sound: Ints  # (D,)
    causes: dict[str, Stops]  # of the first cycles, or of all where those settle nothing


def played(source: PackSource, model: FaultModel) -> Played | None:
    """Play the cycles of each cause that moves something; None where there is no machine.

    Parameters
    ----------
    source
        A pack that has passed :func:`tubside.pack.check.check_pack` without errors.
    model
        Compiled from it.
    """
    machine = model.machine
    if machine is None:
        return None
    draws = base_draws(machine, CYCLES)
    (sound,) = _stops(model, machine, draws, [()])
    causes: dict[str, Stops] = {}
    names = list(source.pack.causes)
    moving = [at for at, name in enumerate(names) if source.pack.causes[name].moves]
    for group in (moving[at : at + GROUP] for at in range(0, len(moving), GROUP)):
        first = _stops(model, machine, _first(draws, FIRST_CYCLES), [(one,) for one in group])
        for number, faulty in zip(group, first, strict=True):
            name = names[number]
            causes[name] = Stops(sound[:FIRST_CYCLES], faulty)
            if not _settled(source.pack.causes[name], model, causes[name]):
                causes[name] = Stops(sound, *_stops(model, machine, draws, [(number,)]))
    return Played(sound, causes)


def contradictions(source: PackSource, model: FaultModel, cycles: Played) -> Iterator[Problem]:
    """Yield the causes whose physics contradicts their table, at the line of each."""
    yield from _unsound(source, model, cycles.sound)
    for name, stops in cycles.causes.items():
        yield from _unmet(source, name, model, stops)
        yield from _unsaid(source, name, model, stops)


def played_report(source: PackSource, model: FaultModel, cycles: Played) -> list[str]:
    """Return in lines where reports and played stops differ most, for those who fit moves."""
    rows = sorted(_gaps(source, model, cycles), reverse=True)[:MOST_SHOWN]
    return [
        "stops that the machine makes of a cause, reported -> played, largest gaps first",
        *(f"  {stated:.3f} -> {share:.3f}  {words}" for _, stated, share, words in rows),
    ]


def _gaps(
    source: PackSource, model: FaultModel, cycles: Played
) -> Iterator[tuple[float, float, float, str]]:
    for name, stops in cycles.causes.items():
        for at, condition in enumerate(model.names.conditions):
            if model.complaint.stopping[at]:
                stated = source.pack.causes[name].reported_as.get(condition, 0.0)
                share = stops.share(at)
                yield abs(share - stated), stated, share, f"{name} stops with {condition}"


def _stops(
    model: FaultModel, machine: Machine, draws: Draws, sets: list[tuple[int, ...]]
) -> list[Ints]:
    """What stops the machines with each set of causes; all are played at once."""
    each = [values_with(machine, draws, causes) for causes in sets]
    values = {name: np.concatenate([one[name] for one in each]) for name in machine.parameters}
    first = noticed(play_any(values, machine.controller), machine.controller, model).first
    return np.split(first, len(sets))


def _first(draws: Draws, count: int) -> Draws:
    return Draws(draws.base[:, :count], draws.moves[:, :count])


def _settled(cause: Cause, model: FaultModel, stops: Stops) -> bool:
    """Whether the first cycles show that all is well: more can then show nothing else."""
    return all(stops.brings(at) for _, at in _claimed(cause, model)) and all(
        stops.share(at) < NOWHERE_NEAR for _, at in _hardly_reported(cause, model)
    )


def _claimed(cause: Cause, model: FaultModel) -> Iterator[tuple[str, int]]:
    """Stopping conditions that the cause is said to bring about."""
    for name, share in cause.reported_as.items():
        at = model.names.conditions.index(name)
        if model.complaint.stopping[at] and share >= CLAIMED and name not in cause.without_physics:
            yield name, at


def _hardly_reported(cause: Cause, model: FaultModel) -> Iterator[tuple[str, int]]:
    for at, name in enumerate(model.names.conditions):
        if model.complaint.stopping[at] and cause.reported_as.get(name, 0.0) < HARDLY:
            yield name, at


def _unsound(source: PackSource, model: FaultModel, sound: Ints) -> Iterator[Problem]:
    for at, name in enumerate(model.names.conditions):
        share = float(np.mean(sound == at))
        if share > SOUND:
            what = f"a machine without any cause stops with '{name}' in {share:.0%} of cycles"
            mend = "mend the values of 'machine' or the limits of 'controller'"
            yield source.document.problem(("machine",), what, mend)


def _unmet(source: PackSource, name: str, model: FaultModel, stops: Stops) -> Iterator[Problem]:
    """Yield what the table says and the physics never does."""
    cause = source.pack.causes[name]
    for condition, at in _claimed(cause, model):
        if not stops.brings(at):
            share = cause.reported_as[condition]
            what = (
                f"'{name}' is reported as '{condition}' with {share:g}, "
                f"but its moves never bring that about in {CYCLES:,} cycles"
            )
            path = ("causes", name, "reported_as", condition)
            mend = "mend its moves, or say why in 'without_physics'"
            yield source.document.problem(path, what, mend)


def _unsaid(source: PackSource, name: str, model: FaultModel, stops: Stops) -> Iterator[Problem]:
    """Yield what the physics does in most cycles and the table does not know."""
    for condition, at in _hardly_reported(source.pack.causes[name], model):
        share = stops.share(at)
        if share > MOSTLY:
            what = (
                f"the moves of '{name}' bring about '{condition}' in {share:.0%} of cycles, "
                "but it is hardly ever reported so"
            )
            yield source.document.problem(
                ("causes", name, "moves"), what, "mend its moves or 'reported_as'"
            )
