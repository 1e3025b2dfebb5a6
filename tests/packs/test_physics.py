"""Tests of the shipped packs against the simulated machine."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.machine.contradictions import contradictions, played
from tubside.machine.controller import noticed
from tubside.machine.draws import middle_draw, values_with
from tubside.machine.playing import play_any
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Floats
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.pack.reading import read_pack

FAMILIES = ("top_load", "front_load", "dishwasher", "dryer")
LEAST_MOVING = 0.5


class Watched(dict[str, Floats]):
    """Values that remember which of them were read."""

    def __init__(self, values: dict[str, Floats]) -> None:
        super().__init__(values)
        self.read: set[str] = set()

    def __getitem__(self, name: str) -> Floats:
        """Return a value and remember its name."""
        self.read.add(name)
        return super().__getitem__(name)


@pytest.mark.parametrize("family", FAMILIES)
def test_physics_and_tables_agree(family: str) -> None:
    """Tests that no cause's moves contradict how the cause is reported."""
    folder: Path = pack_folder(family)
    source, model = read_pack(folder), load_pack(folder).model
    cycles = played(source, model)
    assert cycles is not None
    assert [str(problem) for problem in contradictions(source, model, cycles)] == []


@pytest.mark.parametrize("family", FAMILIES)
def test_what_is_moved_is_used(family: str) -> None:
    """Tests that every parameter that some cause moves is read by a cycle or a quantity."""
    model = load_pack(pack_folder(family)).model
    machine = model.machine
    assert machine is not None
    values = Watched(values_with(machine, middle_draw(machine), ()))
    noticed(play_any(values, machine.controller), machine.controller, model)
    used = values.read.union(*(quantity.needs for quantity in QUANTITIES.values()))
    moved = {machine.parameters[move.parameter] for move in machine.moves}
    assert moved <= used


@pytest.mark.parametrize("family", FAMILIES)
def test_most_causes_move_something(family: str) -> None:
    """Tests that moves are there for at least half of the causes, each with its mark."""
    pack = load_pack(pack_folder(family)).pack
    moving = [cause for cause in pack.causes.values() if cause.moves]
    assert len(moving) >= LEAST_MOVING * len(pack.causes)
    for cause in moving:
        marks = {"moves": cause.source} if isinstance(cause.source, str) else cause.source
        mark = marks.get("moves", marks.get("rest"))
        assert mark in {"cp", "physics"}, cause.title
