"""The drawing of a trial keeps every dot beside its name, below zero too."""

from __future__ import annotations

import re

import pytest

from tubside.trial.drawing import LEFT, RIGHT, WIDTH, Part, drawn
from tubside.trial.measuring import Mean, Row

NONE = Mean(0.0, 0.0, 40)


def row(policy: str, excess: Mean) -> Row:
    """A row of which only the excess is drawn."""
    return Row(
        policy,
        cost=NONE,
        excess=excess,
        minutes=NONE,
        trips=NONE,
        by_phone=NONE,
        first_visit=NONE,
        first_visit_served=NONE,
        wrong_parts=NONE,
        came_back=NONE,
        saved=NONE,
    )


@pytest.mark.parametrize("means", [(12.0, 40.0), (-8.0, 23.0), (-8.0, -2.0)])
def test_dots_stay_within_the_axis(means: tuple[float, float]) -> None:
    """Tests that dots and lines lie between the ends of the axis, in the order of the costs."""
    picture = drawn([Part("a family", tuple(row("p", Mean(m, 6.0, 40)) for m in means))])
    dots = [float(x) for x in re.findall(r'<circle[^>]* cx="([\d.-]+)"', picture)]
    assert dots == sorted(dots)
    assert len(dots) == len(means)
    lines = [float(x) for pair in re.findall(r"M([\d.-]+) [\d.]+H([\d.-]+)", picture) for x in pair]
    assert all(LEFT <= x <= WIDTH - RIGHT for x in (*dots, *lines))
