"""Tests of compiling a pack's machine, and of one model's own values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from small_machine import add_machine
from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import PLUS, TIMES, TO, FaultModel, Machine, Move
from tubside.pack.loading import load_pack
from tubside.pack.machine_compiling import with_own_values
from tubside.pack.parameters import WASHING
from tubside.pack.reading import PackSource
from tubside.pack.stated import UnfitError

EditPack = Callable[..., PackSource]

MOVES = """    moves:
      level_offset: {plus: -2 cm, spread: 5 mm}
      cold_tap_open: {times: 0.05, spread: 0.8}
      cold_pressure: {to: 0, share: 0.25}
"""


@pytest.fixture
def model(edit_pack: EditPack, small_pack_copy: Path) -> FaultModel:
    """Return the small pack's model with a machine and the moves of one cause."""
    add_machine(
        small_pack_copy,
        cold_pressure="{value: 300 kPa, spread: 0.3, source: cp}",
        cold_temperature="{value: 14 C, spread: 4 K, source: cp}",
        fill_timeout="{value: 8 min, source: cp}",
    )
    source = edit_pack("water", "    weight: 120\n", f"    weight: 120\n{MOVES}")
    return compile_pack(source.pack, "small")


@pytest.fixture
def machine(model: FaultModel) -> Machine:
    """Return the machine of that model."""
    assert model.machine is not None
    return model.machine


def test_a_pack_without_machine_has_none(small_model: FaultModel) -> None:
    """Tests that the sections are optional."""
    assert small_model.machine is None


def test_parameters_become_arrays(machine: Machine) -> None:
    """Tests names, SI values, kinds of spread and limits, all in one order."""
    assert machine.parameters == tuple(WASHING.parameters)
    pressure, temperature = map(machine.parameters.index, ("cold_pressure", "cold_temperature"))
    assert machine.middle[[pressure, temperature]] == pytest.approx([3e5, 287.15])
    assert machine.spread[[pressure, temperature]] == pytest.approx([0.3, 4.0])
    assert machine.logarithmic[[pressure, temperature]].tolist() == [True, False]
    assert machine.high[pressure] == WASHING.parameters["cold_pressure"].high
    assert np.all(machine.low <= machine.middle)
    assert np.all(machine.middle <= machine.high)
    assert machine.controller["fill_timeout"] == 480.0


def test_moves_stand_in_the_order_of_the_pack(model: FaultModel, machine: Machine) -> None:
    """Tests that each move names its cause and parameter by index."""
    tap = model.names.causes.index("tap-closed")
    place = machine.parameters.index
    assert machine.moves == (
        Move(tap, place("level_offset"), PLUS, -0.02, 0.005),
        Move(tap, place("cold_tap_open"), TIMES, 0.05, 0.8),
        Move(tap, place("cold_pressure"), TO, 0.0, 0.0, share=0.25),
    )


def test_the_kept_machine_is_the_same(machine: Machine, small_pack_copy: Path) -> None:
    """Tests that a machine taken from what was kept has the same numbers."""
    kept_in = small_pack_copy / "kept"
    for _ in range(2):
        kept = load_pack(small_pack_copy, kept_in).model.machine
        assert kept is not None
        assert kept.moves == machine.moves
        assert kept.controller == machine.controller
        assert kept.parameters == machine.parameters
        for name in ("middle", "spread", "logarithmic", "low", "high"):
            assert np.array_equal(getattr(kept, name), getattr(machine, name))


def test_a_model_has_its_own_values(machine: Machine) -> None:
    """Tests that a model's values replace the family's, and nothing else changes."""
    own = with_own_values(machine, {"cold_pressure": "2 bar"}, {"fill_timeout": "300 s"})
    at = machine.parameters.index("cold_pressure")
    assert own.middle[at] == pytest.approx(2e5)
    assert own.controller == {**machine.controller, "fill_timeout": 300.0}
    rest = np.arange(len(machine.middle)) != at
    assert np.array_equal(own.middle[rest], machine.middle[rest])
    same = replace(own, middle=machine.middle, controller=machine.controller)
    assert same == machine


def test_a_models_value_must_fit(machine: Machine) -> None:
    """Tests that a value outside the limits is refused."""
    with pytest.raises(UnfitError, match="lies from"):
        with_own_values(machine, {"cold_pressure": "99 bar"}, {})
