"""The drawn panel: well formed, escaped, slow enough, and readable while still."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import UnknownNameError
from tubside.panel.drawing import front_svg, indication_svg, seen_svg
from tubside.panel.lights import FLASHING, OFF, STEADY, Light, blinks
from tubside.panel.matching import Seen
from tubside.panel.palette import DARK, LIGHT, page_rules, standalone_rules
from tubside.panel.rhythm import MOST_FLASHES_PER_S, keys_of, rhythm_of
from tubside.panel.schema import Lamp, Panel
from tubside.panel.wording import in_short

SVG = "{http://www.w3.org/2000/svg}"


def drawn(svg: str) -> ET.Element:
    """Return the drawing as a tree; this fails when it is not well formed."""
    return ET.fromstring(svg)  # noqa: S314 - we wrote it


def every_svg(panel: Panel) -> list[str]:
    """Return all drawings that a panel gives."""
    return [front_svg(panel), seen_svg(panel, Seen())] + [
        indication_svg(panel, name, still=still, alone=alone)
        for name in panel.indications
        for still in (True, False)
        for alone in (True, False)
    ]


def test_all_drawings_are_well_formed(panel: Panel) -> None:
    """Tests that every drawing is an SVG with a title and a description of its own words."""
    for svg in every_svg(panel):
        root = drawn(svg)
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"
        assert root[0].tag == f"{SVG}title"
        assert root[0].text == root.get("aria-label")
        assert root[1].tag == f"{SVG}desc"
        assert root[1].text
        assert len(root.findall(f".//{SVG}g[@data-lamp]")) == len(panel.lamps)


def test_a_drawing_for_a_page_carries_no_style(panel: Panel) -> None:
    """Tests what a strict content policy refuses: styles, scripts, links, ids that clash."""
    for name in panel.indications:
        svg = indication_svg(panel, name, alone=False)
        for refused in ("<style", "style=", "<script", "href", " id=", "onload", "url("):
            assert refused not in svg


def test_nothing_but_the_light_moves(panel: Panel) -> None:
    """Tests that still drawings have no animation and moving ones only that of opacity."""
    for name in panel.indications:
        assert "<animate" not in indication_svg(panel, name, still=True)
        root = drawn(indication_svg(panel, name))
        moving = root.findall(f".//{SVG}animate")
        changing = sum(light.changes for light in panel.lights(name).values())
        assert len(moving) == changing
        assert {animate.get("attributeName") for animate in moving} <= {"opacity"}
        assert len(root.findall(f".//{SVG}g[@class='tp-still']")) == changing


def test_states_are_told_by_shape_and_word(wren: Panel) -> None:
    """Tests that a still picture marks steady, flashing, off and not sure without colour."""
    seen = Seen({"1": STEADY, "5": FLASHING, "2": OFF})
    lamps = {
        group.get("data-lamp"): ET.tostring(group, encoding="unicode")
        for group in drawn(seen_svg(wren, seen)).iter(f"{SVG}g")
        if group.get("data-lamp")
    }
    marks = {"1": "tp-core", "2": "tp-off", "5": "tp-ray", "6": "tp-dotted"}
    for lamp, mark in marks.items():
        assert [name for name, svg in lamps.items() if mark in svg and name in marks] == [lamp]
    for lamp, word in {"1": "steady", "2": "off", "5": "flashing", "6": "not sure"}.items():
        assert f">{word}<" in lamps[lamp]


def test_a_count_is_drawn_as_squares(tern: Panel) -> None:
    """Tests that the strip shows the count, the gap, and the count beginning again."""
    root = drawn(indication_svg(tern, "four", still=True))
    squares = [
        rect
        for rect in root.iter(f"{SVG}rect")
        if rect.get("class") == "tp-count" and float(rect.get("width", "0")) > 10
    ]
    assert len(squares) == 4 + 2
    assert {"4 blinks", "a long gap", "and again"} <= {t.text for t in root.iter(f"{SVG}text")}


CHANGING = st.lists(
    st.sampled_from([OFF, STEADY, FLASHING, *(blinks(n) for n in range(2, 13))]),
    min_size=1,
    max_size=8,
)


@given(lights=CHANGING, period=st.floats(0.02, 5.0), gap=st.floats(0.1, 60.0))
def test_no_more_than_three_flashes_a_second(
    lights: list[Light], period: float, gap: float
) -> None:
    """Tests that all lamps light on one beat, the model's own within the limit, however fast."""
    rhythm = rhythm_of(lights, period, gap)
    trains = {light for light in lights if light.changes}
    assert rhythm.period_s * MOST_FLASHES_PER_S >= 1
    if len(trains) > 1:
        beats = rhythm.gap_s / rhythm.period_s
        assert beats == pytest.approx(round(beats))
    if len(trains) == 1:
        assert rhythm.slowed == (1 / period > MOST_FLASHES_PER_S)
    assert rhythm.true_hz == pytest.approx(1 / period)
    for light in trains:
        keys = keys_of(light, rhythm)
        assert keys.lit.count(True) == max(light.count, 1)
        assert keys.moments[0] == 0
        assert list(keys.moments) == sorted(set(keys.moments))
        assert keys.moments[-1] < 1
        starts = keys.moments[::2]
        steps = [b - a for a, b in pairwise(starts)]
        assert all(step * keys.length_s == pytest.approx(rhythm.period_s) for step in steps)


def hurried(panel: Panel, name: str, period_s: float) -> Panel:
    """Return the panel with one indication that flashes faster."""
    faster = msgspec.structs.replace(panel.indications[name], period_s=period_s)
    return msgspec.structs.replace(panel, indications={name: faster})


def test_a_fast_model_is_drawn_slower_and_says_so(wren: Panel) -> None:
    """Tests that 8 flashes a second become 3 at most, told in words, the true rate as data."""
    fast = hurried(wren, "one-five", 0.125)
    svg = indication_svg(fast, "one-five")
    root = drawn(svg)
    (animate,) = root.findall(f".//{SVG}animate")
    assert float(animate.get("dur", "0s")[:-1]) >= 1 / 3
    assert root.get("data-true-hz") == "8"
    assert "drawn slower than life" in {t.text for t in root.iter(f"{SVG}text")}
    assert "drawn slower than life" in (root[1].text or "")
    assert "drawn slower" not in indication_svg(wren, "one-five")
    assert "drawn slower" not in indication_svg(fast, "one-five", still=True)


NASTY = "<script>&\"']]>\x00"


def test_labels_are_escaped(small: Panel) -> None:
    """Tests that words of a file stay words wherever the drawing shows them."""
    lamps = {
        name: msgspec.structs.replace(lamp, label=f"{NASTY}{name}")
        for name, lamp in small.lamps.items()
    }
    panel = msgspec.structs.replace(small, lamps=lamps, name=NASTY, about=NASTY)
    for svg in every_svg(panel):
        root = drawn(svg)
        assert root.findall(f".//{SVG}script") == []
        assert "<script" not in svg
        assert any(NASTY[:-1] in (t.text or "") for t in root.iter(f"{SVG}text"))


@given(st.text(st.characters(categories=None), min_size=1, max_size=24))
def test_any_label_gives_well_formed_xml(small: Panel, label: str) -> None:
    """Tests that no text whatever, control characters included, breaks the drawing."""
    lamp = msgspec.structs.replace(small.lamps["a"], label=label)
    panel = msgspec.structs.replace(small, lamps={"a": lamp}, name=label)
    drawn(indication_svg(panel, "drain"))


def test_an_unknown_indication_names_those_there_are(small: Panel) -> None:
    """Tests that the error lists the panel's indications."""
    with pytest.raises(UnknownNameError, match="it has dark, fill, drain, drain-again"):
        indication_svg(small, "spin")


def test_rules_cover_every_class_both_ways(panel: Panel) -> None:
    """Tests that each class drawn has its rule, on pages by token and alone by colour."""
    used = {
        css
        for svg in every_svg(panel)
        for found in re.findall(r'class="([^"]+)"', svg)
        for css in found.split()
    } - {"tp-panel", "tp-lamp"}
    for rules in (page_rules(), standalone_rules()):
        assert {css for css in used if f".{css}" not in rules} == set()
        assert "prefers-reduced-motion" in rules
        assert rules.count("{") == rules.count("}")
    assert "var(--lamp)" in page_rules()
    assert "#" not in page_rules()
    assert LIGHT["lamp"] in standalone_rules()
    assert DARK["lamp"] in standalone_rules()


def test_amber_is_lamp_light_only() -> None:
    """Tests that the lamp's colours are used by the classes of lit lamps alone."""
    amber = {selector for selector in page_rules().split("}") if "var(--lamp)" in selector}
    assert {selector.split("{")[0] for selector in amber} == {".tp-on,.tp-half", ".tp-ray"}


def test_a_count_beside_a_number_is_told_apart(small: Panel) -> None:
    """Tests that lamp 3 blinking three times does not read as one number too many."""
    lamps = {"a": Lamp(label="3", x=60, y=60, size=12), "b": Lamp(label="4", x=90, y=60, size=12)}
    panel = msgspec.structs.replace(small, lamps=lamps)
    assert in_short(panel, {"a": blinks(3), "b": STEADY}) == "lamp 3: 3 blinks, 4 steady"
