"""The speed of a spin over time, drawn: as heard, its steady stretch, and the rated speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup, escape

from tubside.web.pages.seconds_axis import seconds_axis

WIDTH, HEIGHT = 360.0, 210.0
LEFT, RIGHT, TOP, GROUND = 46.0, 348.0, 16.0, 168.0
STEPS_S = (1.0, 2.0, 5.0, 10.0, 20.0, 60.0)
STEPS_RPM = (50.0, 100.0, 200.0, 500.0)
MOST_TICKS, MOST_LEVELS = 7, 5
ROOM = 1.08
"""Of the highest speed, up to the top of the drawing."""

Place = tuple[float, float]


def spin_drawing(told: dict[str, Any], rated_rpm: float | None, words: str) -> Markup | None:
    """The course of an answer as SVG, or None where no speed was heard.

    ``words`` say the same to those who do not see it.
    """
    course = [(float(p["time_s"]), float(p["rpm"])) for p in told.get("course", [])]
    steady = _steady(told)
    if not course and not steady:
        return None
    end = max(float(told.get("length_s", 0.0)), *(t for t, _ in [*course, *steady]), 1.0)
    speeds = [rpm for _, rpm in [*course, *steady]]
    most = ROOM * max([*speeds, *([] if rated_rpm is None else [rated_rpm])])
    parts = [*seconds_axis(end, (LEFT, RIGHT), GROUND, STEPS_S, MOST_TICKS), *_levels(most)]
    if rated_rpm is not None:
        parts.append(_path("cv cv-2", [(0.0, rated_rpm), (end, rated_rpm)], end, most))
    if course:
        parts.append(_path("cv cv-log", course, end, most))
    if steady:
        parts.append(_path("cv cv-0", steady, end, most))
    start = f'<svg class="chart" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" aria-label="'
    return Markup(start) + escape(words) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers alone


def _steady(told: dict[str, Any]) -> list[Place]:
    """The two ends of the steady stretch at the speed told."""
    if told.get("rpm") is None or not told.get("steady_s"):
        return []
    return [(float(time), float(told["rpm"])) for time in told["steady_s"]]


def _x(time: float, end: float) -> float:
    return LEFT + (RIGHT - LEFT) * min(max(time / end, 0.0), 1.0)


def _y(rpm: float, most: float) -> float:
    return GROUND - (GROUND - TOP) * min(max(rpm / most, 0.0), 1.0)


def _path(kind: str, places: Sequence[Place], end: float, most: float) -> str:
    points = "L".join(f"{_x(time, end):.1f} {_y(rpm, most):.1f}" for time, rpm in places)
    return f'<path class="{kind}" d="M{points}"/>'


def _levels(most: float) -> Iterator[str]:
    yield f'<path class="ax" d="M{LEFT:.0f} {TOP:.0f}V{GROUND:.0f}"/>'
    step = next((step for step in STEPS_RPM if most / step <= MOST_LEVELS), STEPS_RPM[-1])
    for n in range(1, int(most / step) + 1):
        y = _y(n * step, most)
        yield f'<path class="ax" d="M{LEFT:.0f} {y:.1f}h-6"/>'
        words = f"{n * step:g}</text>"
        yield f'<text class="ax-words ax-unit" x="{LEFT - 9:.0f}" y="{y + 4:.1f}">{words}'
    yield f'<text class="ax-words" x="{LEFT - 16:.0f}" y="{GROUND + 38:.0f}">rpm</text>'
