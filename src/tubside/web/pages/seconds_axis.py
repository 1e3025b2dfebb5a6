"""The axis of seconds below a drawing of something that was recorded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

BELOW, FURTHER = 21.0, 38.0
"""From the axis down to its numbers, and to its unit."""


def seconds_axis(
    end_s: float, across: tuple[float, float], ground: float, steps_s: Sequence[float], most: int
) -> Iterator[str]:
    """The parts of the axis as SVG, from 0 to ``end_s`` between two places ``across``.

    The smallest of ``steps_s`` is taken that needs no more than ``most`` steps.
    """
    left, right = across
    yield f'<path class="ax" d="M{left:.0f} {ground:.0f}H{right:.0f}"/>'
    step = next((step for step in steps_s if end_s / step <= most), steps_s[-1])
    for n in range(int(end_s / step) + 1):
        x = left + (right - left) * min(n * step / max(end_s, 1e-9), 1.0)
        yield f'<path class="ax" d="M{x:.1f} {ground:.0f}v6"/>'
        yield f'<text class="ax-words" x="{x:.1f}" y="{ground + BELOW:.0f}">{n * step:g}</text>'
    unit = f'x="{right:.0f}" y="{ground + FURTHER:.0f}"'
    yield f'<text class="ax-words ax-unit" {unit}>seconds</text>'
