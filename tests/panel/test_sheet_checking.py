"""A sheet that contradicts itself, and fits that cannot be, are refused with a mend."""

from __future__ import annotations

import msgspec
import pytest

from tubside.panel.checking import PackNames, problems
from tubside.panel.schema import Fit, Panel, Plate, SheetValue
from tubside.panel.sheet_checking import sheet_problems


def with_sheet(small: Panel, **values: str) -> Panel:
    """The small panel with these values of the type plate."""
    sheet = {name: SheetValue(value=text, known_from="plate") for name, text in values.items()}
    return msgspec.structs.replace(small, sheet=sheet)


def found(panel: Panel, parts: list[str] | None = None) -> list[str]:
    """What is wrong with its sheet and fits."""
    return [f"{wrong.what}; {wrong.mend}" for wrong in sheet_problems(panel, parts)]


def test_a_sound_plate_is_taken(small: Panel, conditions: list[str]) -> None:
    """Tests a plate whose values go together, by all checks of the panel."""
    panel = with_sheet(
        small,
        rated_voltage="220-240 V",
        rated_power="2200 W",
        rated_current="10 A",
        heater_power="2 kW",
        heater_resistance="26 Ω",
        protection_class="I",
        empty_level="2 cm",
        level_target="20 cm",
    )
    names = PackNames(conditions)
    assert list(problems(panel, names)) == list(problems(small, names)) == []


CONTRADICTIONS: tuple[tuple[dict[str, str], str], ...] = (
    (
        {"rated_voltage": "230 V", "heater_power": "1 kW", "heater_resistance": "26 Ω"},
        "takes 2035 W at 230 V, and the power of the heater is 1000 W; 1000 W would be 52.9 Ω",
    ),
    (
        {"rated_voltage": "230 V", "rated_power": "1200 W", "heater_resistance": "26 Ω"},
        "more than the rated power 1200 W; it must have 44.1 Ω or more",
    ),
    (
        {"rated_voltage": "230 V", "rated_power": "2200 W", "rated_current": "5 A"},
        "these give 1150 W at most",
    ),
    ({"rated_power": "500 W", "running_power": "900 W"}, "more than the rated power 500 W"),
    ({"rated_power": "500 W", "heater_power": "900 W"}, "more than the rated power 500 W"),
    ({"empty_level": "12 cm", "level_target": "9 cm"}, "is not below"),
    ({"level_target": "17 cm", "overflow_level": "16 cm"}, "is not below"),
    ({"empty_level": "17 cm", "overflow_level": "16 cm"}, "is not below"),
)


@pytest.mark.parametrize(("values", "words"), CONTRADICTIONS)
def test_contradictions(small: Panel, values: dict[str, str], words: str) -> None:
    """Tests that two values that cannot both be are refused, and the mend is told."""
    (only,) = found(with_sheet(small, **values))
    assert words in only


def test_a_capacity_told_twice(small: Panel) -> None:
    """Tests the sheet against the plate of the drawing."""
    panel = msgspec.structs.replace(with_sheet(small, rated_load="8 kg"), plate=Plate(load_kg=7))
    assert "8 kg here and 7 kg" in found(panel)[0]


def test_one_place_for_a_value(small: Panel) -> None:
    """Tests a name that stands both on the sheet and among the model's own numbers."""
    panel = with_sheet(small, spin_speed="1400 rpm")
    panel = msgspec.structs.replace(panel, machine={"spin_speed": "1200 rpm"})
    assert "remove it from 'machine'" in found(panel)[0]


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("valve_coil", {"value": "3.8 kΩ"}, "unknown value 'valve_coil'"),
        ("valve_coil_resistance", {"value": "380 kΩ"}, "cannot be"),
        ("valve_coil_resistance", {"value": "3.8 kΩ", "tolerance": "many"}, "not understood"),
        ("valve_coil_resistance", {"value": "3.8 kΩ", "note": "a\x07"}, "cannot be printed"),
        ("valve_coil_resistance", {"value": "3.8 kΩ", "page": "a\nb"}, "cannot be printed"),
    ],
)
def test_values_refused(small: Panel, name: str, value: dict[str, str], words: str) -> None:
    """Tests names and values from a file that was changed by hand, or with bad intent."""
    known = SheetValue(known_from="sheet", **value)
    panel = msgspec.structs.replace(small, sheet={name: known})
    assert any(words in wrong for wrong in found(panel))


def fit(**more: str) -> Fit:
    """A fit of a drain pump."""
    given = {"part": "drain-pump", "article": "P1", "known_from": "sheet", **more}
    return Fit(**given)  # type: ignore[arg-type]  # literals as text


@pytest.mark.parametrize(
    ("fits", "words"),
    [
        ([fit(part="drain-pumpe")], "no part kind 'drain-pumpe'; did you mean"),
        ([fit(serial_from="A9", serial_to="A1")], "runs backwards"),
        ([fit(serial_from="A9", serial_to="19")], "cannot be compared"),
        ([fit(), fit()], "told twice"),
        ([fit(superseded_by="P1")], "in a circle: P1 > P1"),
        ([fit(superseded_by="P2"), fit(article="P2", superseded_by="P1")], "P1 > P2 > P1"),
        ([fit(article=" ")], "is blank"),
        ([fit(article="P\x00")], "cannot be printed"),
    ],
)
def test_fits_refused(small: Panel, fits: list[Fit], words: str) -> None:
    """Tests parts, ranges and chains that cannot be."""
    panel = msgspec.structs.replace(small, fits=fits)
    assert any(words in wrong for wrong in found(panel, ["drain-pump", "belt"]))
