"""The drawings of what jobs say."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from tubside.learning.calibration import Bin
from tubside.learning.proposal import Part
from tubside.web.pages.learned_drawing import EDGE, LEFT, RIGHT, SIDE, TOP, diagram, line

ROUNDED = 0.06
"""Places are written to a tenth."""


def test_a_number_stands_where_it_says() -> None:
    """Tests that post, bar and middle lie at their numbers on the line, told in words too."""
    drawn = str(line(Part("", 0.32, 0.51, 0.35, 0.68), "32 & 51", "%", 100.0))
    ET.fromstring(drawn)  # noqa: S314  # our own drawing
    assert 'aria-label="32 &amp; 51"' in drawn

    def at(share: float) -> float:
        return LEFT + share * (RIGHT - LEFT)

    bar = re.search(r'ln-bar" d="M([\d.]+) 30H([\d.]+)"', drawn)
    post = re.search(r'ln-pack" d="M([\d.]+) ', drawn)
    assert bar is not None
    assert post is not None
    assert abs(float(bar[1]) - at(0.35)) < ROUNDED
    assert abs(float(bar[2]) - at(0.68)) < ROUNDED
    assert abs(float(post[1]) - at(0.32)) < ROUNDED
    assert ">100 %<" in drawn


def test_the_diagram_goes_up_with_what_came() -> None:
    """Tests that a dot stands over what was said, as high as how often it was so."""
    drawn = str(diagram([Bin(0.7, 0.8, 0.75, 0.5, 0.4, 0.6, 20.0)], "said"))
    ET.fromstring(drawn)  # noqa: S314  # our own drawing
    dot = re.search(r'ln-dot" cx="([\d.]+)" cy="([\d.]+)"', drawn)
    assert dot is not None
    assert abs(float(dot[1]) - (EDGE + 0.75 * SIDE)) < ROUNDED
    assert abs(float(dot[2]) - (TOP + 0.5 * SIDE)) < ROUNDED
