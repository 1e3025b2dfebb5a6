"""Play one cycle of a model with causes inside: what happens, and what its panel shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from tubside.errors import UnknownNameError
from tubside.machine.as_built import has_drum, said_of_all
from tubside.machine.chart import AnyCourse, Caption, cycle_svg
from tubside.machine.controller import Noticed, noticed, parts_of
from tubside.machine.course import Course, course
from tubside.machine.cycle import Cycle, Limits
from tubside.machine.draws import base_draws, middle_draw, values_with
from tubside.machine.drying import Run
from tubside.machine.drying_course import DryingCourse, drying_course
from tubside.machine.playing import AnyCycle, play_any
from tubside.pack.fault_model import Machine
from tubside.panel.schema import Panel
from tubside.panel.wording import in_full, in_short
from tubside.physics.standard import ICE_POINT
from tubside.service.knowledge import Knowledge
from tubside.strict_yaml import or_one_of

SPIN = "spin"
"""A family with this stage has a drum; of one without it no spin is told."""
MOST_DRAWN = 2
"""So many values of the sheet stand beside the drawing."""


@dataclass(frozen=True, slots=True)
class Simulation:
    """One cycle of one machine."""

    known: Knowledge
    machine: Machine
    causes: tuple[str, ...]
    seed: int | None
    cycle: AnyCycle
    noticed: Noticed
    course: AnyCourse

    @property
    def condition(self) -> str | None:
        """The condition that stopped it; None where the cycle ended well."""
        first = int(self.noticed.first[0])
        return None if first < 0 else self.known.model.names.conditions[first]

    @property
    def part(self) -> str | None:
        """The part of the cycle in which it stopped."""
        part = int(self.noticed.part[0])
        return None if part < 0 else list(parts_of(self.cycle))[part]

    @property
    def symptoms(self) -> tuple[str, ...]:
        """What people would notice up to then, the stopping condition left out."""
        names = self.known.model.names.conditions
        shown = np.flatnonzero(self.noticed.shown[:, 0])
        return tuple(names[at] for at in shown if names[at] != self.condition)

    @property
    def indication(self) -> str | None:
        """What the panel shows of it; None where there is no panel or nothing to show."""
        if self.known.panel is None or self.condition is None:
            return None
        return shown_for(self.known.panel, self.condition)


def simulate(known: Knowledge, causes: Sequence[str], seed: int | None = None) -> Simulation:
    """Play one cycle of this model with ``causes`` inside.

    The machine is drawn by ``seed``; without one it is the middle of its kind.

    Raises
    ------
    UnknownNameError
        When the pack knows no such cause, has no machine, or a cause moves nothing in it.
    """
    machine = known.model.machine
    if machine is None:
        msg = f"the pack {known.pack.family} describes no machine; add the section 'machine'"
        raise UnknownNameError(msg)
    moved = [_cause(known, machine, name) for name in causes]
    draws = middle_draw(machine) if seed is None else base_draws(machine, 1, seed)
    values = values_with(machine, draws, moved)
    cycle = play_any(values, machine.controller)
    found = noticed(cycle, machine.controller, known.model)
    drawn = _course(known, cycle, machine.controller, found)
    return Simulation(known, machine, tuple(causes), seed, cycle, found, drawn)


def _course(known: Knowledge, cycle: AnyCycle, limits: Limits, found: Noticed) -> AnyCourse:
    if isinstance(cycle, Run):
        return drying_course(cycle, limits, found)
    return course(cycle, limits, found, spins=SPIN in known.model.names.stages)


def shown_for(panel: Panel, condition: str) -> str | None:
    """The first indication of the panel that means this condition, if any does."""
    meant = (name for name, shown in panel.indications.items() if condition in shown.conditions)
    return next(meant, None)


def ending(played: Simulation) -> str:
    """How the cycle ended, in words."""
    if played.condition is None:
        return "the cycle ended well"
    title = played.known.pack.conditions[played.condition].title
    return f"stopped in the {played.part}: {title}"


def drawing(played: Simulation) -> str:
    """The cycle as SVG text."""
    limits = played.machine.controller
    titles = [played.known.pack.causes[name].title for name in played.causes]
    faults = "; ".join(titles) if titles else "nothing wrong"
    panel = played.known.panel
    caption = Caption(
        title=panel.name if panel is not None else played.known.pack.title,
        faults=faults,
        ending=ending(played),
        limits=_drawn_limits(played.course, limits),
        notes=(*_noticed(played), *_shown(played), *_from_the_sheet(played)),
    )
    return cycle_svg(played.course, caption, panel, played.indication)


def _drawn_limits(of: AnyCourse, limits: Limits) -> dict[str, float]:
    """Limits of the controller that are drawn, in the unit of their curve."""
    if isinstance(of, DryingCourse):
        damp = 100.0 * limits["damp_laundry"]
        return {"outlet": limits["hot_outlet"] - ICE_POINT, "damp": damp}
    return {"level": 100.0 * limits["overflow_level"], "swing": 1e3 * limits["swing_limit"]}


def told(played: Simulation) -> list[str]:
    """What happened, a line each."""
    bands = played.course.bands
    lines = [f"{band.part:<12} {(band.end - band.start) / 60:6.1f} min" for band in bands]
    lines.append(ending(played))
    lines += _noticed(played)
    panel, shown = played.known.panel, played.indication
    if panel is not None and shown is not None:
        says = in_full(panel, panel.lights(shown), panel.indications[shown].sound)
        lines.append(f"the panel shows '{shown}': {says}")
    lines += [f"reckoned with {words}" for words in on_the_sheet(played)]
    return lines


def on_the_sheet(played: Simulation) -> list[str]:
    """What the model's own sheet puts in place of the family's numbers."""
    drum = has_drum(played.known.model.names.stages)
    return [it.words for it in said_of_all(played.known.panel, drum=drum)]


def _noticed(played: Simulation) -> list[str]:
    conditions = played.known.pack.conditions
    return [f"people notice: {conditions[name].title}" for name in played.symptoms]


def as_data(played: Simulation) -> dict[str, object]:
    """What happened as plain data, SI units in the names."""
    course_of = played.course
    return {
        "model": played.known.panel.model if played.known.panel is not None else None,
        "family": played.known.pack.family,
        "causes": list(played.causes),
        "sheet": on_the_sheet(played),
        "seed": played.seed,
        "stopped_by": played.condition,
        "stopped_in": played.part,
        "symptoms": list(played.symptoms),
        "indication": played.indication,
        "seconds": float(course_of.time[-1]),
        "parts": [
            {"part": band.part, "start_s": band.start, "end_s": band.end}
            for band in course_of.bands
        ],
        **_numbers(played.cycle, played.course),
    }


def _numbers(cycle: AnyCycle, of: AnyCourse) -> dict[str, float | None]:
    """What the cycle came to, by what the machine does."""
    if isinstance(cycle, Run):
        return _dried(cycle)
    assert isinstance(of, Course)
    return _washed(cycle, spins=of.spins)


def _dried(run: Run) -> dict[str, float | None]:
    needed = float(run.needed[0])
    return {
        "air_m3_s": float(run.air.flow[0]),
        "back_pressure_pa": float(run.air.back_pressure[0]),
        "outlet_kelvin": float(run.warm[0]),
        "hottest_kelvin": float(run.hottest[0]),
        "heater_w": float(run.power[0]),
        "dries_kg_s": float(run.rate[0]),
        "drying_s": needed if isfinite(needed) else None,
        "moisture": float(run.moisture[0]),
        "dried_kg": float(run.dried[0]),
        "drive_margin": float(run.margin[0]),
    }


def _washed(cycle: Cycle, *, spins: bool) -> dict[str, float | None]:
    return {
        "fill_s": float(cycle.fill.seconds[0]),
        "fill_litres": 1e3 * float(cycle.fill.cold[0] + cycle.fill.hot[0]),
        "level_m": float(cycle.fill.level[0]),
        "wash_kelvin": float(cycle.washed.temperature[0]),
        "drive_margin": float(cycle.washed.margin[0]) if spins else None,
        "drain_s": float(cycle.drained.seconds[0]),
        "left_after_drain_m": float(cycle.drained.left[0]),
        "spin_rad_s": float(cycle.spun.speed[0]) if spins else None,
        "swing_m": float(cycle.spun.swing[0]) if spins else None,
    }


def _from_the_sheet(played: Simulation) -> list[str]:
    """The first values of the sheet, for beside the picture."""
    said = on_the_sheet(played)
    more = [f"and {len(said) - MOST_DRAWN} more of its sheet"] if len(said) > MOST_DRAWN else []
    return [*said[:MOST_DRAWN], *more]


def _shown(played: Simulation) -> list[str]:
    """What the panel shows, in short, for beside its picture."""
    panel, shown = played.known.panel, played.indication
    if panel is None or shown is None:
        return ["the panel shows nothing"] if panel is not None else []
    return [f"the panel shows: {in_short(panel, panel.lights(shown))}"]


def _cause(known: Knowledge, machine: Machine, name: str) -> int:
    names = known.model.names.causes
    if name not in names:
        msg = f"the pack {known.pack.family} has no cause '{name}'; {or_one_of(name, names)}"
        raise UnknownNameError(msg)
    cause = names.index(name)
    if all(move.cause != cause for move in machine.moves):
        moving = [names[move.cause] for move in machine.moves]
        msg = (
            f"'{name}' changes nothing that a cycle can show; "
            f"{or_one_of(name, list(dict.fromkeys(moving)))}"
        )
        raise UnknownNameError(msg)
    return cause
