"""Tests of the drawn map."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.day.map_drawing import NARROW, RADIUS, WIDE, Dot, Line, letter, map_svg
from tubside.day.map_look import LIGHT, map_rules
from tubside.day.map_place import Crowd, apart, name_boxes, points
from tubside.day.problem import Place
from tubside.errors import DayError

FRAME = WIDE.frame
SVG = "{http://www.w3.org/2000/svg}"
HOME = Place(52.0, 0.0)


def drawn(count: int, vans: int = 1) -> str:
    """Return a map of rounds with so many stops each."""
    lines = [
        Line(
            f"van {k + 1}",
            HOME,
            HOME,
            tuple(Dot(Place(52 + 0.01 * i, 0.02 * k), f"stop {i} <&> é") for i in range(count)),
        )
        for k in range(vans)
    ]
    return map_svg(lines)


def test_everything_is_on_the_map() -> None:
    """Tests that each stop has its letter and number, its name, and that the picture is told."""
    root = ET.fromstring(drawn(4, 2))  # noqa: S314 - our own drawing
    said = [found.text for found in root.iter(f"{SVG}text")]
    for label in ("A1", "A4", "B1", "B4", "stop 3 <&> é", "van 1: 4 visits", "N"):
        assert label in said
    assert root.attrib["role"] == "img"
    assert "A, van 1: stop 0 <&> é, then stop 1" in root.attrib["aria-label"]


def test_technicians_differ_without_colour() -> None:
    """Tests that six technicians have six shapes and dashes, whatever the colours."""
    root = ET.fromstring(drawn(2, 6))  # noqa: S314 - our own drawing
    lines = [found.get("class", "") for found in root.iter(f"{SVG}path")]
    assert len({css.split()[-1] for css in lines if css.startswith("tm-line")}) == 6
    marks = [
        found for found in root.iter() if found.get("class") == "tm-mark" and found.tag != "rect"
    ]
    assert len({found.get("d", "").count("L") for found in marks}) == 6


def test_many_stops_have_no_names() -> None:
    """Tests that a crowded map shows marks alone."""
    assert "stop 1 " in drawn(15, 2).split("</desc>")[1]
    crowded = drawn(16, 2).split("</desc>")[1]
    assert "stop 1 " not in crowded
    assert ">B16<" in crowded


def test_narrow() -> None:
    """Tests that a narrow map keeps inside its width, and the size of type."""
    line = Line(
        "van", HOME, HOME, tuple(Dot(Place(52.0, 0.1 * k), "a long name") for k in range(9))
    )
    root = ET.fromstring(map_svg([line], NARROW))  # noqa: S314 - our own drawing
    assert root.attrib["viewBox"].startswith("0 0 390 ")
    for found in root.iter(f"{SVG}text"):
        assert 0.0 <= float(found.attrib["x"]) <= 390.0
    wide = ET.fromstring(map_svg([line]))  # noqa: S314 - our own drawing
    sizes = [[found.get("font-size") for found in one.iter(f"{SVG}text")] for one in (root, wide)]
    assert sizes[0] == sizes[1]


def test_nobody_to_draw() -> None:
    """Tests that a day without places is refused, and one place alone is drawn."""
    with pytest.raises(DayError, match="nowhere to draw"):
        map_svg([])
    assert "no visits" in map_svg([Line("van", HOME, HOME, ())])
    assert "NaN" not in map_svg([Line("van", HOME, HOME, (Dot(HOME, "x"), Dot(HOME, "y")))])


def test_in_a_page() -> None:
    """Tests that inside a page no style is carried, and that the page's colours are taken."""
    line = Line("van", HOME, HOME, (Dot(Place(52.1, 0.1), "x"),))
    assert "<style>" not in map_svg([line], alone=False)
    assert "style=" not in map_svg([line])
    assert ".tm-paper{fill:var(--x)}" in map_rules(dict.fromkeys(LIGHT, "var(--x)"))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(-80, 80), st.floats(-170, 170)), min_size=1, max_size=20))
def test_points_stay_in_the_frame(where: list[tuple[float, float]]) -> None:
    """Tests that all places are inside, before and after marks are moved apart."""
    spots = points([Place(lat, lon) for lat, lon in where], FRAME)
    low, high = np.full(2, FRAME.margin), np.array([FRAME.width, FRAME.height]) - FRAME.margin
    for found in (spots, apart(spots, 2 * RADIUS, FRAME)):
        assert (found >= low - 1e-6).all()
        assert (found <= high + 1e-6).all()


def test_north_is_up_and_east_is_right() -> None:
    """Tests the direction of both axes, and that a kilometre is as long either way."""
    spots = points([HOME, Place(52.01, 0.0), Place(52.0, 0.01)], FRAME)
    assert spots[1, 1] < spots[0, 1]
    assert spots[2, 0] > spots[0, 0]
    ratio = (spots[2, 0] - spots[0, 0]) / (spots[0, 1] - spots[1, 1])
    assert ratio == pytest.approx(np.cos(np.radians(52.005)), rel=1e-6)


def test_marks_and_names_do_not_cover_each_other() -> None:
    """Tests a dozen stops at one spot: marks part, and names overlap nowhere."""
    spots = apart(np.full((12, 2), 300.0), 34.0, FRAME)
    far = [np.hypot(*(a - b)) for a, b in combinations(spots, 2)]
    assert min(far) > 30.0
    wide = np.array([[120.0 + 240 * (k % 3), 80.0 + 100 * (k // 3)] for k in range(12)])
    boxes = name_boxes(wide, [90.0] * 12, 14.0, Crowd(wide, 17.0, np.empty((0, 2))), FRAME)
    for one, other in combinations(boxes, 2):
        apart_now = one[2] <= other[0] or other[2] <= one[0]
        assert apart_now or one[3] <= other[1] or other[3] <= one[1]


def test_letters() -> None:
    """Tests that letters go on after Z."""
    assert [letter(k) for k in (0, 25, 26, 27, 51, 52)] == ["A", "Z", "AA", "AB", "AZ", "BA"]
