"""One picture of a trial: what each policy costs beyond the known cause, with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from tubside.panel.markup import circle, element, group, path, text
from tubside.trial.measuring import Mean, Row

WIDTH, LEFT, RIGHT, ROW, TOP = 720.0, 190.0, 40.0, 26.0, 64.0
STYLE = """
text{font-family:system-ui,-apple-system,"Segoe UI",Roboto,"Helvetica Neue",Arial,sans-serif}
.ground{fill:#FBFAF6}.head{fill:#1F2A30;font-weight:700}.name{fill:#1F2A30;text-anchor:end}
.say{fill:#4A5960}.mid{fill:#4A5960;text-anchor:middle}.hair{stroke:#C3CED0;fill:none}
.line{stroke:#64757C;stroke-width:2;fill:none}.dot{fill:#64757C}
.ours .line{stroke:#1D4E68;stroke-width:3}.ours .dot{fill:#1D4E68}.ours .name{font-weight:700}
@media (prefers-color-scheme:dark){.ground{fill:#18232A}.head,.name{fill:#EDF1EC}
.say,.mid{fill:#AFBDC1}.hair{stroke:#3A4A52}.line{stroke:#7F9299}.dot{fill:#7F9299}
.ours .line{stroke:#8CC4DE}.ours .dot{fill:#8CC4DE}}
"""


@dataclass(frozen=True, slots=True)
class Part:
    """One heading of the picture and its rows, the first of them ours."""

    heading: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class _Axis:
    """Where a cost stands: ``first`` at the left end, ``scale`` a dollar."""

    first: float
    scale: float

    def at(self, cost: float) -> float:
        return LEFT + (cost - self.first) * self.scale


def drawn(parts: Sequence[Part]) -> str:
    """The picture as SVG text: a dot for the mean, a line for its 95 % interval."""
    rows = [row for part in parts for row in part.rows]
    top, low = (max(_end(row.excess) for row in rows), min(_begin(row.excess) for row in rows))
    step = _step(max(top, -low))
    first = floor(min(low, 0.0) / step)
    height = TOP + sum((len(part.rows) + 1.6) * ROW for part in parts) + 30.0
    marks = [step * number for number in range(first, int(max(top, 0.0) / step) + 2)]
    axis = _Axis(marks[0], (WIDTH - LEFT - RIGHT) / (marks[-1] - marks[0]))
    content = [element("rect", {"class": "ground", "width": WIDTH, "height": height})]
    content.append(text(20.0, 30.0, "Cost beyond the known cause, dollars a call", 17.0, "head"))
    content.append(text(20.0, 50.0, "dot: mean; line: 95 % interval", 13.0, "say"))
    for mark in marks:
        x = axis.at(mark)
        content.append(path(f"M{x:.1f} {TOP}V{height - 26.0:.1f}", "hair"))
        content.append(text(x, height - 8.0, f"{mark:g}", 13.0, "mid"))
    y = TOP
    for part in parts:
        y += 1.2 * ROW
        content.append(text(20.0, y, part.heading, 14.0, "head"))
        for number, row in enumerate(part.rows):
            y += ROW
            content.append(_row(row, y, axis, ours=number == 0))
        y += 0.4 * ROW
    size = {"viewBox": f"0 0 {WIDTH:g} {height:g}", "role": "img"}
    title = element("title", {}, "Cost of each policy beyond the known cause")
    style = element("style", {}, STYLE)
    return element("svg", {"xmlns": "http://www.w3.org/2000/svg", **size}, title, style, *content)


def _row(row: Row, y: float, axis: _Axis, *, ours: bool) -> str:
    told = (_begin(row.excess), _end(row.excess), row.excess.value)
    left, right, x = (axis.at(value) for value in told)
    said = text(min(right + 8.0, WIDTH - 24.0), y + 5.0, f"{row.excess.value:.0f}", 13.0, "say")
    parts = (
        text(LEFT - 12.0, y + 5.0, row.policy, 14.0, "name"),
        path(f"M{left:.1f} {y:.1f}H{right:.1f}", "line"),
        circle(x, y, 5.0, "dot"),
        said,
    )
    return group("ours" if ours else "other", *parts)


def _begin(mean: Mean) -> float:
    return mean.value - (mean.half if mean.n > 1 else 0.0)


def _end(mean: Mean) -> float:
    return mean.value + (mean.half if mean.n > 1 else 0.0)


def _step(top: float) -> float:
    """A round distance between marks: about six of them up to ``top``."""
    rough = max(top, 1.0) / 5.0
    size = float(10 ** (len(f"{int(rough)}") - 1))
    return next(size * factor for factor in (1.0, 2.0, 5.0, 10.0) if size * factor >= rough)
