"""What the pack says and what the jobs say, drawn on one line; and how good chances were."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup, escape

from tubside.learning.calibration import Bin
from tubside.learning.proposal import Part

WIDTH, HEIGHT = 360.0, 66.0
LEFT, RIGHT, LINE, GROUND = 12.0, 348.0, 30.0, 44.0
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
SIDE, EDGE, TOP = 300.0, 44.0, 10.0
QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)


def line(part: Part, label: str, figure: str, scale: float = 1.0) -> Markup:
    """The pack as a post, the jobs as a bar with their middle; ``figure`` is the unit's word.

    ``scale`` is what a number is multiplied by to be written: 100 for a share in percent.
    """
    most = _round_up(max(part.pack, part.high) * scale)
    parts = [*_axis(most, figure)]
    low, high = (_across(value * scale / most) for value in (part.low, part.high))
    parts.append(f'<path class="ln-bar" d="M{low:.1f} {LINE:.0f}H{max(high, low + 1):.1f}"/>')
    middle = _across(part.learned * scale / most)
    parts.append(f'<circle class="ln-dot" cx="{middle:.1f}" cy="{LINE:.0f}" r="7"/>')
    pack = _across(part.pack * scale / most)
    parts.append(f'<path class="ln-pack" d="M{pack:.1f} 8V{GROUND:.0f}"/>')
    return _drawing(WIDTH, HEIGHT, label, parts)


def diagram(bins: Sequence[Bin], label: str) -> Markup:
    """Said along the foot, how often it was so upwards; the slanted line is just as said."""
    size, foot = SIDE + EDGE, SIDE + TOP
    parts = [f'<path class="ln-even" d="M{EDGE:.0f} {foot:.0f}L{size:.0f} {TOP:.0f}"/>']
    for share in QUARTERS:
        x, y, words = EDGE + share * SIDE, foot - share * SIDE, f"{100 * share:.0f}"
        parts.append(f'<text class="ax-words" x="{x:.0f}" y="{foot + 20:.0f}">{words}</text>')
        at = f'x="{EDGE - 8:.0f}" y="{y + 4:.0f}"'
        parts.append(f'<text class="ax-words ax-unit" {at}>{words}</text>')
    parts.append(f'<path class="ax" d="M{EDGE:.0f} {TOP:.0f}V{foot:.0f}H{size:.0f}"/>')
    for one in bins:
        x = EDGE + one.said * SIDE
        low, high, came = (foot - share * SIDE for share in (one.low, one.high, one.came))
        parts.append(f'<path class="ln-range" d="M{x:.1f} {low:.1f}V{high:.1f}"/>')
        parts.append(f'<circle class="ln-dot" cx="{x:.1f}" cy="{came:.1f}" r="6"/>')
    return _drawing(size + 14.0, foot + 28.0, label, parts)


def _axis(most: float, figure: str) -> Iterator[str]:
    yield f'<path class="ax" d="M{LEFT:.0f} {GROUND:.0f}H{RIGHT:.0f}"/>'
    for share, end in ((0.0, "start"), (0.5, "middle"), (1.0, "end")):
        x = _across(share)
        words = f"{most * share:g}" + (f" {figure}" if share == 1.0 and figure else "")
        yield f'<path class="ax" d="M{x:.1f} {GROUND:.0f}v5"/>'
        at = f'x="{x:.1f}" y="{HEIGHT - 3:.0f}"'
        yield f'<text class="ax-words ln-{end}" {at}>{escape(words)}</text>'


def _across(share: float) -> float:
    return LEFT + min(max(share, 0.0), 1.0) * (RIGHT - LEFT)


def _round_up(value: float) -> float:
    """The next round number.

    >>> _round_up(34.0), _round_up(0.7), _round_up(100.0)
    (50.0, 1.0, 100.0)
    """
    size = 1e-3
    while size * STEPS[-1] < value:
        size *= 10.0
    return round(next(size * step for step in STEPS if size * step >= value), 9)


def _drawing(width: float, height: float, label: str, parts: Sequence[str]) -> Markup:
    start = f'<svg class="chart" viewBox="0 0 {width:.0f} {height:.0f}" role="img" aria-label="'
    return Markup(start) + escape(label) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers alone
