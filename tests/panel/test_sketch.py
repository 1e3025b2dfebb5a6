"""From what was tapped and told to a panel that passes its checks."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import ModelError
from tubside.panel.checking import PackNames, problems
from tubside.panel.sketch import (
    Sketch,
    SketchIndication,
    SketchLamp,
    id_of,
    panel_of,
    without_lamp,
)

DARK = SketchIndication(lamps={}, conditions=["no_power"])
NAMES = PackNames(["no_power", "no_water", "wont_drain"], None, "top_load")


def sketch_of(*places: tuple[float, float], shape: float = 3.0) -> Sketch:
    """A sketch with round lamps numbered from 1."""
    lamps = tuple(SketchLamp(label=f"{n + 1}", x=x, y=y) for n, (x, y) in enumerate(places))
    return Sketch(name="Shop One", family="top_load", lamps=lamps, indications=(DARK,), shape=shape)


@given(st.text(max_size=80), st.lists(st.text("ab-", max_size=4), max_size=4))
def test_ids_are_ids_and_free(words: str, taken: list[str]) -> None:
    """Tests that any words give an id of small letters that nobody else has."""
    name = id_of(words, taken)
    assert name not in taken
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert not name.startswith("-")
    assert not name.endswith("-")


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(0, 8), st.integers(0, 4)), min_size=1, max_size=8, unique=True),
    st.floats(0.5, 8),
)
def test_lamps_apart_make_a_good_panel(cells: list[tuple[int, int]], shape: float) -> None:
    """Tests that lamps on any cells of a grid lie within the front and on no other."""
    rows = 4 if shape < 3 else 1
    places = {(x / 8, min(y, rows) / rows) for x, y in cells}
    panel = panel_of(sketch_of(*sorted(places), shape=shape))
    assert list(problems(panel, NAMES)) == []


def test_what_it_shows(panel_text_of_lamps: Sketch) -> None:
    """Tests lights, times, sources and sounds of the indications."""
    panel = panel_of(panel_text_of_lamps)
    assert list(panel.indications) == ["dark", "1-flashing", "1-steady-2-3-blinks"]
    counted = panel.indications["1-steady-2-3-blinks"]
    assert (counted.period_s, counted.gap_s) == (1.0, 3.0)
    assert panel.indications["1-flashing"].gap_s is None
    assert panel.indications["dark"].period_s is None
    assert panel.sources[counted.source].kind == "published"
    assert panel.sources[counted.source].text == "Sheet 4, page 7"
    assert counted.sure == "likely"
    assert list(panel.sounds) == ["pulses"]
    assert list(problems(panel, NAMES)) == []


@pytest.fixture
def panel_text_of_lamps() -> Sketch:
    """Two lamps that show three things."""
    return Sketch(
        name="Shop One",
        family="top_load",
        lamps=sketch_of((0.2, 0.5), (0.8, 0.5)).lamps,
        indications=(
            DARK,
            SketchIndication(lamps={"0": "flashing"}, conditions=["no_water"], sound="pulses"),
            SketchIndication(
                lamps={"0": "steady", "1": "3 blinks"},
                conditions=["wont_drain"],
                sure="likely",
                known_from="published",
                source="Sheet 4, page 7",
            ),
        ),
    )


def test_a_lamp_taken_away(panel_text_of_lamps: Sketch) -> None:
    """Tests that the others keep their lights under their new places."""
    left = without_lamp(panel_text_of_lamps, 0)
    assert [lamp.label for lamp in left.lamps] == ["2"]
    assert [shown.lamps for shown in left.indications] == [{}, {}, {"0": "3 blinks"}]
    assert without_lamp(panel_text_of_lamps, 9) == panel_text_of_lamps


@pytest.mark.parametrize("sketch", [Sketch(name="a", family="top_load"), sketch_of()])
def test_an_empty_one_is_no_panel(sketch: Sketch) -> None:
    """Tests that a panel without lamps or indications is refused in words."""
    with pytest.raises(ModelError, match="no lamps yet"):
        panel_of(sketch)
