"""The shop's weeks, drawn: jobs closed and come back, minutes at the machine, takings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from markupsafe import Markup, escape

from tubside.service.figures import Week

WIDTH, HEIGHT = 360, 150
LEFT, RIGHT = 40.0, 352.0
GROUND, TOP = 118.0, 14.0
STEPS = (1.0, 2.0, 5.0, 10.0)
SAID = 6
"""A day is written under every sixth week."""

Height = Callable[[Week], float | None]


def columns(
    weeks: Sequence[Week], height: Height, label: str, dark: Height | None = None
) -> Markup:
    """A column for each week, with the part ``dark`` of it darker; a week without any is open."""
    tall = [height(week) for week in weeks]
    step = _step(max((one for one in tall if one is not None), default=0.0))
    most = step * max(1, -(-max((one or 0.0 for one in tall), default=0.0) // step))
    parts = [*_upright(step, most)]
    for place, (week, one) in enumerate(zip(weeks, tall, strict=True)):
        x, width = _place(place, len(weeks))
        if one and one > 0:
            parts.append(_column("bar", x, width, one / most))
        below = dark(week) if dark is not None else None
        if below:
            parts.append(_column("bar-dark", x, width, below / most))
        if place % SAID == 0:
            words = f"{week.monday.day} {week.monday:%b}"
            at = f'x="{x + width / 2:.1f}" y="{GROUND + 22:.0f}"'
            parts.append(f'<text class="ax-words" {at}>{words}</text>')
    start = f'<svg class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="'
    return Markup(start) + escape(label) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers and days


def _step(most: float) -> float:
    """A round step for at most four lines."""
    rough, size = max(most, 1.0) / 4.0, 1.0
    while size * STEPS[-1] < rough:
        size *= 10.0
    return next(size * s for s in STEPS if size * s >= rough)


def _upright(step: float, most: float) -> Iterator[str]:
    yield f'<path class="ax" d="M{LEFT:.0f} {GROUND:.0f}H{RIGHT:.0f}"/>'
    for n in range(round(most / step) + 1):
        y = GROUND - n * step / most * (GROUND - TOP)
        at = f'x="{LEFT - 8:.0f}" y="{y + 4.5:.1f}"'
        yield f'<path class="ax" d="M{LEFT:.0f} {y:.1f}h-4"/>'
        yield f'<text class="ax-words ax-unit" {at}>{n * step:.0f}</text>'


def _place(place: int, count: int) -> tuple[float, float]:
    width = (RIGHT - LEFT) / count
    return LEFT + place * width + 1.0, width - 2.0


def _column(kind: str, x: float, width: float, share: float) -> str:
    tall = share * (GROUND - TOP)
    size = f'width="{width:.1f}" height="{tall:.1f}"'
    return f'<rect class="{kind}" x="{x:.1f}" y="{GROUND - tall:.1f}" {size}/>'
