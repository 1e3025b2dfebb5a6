"""The drawn front to be tapped, and its part with the lamps."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from tubside.errors import UnknownNameError
from tubside.panel.close_up import close_up_svg, nearest_lamps
from tubside.panel.extent import Extent
from tubside.panel.schema import Panel
from tubside.service.library import Library
from tubside.web.pages.tap_drawing import DRAWN_PX, FINGER_PX, states_of, tap_box, tap_drawing

LIBRARY = Library()


@pytest.fixture(params=LIBRARY.models())
def panel(request: pytest.FixtureRequest) -> Panel:
    """Each shipped panel."""
    found = LIBRARY.model(request.param).panel
    assert found is not None
    return found


def inside(inner: Extent, outer: Extent) -> bool:
    """Whether one extent lies in another."""
    starts = inner[0] >= outer[0] and inner[1] >= outer[1]
    return starts and inner[2] <= outer[2] and inner[3] <= outer[3]


def test_lamps_stand_a_finger_apart_on_a_phone(panel: Panel) -> None:
    """Tests that on shipped panels the drawn lamps themselves can be tapped."""
    box = tap_box(panel)
    assert nearest_lamps(panel) * DRAWN_PX / (box[2] - box[0]) >= FINGER_PX - 2


def test_each_lamp_shows_one_state_and_holds_the_others(panel: Panel) -> None:
    """Tests that exactly the told state is displayed, and every other is there."""
    states = dict.fromkeys(panel.lamps, "not sure") | {next(iter(panel.lamps)): "flashing"}
    root = ET.fromstring(str(tap_drawing(panel, states)))  # noqa: S314 - we wrote it
    for lamp, state in states.items():
        drawn = root.findall(f"./g[@data-lamp='{lamp}']/g")
        assert [g.get("data-is") for g in drawn] == list(states_of(panel))
        assert [g.get("data-is") for g in drawn if g.get("display") != "none"] == [state]


def test_each_lamp_has_a_button_of_the_form(panel: Panel) -> None:
    """Tests that a tap on the drawing works without a script, and tabs past it."""
    root = ET.fromstring(  # noqa: S314 - we wrote it
        str(tap_drawing(panel, dict.fromkeys(panel.lamps, "off")))
    )
    buttons = root.findall("./foreignObject/button")
    assert [b.get("value") for b in buttons] == list(panel.lamps)
    assert {b.get("name") for b in buttons} == {"tap"}
    assert {b.get("tabindex") for b in buttons} == {"-1"}
    assert root.get("aria-hidden") == "true"


def test_nothing_inline_in_the_drawings(panel: Panel) -> None:
    """Tests what a strict content policy refuses."""
    drawings = [str(tap_drawing(panel, dict.fromkeys(panel.lamps, "off")))]
    drawings += [close_up_svg(panel, name) for name in panel.indications]
    for drawing in drawings:
        for refused in ("<style", "style=", "<script", "href", "url("):
            assert refused not in drawing


def test_a_close_up_holds_every_lamp(panel: Panel) -> None:
    """Tests that the small pictures cut off no lamp and are told in words."""
    for name in panel.indications:
        root = ET.fromstring(close_up_svg(panel, name))  # noqa: S314 - we wrote it
        x, y, width, height = map(float, (root.get("viewBox") or "").split())
        assert root.get("aria-label")
        for lamp in panel.lamps.values():
            reach = (lamp.x - 1, lamp.y - 1, lamp.x + 1, lamp.y + 1)
            assert inside(reach, (x, y, x + width, y + height))


def test_an_unknown_indication_is_told(panel: Panel) -> None:
    """Tests that a close-up of nothing is refused by name."""
    with pytest.raises(UnknownNameError, match="no indication nothing-such"):
        close_up_svg(panel, "nothing-such")
