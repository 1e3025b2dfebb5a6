"""A log of shaking, drawn: what was recorded, the swing fitted to it, and a tenth of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup, escape

from tubside.web.pages.seconds_axis import seconds_axis

WIDTH, HEIGHT = 360.0, 190.0
LEFT, RIGHT, TOP, GROUND = 12.0, 348.0, 14.0, 150.0
MIDDLE = (TOP + GROUND) / 2.0
STEPS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 60.0, 600.0)
MOST_TICKS = 8


def shake_drawing(trace: dict[str, Any], words: str) -> Markup:
    """The trace of an answer as SVG; ``words`` say the same to those who do not see it."""
    times, recorded = trace["times_s"], trace["recorded"]
    fitted = [value for value in trace["fitted"] if value is not None]
    size = max((abs(v) for v in [*fitted, *_most(recorded)]), default=1.0) or 1.0
    parts = [
        *seconds_axis(times[-1], (LEFT, RIGHT), GROUND, STEPS_S, MOST_TICKS),
        *_tenth(trace, size),
    ]
    parts.append(f'<path class="cv cv-log" d="{_line(times, recorded, times[-1], size)}"/>')
    if fitted:
        parts.append(
            f'<path class="cv cv-0" d="{_line(times, trace["fitted"], times[-1], size)}"/>'
        )
    start = f'<svg class="chart" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" aria-label="'
    return Markup(start) + escape(words) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers alone


def _most(values: Sequence[float]) -> list[float]:
    """All but the largest hundredth: one knock does not flatten the swing."""
    ranked = sorted(abs(value) for value in values)
    return ranked[: max(1, len(ranked) - len(ranked) // 100)]


def _x(time: float, end: float) -> float:
    return LEFT + (RIGHT - LEFT) * time / max(end, 1e-9)


def _y(value: float, size: float) -> float:
    share = min(max(value / size, -1.15), 1.15)
    return MIDDLE - share * (GROUND - TOP) / 2.3


def _line(times: Sequence[float], values: Sequence[float | None], end: float, size: float) -> str:
    points = [
        f"{_x(t, end):.1f} {_y(v, size):.1f}"
        for t, v in zip(times, values, strict=True)
        if v is not None
    ]
    return "M" + "L".join(points)


def _tenth(trace: dict[str, Any], size: float) -> Iterator[str]:
    """Where a swing is a tenth of its first, to either side."""
    fitted = [abs(value) for value in trace["fitted"] if value is not None]
    if fitted:
        for side in (0.1, -0.1):
            y = _y(side * max(fitted), size)
            yield f'<path class="cv cv-2" d="M{LEFT:.0f} {y:.1f}H{RIGHT:.0f}"/>'
