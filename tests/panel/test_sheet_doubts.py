"""Odd values are questioned, ordinary ones are not, and impossible ones are refused."""

from __future__ import annotations

import pytest

from tubside.errors import QuantityError
from tubside.pack.fault_model import Machine
from tubside.pack.home import packs_folder
from tubside.pack.loading import load_pack
from tubside.panel.sheet_doubts import sheet_doubts, usual
from tubside.panel.sheet_names import OF_A_DRUM, SHEET
from tubside.panel.sheet_values import kept_text


@pytest.fixture(scope="module", params=["front_load", "top_load", "dishwasher", "dryer"])
def machine(request: pytest.FixtureRequest) -> Machine:
    """The machine of each family."""
    found = load_pack(packs_folder() / request.param).model.machine
    assert found is not None
    return found


@pytest.fixture(scope="module")
def front() -> Machine:
    """The machine of the front-loaders."""
    found = load_pack(packs_folder() / "front_load").model.machine
    assert found is not None
    return found


def test_the_family_s_own_values_are_ordinary(machine: Machine) -> None:
    """Tests that no value that the pack itself has is questioned."""
    for name, of in SHEET.items():
        known = usual(name, machine)
        if known is None or of.unit in {"class", "kg*m**2"} or of.ordinary is not None:
            continue
        assert sheet_doubts(name, f"{known.middle:.6g} {of.unit}", machine) is None, name


@pytest.mark.parametrize(
    ("name", "written", "words", "offered"),
    [
        ("valve_coil_resistance", "12 kΩ", "do you mean 1.2 kΩ?", ["12 kΩ", "1.2 kΩ"]),
        ("valve_coil_resistance", "38", "do you mean 3.8 kΩ?", ["38 kΩ", "3.8 kΩ"]),
        ("valve_coil_resistance", "3.8 Ω", "cannot be: do you mean 3.8 kΩ?", ["3.8 kΩ"]),
        ("heater_resistance", "26 kΩ", "cannot be: do you mean 26 Ω?", ["26 Ω"]),
        ("fill_timeout", "8 s", "8 s or 8 min?", ["8 s", "8 min"]),
        ("capacitance", "16 nF", "16 nF or 16 µF?", ["16 nF", "16 µF"]),
        ("basket_radius", "24 mm", "cannot be: do you mean 24 cm", ["24 cm", "240 mm"]),
        ("rated_voltage", "23 V", "do you mean 230 V?", ["23 V", "230 V"]),
        ("winding_resistance", "15 Ω", "do you mean 1.5 Ω?", ["15 Ω", "1.5 Ω"]),
    ],
)
def test_slips_are_found(
    front: Machine, name: str, written: str, words: str, offered: list[str]
) -> None:
    """Tests the unit and the decimal point, with what was written first where it can be."""
    question = sheet_doubts(name, written, front)
    assert question is not None
    assert words in question.text
    assert [choice.text for choice in question.alternatives] == offered
    assert [kept_text(name, text) for text in offered] == offered


def test_odd_without_a_slip(front: Machine) -> None:
    """Tests that what no slip explains is asked about too, and may be kept."""
    question = sheet_doubts("tub_area", "0.2 m²", front)
    assert question is not None
    assert "this family has about 0.09 m²: is it right?" in question.text
    assert [choice.text for choice in question.alternatives] == ["0.2 m²"]
    plate = sheet_doubts("rated_frequency", "20 Hz", None)
    assert plate is not None
    assert "household machines have 49.0 to 61.0 Hz: is it right?" in plate.text


def test_what_cannot_be_is_refused(front: Machine) -> None:
    """Tests that no answer is offered where none is right."""
    with pytest.raises(QuantityError, match="cannot be"):
        sheet_doubts("basket_radius", "60 cm", front)
    with pytest.raises(QuantityError, match="is a voltage"):
        sheet_doubts("valve_coil_resistance", "12 V", front)


def test_what_only_a_drum_has() -> None:
    """Tests that the names of a drum are names of the sheet."""
    assert set(SHEET) > OF_A_DRUM
