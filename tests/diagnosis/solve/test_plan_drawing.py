"""Tests of the rows and the drawing of a plan."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from tubside.diagnosis.solve.drawn import KINDS, draw
from tubside.diagnosis.solve.plan_drawing import figure, percent, plan_svg
from tubside.diagnosis.solve.plan_rows import MOST_ROWS, PlanRow, plan_rows
from tubside.diagnosis.solve.policies import policy_of
from tubside.diagnosis.solve.policies.following import follow, plan_of
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.problem_file import parse_problem
from tubside.diagnosis.solve.solution import Plan

SMALL = parse_problem(
    """{"title": "Won't <drain>", "causes": {"a": 0.7, "b": 0.3},
    "checks": {"look": {"cost": 2, "outcomes": ["bad", "good"],
                        "given": {"a": [0.9, 0.1]}, "otherwise": [0.06, 0.94]}},
    "remedies": {"swap & try": {"cost": 40, "clears": {"a": 1, "b": 0.95}},
                 "clean": {"cost": 9, "clears": {"b": 1}}},
    "stops": {"refer": {"cost": 400}}}"""
)
LARGE = draw(KINDS["good-rough"], 6, 5, 4)


def plan(problem: Problem) -> Plan:
    """Return the plan of the advice."""
    found = plan_of(problem, follow(problem, policy_of("advised", problem)))
    assert found is not None
    return found


def texts(svg: str) -> list[str]:
    """Return the words of each line of a drawing."""
    root = ET.fromstring(svg)  # noqa: S314  # our own
    return [
        " ".join("".join(part.itertext()) for part in node) or (node.text or "")
        for node in root.iter("{http://www.w3.org/2000/svg}text")
    ]


def test_rows_follow_the_plan() -> None:
    """Tests that each row names a step of the plan under the outcome that leads to it."""
    rows = plan_rows(SMALL, plan(SMALL))
    assert [(r.indent, r.above, r.outcome, r.kind, r.name) for r in rows] == [
        (0, -1, "", "check", "look"),
        (1, 0, "bad", "remedy", "swap & try"),
        (1, 1, "still-fails", "remedy", "clean"),
        (1, 0, "good", "remedy", "clean"),
        (1, 3, "still-fails", "remedy", "swap & try"),
    ]
    bad = 0.7 * 0.9 + 0.3 * 0.06
    assert rows[1].reached == rows[1].chance == pytest.approx(bad)
    left = 0.3 * 0.06 * 0.05 / bad
    assert rows[1].works == pytest.approx(1 - left)
    assert rows[2].reached == pytest.approx(bad * left)
    assert rows[0].rest == pytest.approx(2 + bad * rows[1].rest + (1 - bad) * rows[3].rest)


@pytest.mark.parametrize("most", [1, 2, 7, MOST_ROWS, 200])
def test_a_wide_plan_is_folded(most: int) -> None:
    """Tests that the rows keep to their number and count the steps that they leave out."""
    whole = plan(LARGE)
    rows = plan_rows(LARGE, whole, most)
    assert 1 <= len(rows) <= most
    assert sum(bool(r.kind) for r in rows) + sum(r.folded for r in rows) >= steps(whole)
    drawn = [r.reached for r in rows if r.kind and not r.folded]
    folded = [r.reached for r in rows if r.folded]
    if most == 7:
        assert min(drawn, default=1.0) >= min(folded)


def steps(whole: Plan) -> int:
    """Return how many steps a plan spells out."""
    return 1 + sum(steps(b.plan) for b in whole.branches if b.plan is not None)


def test_no_rows_cannot_be_drawn() -> None:
    """Tests that a plan wants one row at least."""
    with pytest.raises(ValueError, match="one at least"):
        plan_rows(SMALL, plan(SMALL), 0)


def test_the_drawing_says_all() -> None:
    """Tests that title, notes, steps, outcomes, chances and costs stand in the drawing."""
    svg = plan_svg(SMALL, plan(SMALL), ["First note.", "Second note."])
    said = texts(svg)
    assert said[:3] == ["Won't <drain>", "First note.", "Second note."]
    assert "Check look" in said
    assert "Remedy swap & try" in said
    assert "bad 65 %" in said
    first = plan_rows(SMALL, plan(SMALL))[0]
    assert f"about {figure(first.rest)} to the end" in said
    assert svg == plan_svg(SMALL, plan(SMALL), ["First note.", "Second note."])


@pytest.mark.parametrize("problem", [SMALL, LARGE], ids=["small", "large"])
def test_the_drawing_stands_alone(problem: Problem) -> None:
    """Tests that nothing is fetched, no script runs, and all lies within the sheet."""
    svg = plan_svg(problem, plan(problem))
    root = ET.fromstring(svg)  # noqa: S314  # our own
    assert re.findall(r"https?://(?!www\.w3\.org/)|url\(|<script|<image|@import", svg) == []
    assert "@media print" in svg
    assert "prefers-color-scheme:dark" in svg
    assert "@tile" not in svg
    height = float(root.attrib["height"])
    for box in root.iter("{http://www.w3.org/2000/svg}rect"):
        assert float(box.attrib["x"]) + float(box.attrib["width"]) <= 820.0
        assert float(box.attrib["y"]) + float(box.attrib["height"]) <= height


def test_a_long_name_is_cut_and_told() -> None:
    """Tests that a name too long for its plate is cut, and whole in the tool tip."""
    name = "take off the front and look whether the belt lies on both wheels " * 3
    check = replace(SMALL.checks[0], name=name)
    svg = plan_svg(replace(SMALL, checks=(check,)), plan(SMALL))
    assert any(line.endswith("…") for line in texts(svg))
    assert f"<title>{name}</title>" in svg


def test_nothing_to_do_is_said() -> None:
    """Tests that without a plan the drawing says that nothing is to be done."""
    assert "Nothing is to be done." in texts(plan_svg(SMALL, None))


def test_the_water_stands_as_high_as_the_chance() -> None:
    """Tests that each tub is filled by the chance beside it."""
    svg = plan_svg(SMALL, plan(SMALL))
    heights = [
        float(box.attrib["height"])
        for box in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}rect")  # noqa: S314  # our own
        if box.attrib["class"] == "tv-water"
    ]
    rows: list[PlanRow] = [r for r in plan_rows(SMALL, plan(SMALL)) if r.outcome]
    assert heights == pytest.approx([14 * r.chance for r in rows], abs=0.01)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "0 %"),
        (1e-5, "under 0.1 %"),
        (0.0044, "0.4 %"),
        (0.0994, "9.9 %"),
        (0.0999, "10 %"),
        (0.5, "50 %"),
        (0.9949, "99 %"),
        (0.99999, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_chances_are_never_rounded_to_certainty(chance: float, words: str) -> None:
    """Tests how a chance is written."""
    assert percent(chance) == words


def test_figures() -> None:
    """Tests that costs have three figures, or whole numbers with commas."""
    assert [figure(c) for c in (0, 1.5, 61.234, 123.4, 12345.6)] == [
        "0", "1.5", "61.2", "123", "12,346",
    ]  # fmt: skip
