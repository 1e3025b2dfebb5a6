"""Curves of what to expect: whole without colour, round ticks, nothing outside the frame."""

from __future__ import annotations

import re

import pytest

from tubside.service.expecting import POINTS, Curve, Expectation
from tubside.web.pages.curve_drawing import HEIGHT, WIDTH, chart, keys, ticks

HUMP = tuple(round(100 - 100 * abs(n - POINTS / 2) / (POINTS / 2)) for n in range(POINTS))


def expected(start: float, end: float, *, logarithmic: bool = False) -> Expectation:
    """Return two curves over one axis."""
    curves = (
        Curve("sound", 8.0, 10.0, 12.0, 0.0, HUMP),
        Curve("tap <shut>", 0.4, 1.0, 3.0, 0.6, HUMP),
    )
    return Expectation("L/min", start, end, logarithmic, curves)


def test_the_key_says_all_in_words() -> None:
    """Tests that each curve has a letter, a title and a range in words."""
    sound, shut = keys(expected(0.0, 20.0))
    assert (sound.letter, sound.title, sound.words) == ("S", "as it should be", "8.0 to 12.0 L/min")
    assert (shut.letter, shut.words) == ("A", "no number at all, or never")


def test_what_is_written_is_escaped() -> None:
    """Tests that titles cannot break out of the drawing's label."""
    drawn = chart(expected(0.0, 20.0), 7.0, "7 <b>")
    assert "tap &lt;shut&gt;" in drawn
    assert "<b>" not in drawn


@pytest.mark.parametrize("number", [None, -4.0, 0.0, 13.0, 900.0])
def test_everything_stands_inside_the_frame(number: float | None) -> None:
    """Tests every x of the drawing, also with a number far outside the axis."""
    drawn = chart(expected(0.0, 20.0), number, "7.2 L/min")
    for name, limit in (("x", WIDTH), ("cx", WIDTH), ("y", HEIGHT), ("cy", HEIGHT)):
        for value in re.findall(rf' {name}="(-?[\d.]+)"', drawn):
            assert 0.0 <= float(value) <= limit


@pytest.mark.parametrize(
    ("start", "end", "wanted"),
    [(0.0, 20.0, [0, 5, 10, 15, 20]), (216.0, 244.0, [220, 230, 240]), (0.0, 1.3, [0, 0.5, 1])],
)
def test_ticks_are_round(start: float, end: float, wanted: list[float]) -> None:
    """Tests ticks on plain axes."""
    assert ticks(expected(start, end)) == pytest.approx(wanted)


def test_ticks_of_wide_axes() -> None:
    """Tests powers of ten, with twos and fives where there are few of them."""
    assert ticks(expected(20.0, 2100.0, logarithmic=True)) == pytest.approx(
        [20, 50, 100, 200, 500, 1000, 2000]
    )
    many = ticks(expected(1.0, 1e9, logarithmic=True))
    assert 4 <= len(many) <= 7
