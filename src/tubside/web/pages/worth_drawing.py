"""Repair or replace, drawn: money over the years, and a bar for each assumption."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from markupsafe import Markup, escape

from tubside.economics.worth import Course
from tubside.service.wording import dollars
from tubside.service.worth import Assumed, ToldWorth

WIDTH, HEIGHT = 360, 232
LEFT, RIGHT = 46.0, 344.0
GROUND, TOP = 180.0, 16.0
YEAR_TICKS = 5
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
BAR_WIDTH, BAR_LEFT, BAR_RIGHT, ROW = 360, 10.0, 350.0, 46
SHOWN_BARS = 8
"""Bars drawn; the others move the answer less and stand in the list alone."""


def years_chart(told: ToldWorth) -> Markup:
    """Expected money spent until each year, both ways, told apart by dash and letter."""
    course = told.course
    most = float(max(course.repair.max(), course.replace.max())) or 1.0
    parts = [*_axes(course, most)]
    for letter, number, curve in (("R", 0, course.repair), ("N", 1, course.replace)):
        parts += _curve(course, curve, most, (letter, number))
    if course.meet is not None:
        x = _x(course, course.meet)
        parts.append(f'<path class="plumb" d="M{x:.1f} {TOP:.0f}V{GROUND:.0f}"/>')
    return _svg(WIDTH, HEIGHT, years_words(told), parts)


def years_words(told: ToldWorth) -> str:
    """What the drawing over years shows, in words."""
    course = told.course
    ends = f"after {course.years[-1]:.0f} years {dollars(float(course.repair[-1]))} spent by"
    words = f"Money spent over the years: {ends} repairing, {dollars(float(course.replace[-1]))}"
    words += " by a new machine"
    if course.meet is None:
        return f"{words}; the lines do not cross"
    return f"{words}; the lines cross after about {course.meet:.1f} years"


def _x(course: Course, years: float) -> float:
    return LEFT + years / float(course.years[-1]) * (RIGHT - LEFT)


def _y(money: float, most: float) -> float:
    return GROUND - money / most * (GROUND - TOP)


def _axes(course: Course, most: float) -> Iterator[str]:
    yield f'<path class="ax" d="M{LEFT:.0f} {TOP:.0f}V{GROUND:.0f}H{RIGHT:.0f}"/>'
    for year in np.linspace(0.0, float(course.years[-1]), YEAR_TICKS + 1)[1:]:
        x = _x(course, float(year))
        yield f'<path class="ax" d="M{x:.1f} {GROUND:.0f}v6"/>'
        yield f'<text class="ax-words" x="{x:.1f}" y="{GROUND + 21:.0f}">{year:.0f}</text>'
    yield f'<text class="ax-words ax-unit" x="{RIGHT:.0f}" y="{GROUND + 42:.0f}">years</text>'
    for money in _round_ticks(most):
        y = _y(money, most)
        yield f'<path class="ax" d="M{LEFT:.0f} {y:.1f}h-5"/>'
        at = f'x="{LEFT - 8:.0f}" y="{y + 4.5:.1f}"'
        yield f'<text class="ax-words ax-unit" {at}>{money:.0f}</text>'


def _round_ticks(most: float) -> list[float]:
    """Round sums along the upright, at most four."""
    rough = most / 4.0
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(size * s for s in STEPS if size * s >= rough)
    return [float(x) for x in np.arange(step, most + 1e-9, step)]


def _curve(
    course: Course, money: Sequence[float] | np.ndarray, most: float, key: tuple[str, int]
) -> Iterator[str]:
    letter, number = key
    points = [
        f"{_x(course, float(t)):.1f} {_y(float(m), most):.1f}"
        for t, m in zip(course.years[::6], money[::6], strict=True)
    ]
    yield f'<path class="cv cv-{number}" d="M{"L".join(points)}"/>'
    x = _x(course, float(course.years[-1]) * (0.06 if number else 0.12))
    at = int(len(course.years) * (0.06 if number else 0.12))
    y = _y(float(money[at]), most)
    yield f'<circle class="cv-disc" cx="{x:.1f}" cy="{y:.1f}" r="9"/>'
    yield f'<text class="cv-letter" x="{x:.1f}" y="{y + 4.5:.1f}">{letter}</text>'


def bars_chart(told: ToldWorth) -> Markup:
    """A bar for each assumption: left of the line repairing is cheaper, right of it a new one."""
    shown = told.swings[:SHOWN_BARS]
    by_name = {one.name: one for one in told.assumed}
    ends = [end for one in shown for end in (one.bar.at_low, one.bar.at_high)]
    finite = [end for end in ends if np.isfinite(end)] or [0.0]
    low, high = min(*finite, 0.0), max(*finite, 0.0)
    width = (high - low) or 1.0

    def place(value: float) -> float:
        held = min(max(value, low), high)
        return BAR_LEFT + (held - low) / width * (BAR_RIGHT - BAR_LEFT)

    height = ROW * len(shown) + 30
    zero = place(0.0)
    parts = [f'<path class="plumb" d="M{zero:.1f} 18V{height - 20}"/>']
    for row, one in enumerate(shown):
        words = _bar_words(by_name[one.bar.name], one.turns_at)
        start, end = sorted((place(one.bar.at_low), place(one.bar.at_high)))
        y = row * ROW + 22
        crossed = " bar--turns" if one.turns_at is not None else ""
        parts.append(
            f'<text class="bar-words" x="{BAR_LEFT:.0f}" y="{y - 5}">{escape(words)}</text>'
        )
        size = f'width="{max(end - start, 2.0):.1f}" height="16"'
        parts.append(f'<rect class="bar{crossed}" x="{start:.1f}" y="{y}" {size} rx="3"/>')
    parts += _sides(zero, height)
    return _svg(BAR_WIDTH, height, bars_words(told), parts)


def _sides(zero: float, height: int) -> Iterator[str]:
    """Which way is which, under the bars, where there is room."""
    sides = (("repairing is cheaper", zero - 8, "end"), ("a new one is cheaper", zero + 8, "start"))
    for words, x, anchor in sides:
        room = zero - BAR_LEFT if anchor == "end" else BAR_RIGHT - zero
        if room > 130.0:
            at = f'x="{x:.1f}" y="{height - 4}"'
            yield f'<text class="bar-side bar-side--{anchor}" {at}>{words}</text>'


def _bar_words(assumed: Assumed, turns_at: float | None) -> str:
    turn = "" if turns_at is None else f", turns at {assumed.told(turns_at)}"
    return f"{assumed.spec.title}{turn}"


def bars_words(told: ToldWorth) -> str:
    """What the bars show, in words."""
    if not told.turning:
        return "What each assumption moves: none of them alone turns the answer"
    return "What each assumption moves; these alone turn the answer: " + ", ".join(told.turning)


def _svg(width: int, height: int, label: str, parts: Sequence[str]) -> Markup:
    start = f'<svg class="chart" viewBox="0 0 {width} {height}" role="img" aria-label="'
    return Markup(start) + escape(label) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers and escaped texts
