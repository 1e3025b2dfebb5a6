"""Tests that contradictions between a pack's table and its physics are found, and no others."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import numpy as np
import pytest

from tubside.errors import Problem
from tubside.machine.contradictions import Played, Stops, contradictions, played, played_report
from tubside.pack.fault_model import FaultModel
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.pack.machine_compiling import compile_machine
from tubside.pack.machine_schema import ControllerLimit, Move
from tubside.pack.reading import PackSource, read_pack
from tubside.pack.schema import Cause


@pytest.fixture(scope="module")
def source() -> PackSource:
    """Return the pack of the top-loaders."""
    return read_pack(pack_folder("top_load"))


@pytest.fixture(scope="module")
def model() -> FaultModel:
    """Return its model."""
    return load_pack(pack_folder("top_load")).model


def found(source: PackSource, model: FaultModel, name: str, **planted: object) -> list[Problem]:
    """Return the contradictions where this cause alone moves the machine, so changed."""
    causes = {
        each: msgspec.structs.replace(cause, moves={}) for each, cause in source.pack.causes.items()
    }
    causes[name] = msgspec.structs.replace(source.pack.causes[name], **planted)
    pack = msgspec.structs.replace(source.pack, causes=causes)
    own = replace(model, machine=compile_machine(pack))
    changed = replace(source, pack=pack)
    cycles = played(changed, own)
    assert cycles is not None
    return list(contradictions(changed, own, cycles))


@pytest.mark.parametrize("name", ["pump-failed", "tap-closed", "lid-lock", "hoses-swapped"])
def test_a_cause_as_it_stands_contradicts_nothing(
    source: PackSource, model: FaultModel, name: str
) -> None:
    """Tests that causes of the shipped pack pass."""
    assert found(source, model, name) == []


@pytest.mark.parametrize(
    ("name", "moves", "condition"),
    [
        ("pump-failed", {"pump_strength": Move(times=0.95)}, "wont_drain"),
        ("tap-closed", {"hot_tap_open": Move(to="0")}, "no_water"),
        ("too-much-suds", {"hardness": Move(times=2.0)}, "suds"),
        ("not-level", {"levelness": Move(to="1")}, "out_of_balance"),
    ],
)
def test_what_never_comes_about_is_told(
    source: PackSource, model: FaultModel, name: str, moves: dict[str, Move], condition: str
) -> None:
    """Tests that a cause that says it raises a condition and never does is told at its line."""
    (problem,) = found(source, model, name, moves=moves)
    share = source.pack.causes[name].reported_as[condition]
    assert f"'{name}' is reported as '{condition}' with {share:g}" in problem.what
    assert "1,000 cycles" in problem.what
    place = source.document.place(("causes", name, "reported_as"))
    assert problem.file == place.file
    assert place.line <= problem.line <= place.line + 3


@pytest.mark.parametrize(
    ("name", "moves", "condition"),
    [
        ("hoses-swapped", {"pump_strength": Move(to="0")}, "wont_drain"),
        ("bearings", {"cold_hose_open": Move(to="0")}, "no_water"),
    ],
)
def test_what_is_never_reported_is_told(
    source: PackSource, model: FaultModel, name: str, moves: dict[str, Move], condition: str
) -> None:
    """Tests that a condition of most cycles that the table does not know is told."""
    (problem,) = found(source, model, name, moves=moves)
    assert f"the moves of '{name}' bring about '{condition}'" in problem.what
    assert "hardly ever reported" in problem.what
    assert problem.line == source.document.place(("causes", name, "moves")).line


def test_a_reason_silences_its_own_condition_alone(source: PackSource, model: FaultModel) -> None:
    """Tests that ``without_physics`` excepts the condition that it names, and no other."""
    (problem,) = found(source, model, "lid-lock", without_physics={})
    assert "'wont_start'" in problem.what
    nothing = {"pump_strength": Move(times=0.95)}
    other = {"leak": "the hose"}
    assert len(found(source, model, "pump-failed", moves=nothing, without_physics=other)) == 1
    reason = {"wont_drain": "a pump that only hums is left to itself"}
    assert found(source, model, "pump-failed", moves=nothing, without_physics=reason) == []


def test_rare_is_not_never(source: PackSource, model: FaultModel) -> None:
    """Tests that a move in a small share of machines is found in the further cycles."""
    rarely = {"pump_strength": Move(to="0", share=0.004)}
    assert found(source, model, "pump-failed", moves=rarely) == []


def test_what_a_sound_machine_does_is_no_doing_of_the_cause(
    source: PackSource, model: FaultModel
) -> None:
    """Tests that stops of sound machines do not count for a cause, and are told themselves."""
    short = ControllerLimit(value="60 s", source="cp")
    pack = msgspec.structs.replace(
        source.pack, controller={**source.pack.controller, "drain_timeout": short}
    )
    impatient = replace(source, pack=pack)
    nothing = {"pump_coil_resistance": Move(times=2.0)}
    sound, cause = found(impatient, model, "pump-failed", moves=nothing)
    assert "without any cause stops with 'wont_drain'" in sound.what
    assert sound.line == source.document.place(("machine",)).line
    assert "'pump-failed' is reported as 'wont_drain'" in cause.what


def test_without_a_machine_there_is_nothing_to_contradict(
    small_pack: PackSource, small_model: FaultModel
) -> None:
    """Tests that a pack that describes no machine plays nothing."""
    assert played(small_pack, small_model) is None


def test_symptoms_are_left_out(source: PackSource, model: FaultModel) -> None:
    """Tests that a cause reported by symptoms alone passes with moves that bring none."""
    cause: Cause = source.pack.causes["hot-late"]
    assert max(cause.reported_as, key=cause.reported_as.__getitem__) == "wrong_temperature"
    assert found(source, model, "hot-late", moves={"hardness": Move(times=1.1)}) == []


def test_the_report_puts_the_largest_gap_first(source: PackSource, model: FaultModel) -> None:
    """Tests that reported and played shares stand side by side, worst first."""
    slow, none = model.names.conditions.index("no_water"), np.full(4, -1)
    half = np.array([slow, slow, -1, -1])
    cycles = Played(none, {"pump-failed": Stops(none, none), "hot-late": Stops(none, half)})
    lines = played_report(source, model, cycles)
    assert lines[1] == "  0.720 -> 0.000  pump-failed stops with wont_drain"
    assert lines[2] == "  0.039 -> 0.500  hot-late stops with no_water"
