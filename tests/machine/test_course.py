"""Tests of the course of one cycle and of its drawing."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest

from made_machines import machine_of, played, putting, sound
from tubside.machine.chart import Caption, cycle_svg
from tubside.machine.course import Course, course
from tubside.machine.draws import Values
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.panel.reading import read_panel
from tubside.panel.schema import Panel

FAMILIES = ("top_load", "front_load")
SVG = "{http://www.w3.org/2000/svg}"


def course_of(family: str, values: Values) -> Course:
    """The course of the first machine."""
    cycle, found = played(family, values)
    return course(cycle, machine_of(family).controller, found)


@pytest.fixture(scope="module")
def tern() -> Panel:
    """The panel of the Tern."""
    conditions = load_pack(pack_folder("top_load")).pack.conditions
    return read_panel(pack_folder("top_load") / "models" / "aldermoor-tern.yaml", conditions)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_whole_cycle_has_its_parts_in_order(family: str) -> None:
    """Tests that the parts follow one another without a gap, and nothing stops."""
    drawn = course_of(family, sound(family))
    parts = [band.part for band in drawn.bands]
    assert parts[-3:] == ["rinse", "rinse drain", "last spin"]
    assert ("heat" in parts) == (family == "front_load")
    for before, after in zip(drawn.bands, drawn.bands[1:], strict=False):
        assert before.end == pytest.approx(after.start)
    assert drawn.stopped is None
    assert (np.diff(drawn.time) >= 0.0).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_curves_agree_with_the_cycle(family: str) -> None:
    """Tests level, temperature and speed of the course against the cycle's own numbers."""
    values = sound(family)
    cycle, _ = played(family, values)
    drawn = course_of(family, values)
    wash = next(band for band in drawn.bands if band.part == "wash")
    assert np.interp(wash.start, drawn.time, drawn.level) == pytest.approx(
        cycle.fill.level[0], abs=1e-6
    )
    warm = drawn.temperature[(drawn.time > wash.start) & (drawn.time < wash.end)]
    assert warm == pytest.approx(cycle.washed.temperature[0], abs=1e-6)
    assert drawn.speed.max() == pytest.approx(values["spin_speed"][0])
    assert np.nanmax(drawn.swing) == pytest.approx(cycle.spun.swing[0], rel=0.2)


@pytest.mark.parametrize(
    ("moved", "part"),
    [
        ({"lock_works": 0.0}, "lock"),
        ({"cold_tap_open": 0.0, "hot_tap_open": 0.0}, "fill"),
        ({"agitation_torque": 0.5}, "wash"),
        ({"pump_strength": 0.0}, "drain"),
        ({"load_offset": 4.0}, "first spin"),
    ],
)
def test_the_course_ends_where_it_stops(moved: dict[str, float], part: str) -> None:
    """Tests that nothing is drawn beyond the part in which the cycle stopped."""
    drawn = course_of("top_load", putting(sound("top_load"), **moved))
    assert drawn.bands[-1].part == part
    assert drawn.stopped == pytest.approx(drawn.time[-1])
    assert drawn.bands[-1].end == pytest.approx(drawn.time[-1])


def test_shaking_cuts_the_spin_short() -> None:
    """Tests that a spin stopped for shaking ends as the tub swings too far, not at its time."""
    drawn = course_of("top_load", putting(sound("top_load"), load_offset=4.0))
    limit = machine_of("top_load").controller["swing_limit"]
    assert drawn.swing[-1] > limit
    assert (drawn.swing[:-1] <= limit).all()
    assert drawn.bands[-1].end - drawn.bands[-1].start < 60.0


@pytest.mark.parametrize("shown", [None, "six"])
def test_the_drawing_stands_alone(tern: Panel, shown: str | None) -> None:
    """Tests that the SVG is well-formed, tells itself in words and needs nothing from outside."""
    drawn = course_of("top_load", putting(sound("top_load"), pump_strength=0.0))
    caption = Caption("Tern & <Co>", "pump failed", "stopped in the drain", {"level": 36.0})
    svg = cycle_svg(drawn, caption, tern, shown)
    root = ET.fromstring(svg)  # noqa: S314  # our own text
    assert root.find(f"{SVG}title").text == "Tern & <Co>: stopped in the drain"  # type: ignore[union-attr]  # there is one
    said = root.find(f"{SVG}desc").text  # type: ignore[union-attr]  # there is one
    assert "drain 8.0 min" in str(said)
    assert 'style="' not in svg
    assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")
    assert "nan" not in svg
    words = [element.text for element in root.iter(f"{SVG}text")]
    assert {"level", "water", "speed", "swing", "torque", "fill", "wash", "drain"} <= set(words)


def test_a_machine_that_never_starts_can_be_drawn() -> None:
    """Tests the drawing of a cycle that stops before anything ran, with no panel."""
    drawn = course_of("front_load", putting(sound("front_load"), controller_runs=0.0))
    svg = cycle_svg(drawn, Caption("Wren", "dead", "stopped", {}), None, None)
    assert drawn.bands[-1].part == "power"
    assert ET.fromstring(svg).tag == f"{SVG}svg"  # noqa: S314  # our own text
