"""Tests of one cycle of a model, told and drawn."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest

from tubside.errors import UnknownNameError
from tubside.machine.cycle import Cycle
from tubside.panel.schema import SheetValue
from tubside.service.knowledge import Knowledge, knowledge_of_model, model_named
from tubside.service.shop_models import ShopModels
from tubside.service.simulate import as_data, drawing, ending, shown_for, simulate, told


@pytest.fixture(scope="module")
def tern() -> Knowledge:
    """What is known of the Tern."""
    return knowledge_of_model("aldermoor-tern")


@pytest.mark.parametrize("name", ["Tern", "tern", "aldermoor-tern", "Aldermoor Tern"])
def test_a_model_is_found_by_what_people_call_it(name: str) -> None:
    """Tests that id, name and a word of it name the same model."""
    assert model_named(name) == "aldermoor-tern"


@pytest.mark.parametrize("name", ["Robin", "", "tern wren"])
def test_an_unknown_model_is_told(name: str) -> None:
    """Tests that a name of no model, or of two at once, is refused."""
    with pytest.raises(UnknownNameError, match="there is no model"):
        model_named(name)


def test_nothing_wrong_ends_well(tern: Knowledge) -> None:
    """Tests that the middle Tern with no cause inside ends its cycle and shows nothing."""
    played = simulate(tern, ())
    assert (played.condition, played.part, played.indication) == (None, None, None)
    assert played.symptoms == ()
    assert ending(played) == "the cycle ended well"


def test_a_dead_pump_stops_the_drain_and_the_panel_says_so(tern: Knowledge) -> None:
    """Tests cause, condition, part and indication of one fault from end to end."""
    played = simulate(tern, ["pump-failed"])
    assert (played.condition, played.part) == ("wont_drain", "drain")
    assert played.indication == "six"
    lines = told(played)
    assert any("stopped in the drain" in line for line in lines)
    assert any("6 blinks" in line for line in lines)


def test_the_sheet_is_played_and_told(tern: Knowledge, tmp_path: Path) -> None:
    """Tests that a time-out of the model's sheet stops the cycle, and is named with its page."""
    assert tern.panel is not None
    value = SheetValue(value="3 min", known_from="sheet", page="12")
    spin = SheetValue(value="900 rpm", known_from="plate")
    own = msgspec.structs.replace(
        tern.panel,
        model="own-one",
        machine={},
        sheet={"fill_timeout": value, "spin_speed": spin},
    )
    ShopModels(tmp_path).keep(own)
    played = simulate(knowledge_of_model("own-one", shop=tmp_path), ())
    assert played.condition == "no_water"
    assert played.part == "fill"
    words = [
        "longest time for one fill 3 min from your service sheet, p. 12",
        "spin speed 900 rpm from the type plate",
    ]
    assert sorted(as_data(played)["sheet"]) == sorted(words)  # type: ignore[call-overload]  # a list of texts
    assert {f"reckoned with {it}" for it in words} <= set(told(played))
    assert all(it in drawing(played) for it in words)


def test_each_condition_that_stops_a_tern_has_its_light(tern: Knowledge) -> None:
    """Tests that no stopping condition of the pack is without an indication on this panel."""
    assert tern.panel is not None
    for at, name in enumerate(tern.model.names.conditions):
        if tern.model.complaint.stopping[at]:
            assert shown_for(tern.panel, name) is not None, name


def test_a_seed_draws_another_machine(tern: Knowledge) -> None:
    """Tests that a seed is kept to, and that machines differ."""
    first, again, other = (as_data(simulate(tern, (), seed)) for seed in (3, 3, 4))
    assert first == again
    assert first["fill_s"] != other["fill_s"]


def test_the_model_as_built_is_played() -> None:
    """Tests that a model's own values override the family's."""
    wren = knowledge_of_model("brackwater-wren")
    assert wren.panel is not None
    assert wren.panel.machine, "the Wren says where it differs"
    played = simulate(wren, ())
    assert wren.model.machine is not None
    at = wren.model.machine.parameters.index("spin_speed")
    assert isinstance(played.cycle, Cycle)
    assert played.cycle.spun.speed[0] == pytest.approx(wren.model.machine.middle[at])


def test_plain_data_can_be_written(tern: Knowledge) -> None:
    """Tests that the data is JSON and names units."""
    data = msgspec.json.decode(msgspec.json.encode(as_data(simulate(tern, ["siphoning"]))))
    assert data["causes"] == ["siphoning"]
    assert data["stopped_by"] == "no_water"
    assert data["parts"][0]["part"] == "fill"


def test_the_drawing_names_model_and_fault(tern: Knowledge) -> None:
    """Tests that model, fault and ending stand in the picture."""
    svg = drawing(simulate(tern, ["pump-failed"]))
    assert "Aldermoor Tern" in svg
    assert "drain pump failed" in svg
    assert "stopped in the drain" in svg


def test_a_cause_that_moves_nothing_is_told(tern: Knowledge) -> None:
    """Tests that unknown causes, and causes that no cycle can show, are refused in words."""
    with pytest.raises(UnknownNameError, match="pump-failed"):
        simulate(tern, ["pump-faild"])
    still = [c for c in tern.pack.causes if not tern.pack.causes[c].moves]
    with pytest.raises(UnknownNameError, match="changes nothing that a cycle can show"):
        simulate(tern, still[:1])


def test_a_dishwasher_is_told_without_a_drum() -> None:
    """Tests that no spin, swing or torque is told or drawn of a family that has none."""
    known = knowledge_of_model("dunmere-teal")
    played = simulate(known, ["drain-pump-failed"])
    assert [band.part for band in simulate(known, []).course.bands] == [
        *("fill", "heat", "wash", "drain", "rinse", "rinse drain")
    ]
    assert played.condition == "wont_drain"
    assert played.indication == "right-dark-left-flashing"
    data = as_data(played)
    assert data["spin_rad_s"] is data["swing_m"] is data["drive_margin"] is None
    rows = set(re.findall(r">(level|water|speed|swing|torque)\b[^<]*</text>", drawing(played)))
    assert rows == {"level", "water"}


def test_a_dryer_is_told_by_its_air_and_water() -> None:
    """Tests that a dryer's run is told and drawn by outlet, moisture and heat."""
    known = knowledge_of_model("cindle-lark")
    well, full = simulate(known, []), simulate(known, ["tank-full"])
    assert [band.part for band in well.course.bands] == ["dry", "cool"]
    assert full.condition == "tank_full"
    assert full.indication == "c-held-a-three"
    data = as_data(well)
    assert data["drying_s"] == pytest.approx(well.course.bands[0].end)
    assert data["back_pressure_pa"] == 0.0  # a condenser has no duct
    rows = set(re.findall(r">(outlet|damp|heat|level|swing)\b[^<]*</text>", drawing(well)))
    assert rows == {"outlet", "damp", "heat"}
