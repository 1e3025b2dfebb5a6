"""Predictions are kept by content: the same when read back, made anew when anything changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tubside.diagnosis.machine_part import drawn
from tubside.diagnosis.predicted import SOUND, Predicted
from tubside.errors import UnknownNameError
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import FaultModel
from tubside.service.knowledge import knowledge_of_family
from tubside.service.predictions import quantities_read, with_predictions

ASKED = [SOUND, (1,), (3,)]
"""Sound machines, and with one and two of the causes that alter the quantity."""


@pytest.fixture(scope="module")
def model() -> FaultModel:
    """The front-load model, of which nothing was predicted yet; few readings, to be quick."""
    whole = replace(knowledge_of_family("front_load").model, predicting=None)
    quick = {"hose_end_flow_cold", "valve_coil_ohms", "thermistor_ohms"}
    checks = tuple(
        c if c.reading is None or c.reading.quantity in quick else replace(c, reading=None)
        for c in whole.checks
    )
    return replace(whole, checks=checks)


def values(
    model: FaultModel, folder: Path
) -> list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    """What each quantity comes to, and how finely."""
    predicting = with_predictions(model, folder).predicting
    assert predicting is not None
    return [part for name in quantities_read(model) for part in predicting.values(name, ASKED)]


def test_what_is_read_back_is_what_was_worked_out(model: FaultModel, tmp_path: Path) -> None:
    """Tests the file against the first computation, to the last bit."""
    first = values(model, tmp_path)
    assert len(list(tmp_path.iterdir())) == 1
    for one, other in zip(first, values(model, tmp_path), strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("damage", [b"", b"not a file of ours", None])
def test_a_damaged_file_is_made_again(
    model: FaultModel, tmp_path: Path, damage: bytes | None
) -> None:
    """Tests empty, strange and cut files."""
    first = values(model, tmp_path)
    (file,) = tmp_path.iterdir()
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2] if damage is None else damage)
    np.testing.assert_array_equal(values(model, tmp_path)[0], first[0])
    assert file.read_bytes() == whole


def test_another_machine_has_a_file_of_its_own(model: FaultModel, tmp_path: Path) -> None:
    """Tests that one number changed is another content."""
    machine = model.machine
    assert machine is not None
    first = values(model, tmp_path)
    other = replace(model, machine=replace(machine, middle=machine.middle * 1.01))
    assert not np.array_equal(values(other, tmp_path)[0], first[0])
    assert len(list(tmp_path.iterdir())) == 2


def test_a_folder_that_cannot_be_written_is_no_hindrance(model: FaultModel, tmp_path: Path) -> None:
    """Tests that a file in the place of the folder only costs time."""
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    assert np.isfinite(values(model, blocked)[0]).all()


def test_without_readings_nothing_is_predicted(model: FaultModel) -> None:
    """Tests that a model without readings, or without a machine, stays as it is."""
    bare = replace(model, checks=tuple(replace(c, reading=None) for c in model.checks))
    assert with_predictions(bare) is bare
    assert with_predictions(replace(model, machine=None)).predicting is None


def test_an_unknown_quantity_is_told(model: FaultModel) -> None:
    """Tests that a reading that nothing can predict is refused by name."""
    reading = next(c.reading for c in model.checks if c.reading is not None)
    odd = replace(model.checks[0], reading=replace(reading, quantity="coil_ohm"))
    with pytest.raises(UnknownNameError, match="coil_ohm"):
        with_predictions(replace(model, checks=(odd, *model.checks[1:])))


def test_shares_of_moves_are_settled_once(model: FaultModel) -> None:
    """Tests that a move in half of the machines moves half of them, the same ones every time."""
    machine = model.machine
    assert machine is not None
    moves = [n for n, move in enumerate(machine.moves) if move.share == 0.5]
    assert moves
    settled = drawn(machine, 256)
    assert settled.inside[moves[0]].mean() == pytest.approx(0.5, abs=0.02)
    predicted = Predicted(machine, QUANTITIES, 256, settled)
    cause = machine.moves[moves[0]].cause
    names = [
        n
        for n in QUANTITIES
        if machine.parameters[machine.moves[moves[0]].parameter] in QUANTITIES[n].needs
    ]
    name = next(n for n in names if n.endswith("ohms"))
    place = predicted.touching(name).tolist().index(cause)
    sound, broken = predicted.values(name, [SOUND, (1 << place,)])[0]
    np.testing.assert_array_equal(sound != broken, settled.inside[moves[0]])
