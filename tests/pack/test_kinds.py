"""Tests of the two kinds of machine: one washes, one dries."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from small_machine import add_machine
from tubside.pack.check import check_pack
from tubside.pack.fault_model import Machine
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.pack.machine_compiling import with_own_values
from tubside.pack.parameters import CONTROLLER, DRYING, PARAMETERS, WASHING, kind_named
from tubside.pack.reading import PackSource
from tubside.pack.stated import UnfitError


@pytest.fixture
def dryer() -> Machine:
    """Return the machine of the dryers."""
    found = load_pack(pack_folder("dryer")).model.machine
    assert found is not None
    return found


def test_together_they_are_all() -> None:
    """Tests that every parameter and limit belongs to a kind, and both to some."""
    assert {*WASHING.parameters, *DRYING.parameters} == set(PARAMETERS)
    assert {*WASHING.limits, *DRYING.limits} == set(CONTROLLER)
    assert {"mains_voltage", "heater_resistance"} <= {*WASHING.parameters} & {*DRYING.parameters}


@pytest.mark.parametrize("kind", [WASHING, DRYING])
def test_a_kind_is_known_by_its_names(kind: object) -> None:
    """Tests that all names of a kind, and its limits alone, speak of it."""
    assert kind in (WASHING, DRYING)
    found = WASHING if kind is WASHING else DRYING
    assert kind_named(found.parameters) is found
    assert kind_named(found.limits) is found


def test_a_dryer_is_compiled_with_its_own(dryer: Machine) -> None:
    """Tests that the machine holds the parameters of what it does, in order, and no others."""
    assert dryer.parameters == tuple(DRYING.parameters)
    assert set(dryer.controller) == set(DRYING.limits)
    place = dryer.parameters.index("fan_flow")
    assert dryer.middle[place] == pytest.approx(0.09)
    assert dryer.high[place] == DRYING.parameters["fan_flow"].high


def test_a_stray_name_of_the_other_kind_is_told(
    edit_pack: Callable[..., PackSource], small_pack_copy: Path
) -> None:
    """Tests that one parameter of a dryer among those of a washer is the only thing refused."""
    add_machine(small_pack_copy)
    file = small_pack_copy / "machine.yaml"
    stray = "machine:\n  fan_flow: {value: 0.1 m**3/s, source: cp}"
    file.write_text(file.read_text(encoding="utf-8").replace("machine:", stray, 1), "utf-8")
    source = edit_pack("water", "    weight: 120\n", "    weight: 120\n")
    errors = [str(problem) for problem in check_pack(source).errors]
    assert len(errors) == 1
    assert "unknown parameter 'fan_flow'" in errors[0]


def test_a_model_cannot_state_what_its_family_has_not(dryer: Machine) -> None:
    """Tests that a dryer's model is refused a tub."""
    with pytest.raises(UnfitError, match="nothing that this family's machine has"):
        with_own_values(dryer, {"tub_area": "0.1 m2"}, {})
    own = with_own_values(dryer, {"vented": "0"}, {"slow_dry": "3 h"})
    assert own.middle[own.parameters.index("vented")] == 0.0
    assert own.controller["slow_dry"] == 10800.0
