"""Where a number is expected, drawn: a curve for each cause, told apart by dash and letter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape

from tubside.service.expecting import Curve, Expectation
from tubside.service.wording import figures

WIDTH, HEIGHT = 360, 196
LEFT, RIGHT = 16.0, 344.0
GROUND, TALL = 150.0, 104.0
LETTERS = "SABC"
"""Letter of each curve: S is the sound machine, A the likeliest cause, and so on."""
TICKS = 5
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Key:
    """One line of the key under a chart: which curve, what it stands for, in words."""

    number: int
    letter: str
    title: str
    words: str


def keys(expected: Expectation) -> list[Key]:
    """The key of a chart: everything it says, also without seeing it."""
    return [
        Key(n, LETTERS[n], "as it should be" if n == 0 else curve.title, expected.words(curve))
        for n, curve in enumerate(expected.curves)
    ]


def chart(expected: Expectation, number: float | None = None, told: str = "") -> Markup:
    """The curves over one axis; after the reading with a plumb line at the number told."""
    parts = [*_band(expected), *_curves(expected), *_axis(expected)]
    if number is not None:
        parts += _plumb(expected.place(number), told)
    label = f"Where to expect the number, in {expected.unit or 'swings or shares'}: " + "; ".join(
        f"{key.title} {key.words}" for key in keys(expected)
    )
    start = f'<svg class="chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="'
    return Markup(start) + escape(label) + Markup('">' + "".join(parts) + "</svg>")  # noqa: S704  # parts hold numbers and escaped texts


def _x(place: float) -> float:
    return LEFT + place * (RIGHT - LEFT)


def _band(expected: Expectation) -> Iterator[str]:
    """The range in which sound machines lie."""
    sound = expected.curves[0]
    if np.isfinite(sound.low):
        low, high = _x(expected.place(sound.low)), _x(expected.place(sound.high))
        width = max(high - low, 3.0)
        size = f'width="{width:.1f}" height="{GROUND - 20:.0f}"'
        yield f'<rect class="good" x="{low:.1f}" y="20" {size}/>'


def _curves(expected: Expectation) -> Iterator[str]:
    for number, curve in reversed(list(enumerate(expected.curves))):
        if not any(curve.heights):
            continue
        points = [
            f"{_x(i / (len(curve.heights) - 1)):.1f} {GROUND - TALL * h / 100.0:.1f}"
            for i, h in enumerate(curve.heights)
        ]
        yield f'<path class="cv cv-{number}" d="M{"L".join(points)}"/>'
        yield _letter(number, curve)


def _letter(number: int, curve: Curve) -> str:
    """The letter over the top of a curve, those further down the list a little lower."""
    top = int(np.argmax(curve.heights))
    x = min(max(_x(top / (len(curve.heights) - 1)), 10.0), WIDTH - 10.0)
    y = GROUND - TALL - 7.0 + (0.0 if number == 0 else 19.0 * number)
    return (
        f'<circle class="cv-disc" cx="{x:.1f}" cy="{y - 4.5:.1f}" r="9"/>'
        f'<text class="cv-letter" x="{x:.1f}" y="{y:.1f}">{LETTERS[number]}</text>'
    )


def _axis(expected: Expectation) -> Iterator[str]:
    yield f'<path class="ax" d="M{LEFT:.0f} {GROUND}H{RIGHT:.0f}"/>'
    for value in ticks(expected):
        x = _x(expected.place(value))
        yield f'<path class="ax" d="M{x:.1f} {GROUND}v6"/>'
        yield f'<text class="ax-words" x="{x:.1f}" y="{GROUND + 21}">{figures(value)}</text>'
    unit = escape(expected.unit)
    yield f'<text class="ax-words ax-unit" x="{RIGHT:.0f}" y="{GROUND + 40}">{unit}</text>'


def ticks(expected: Expectation) -> list[float]:
    """Round numbers along the axis, at most half a dozen."""
    start, end = expected.start, expected.end
    if expected.logarithmic:
        low, high = int(np.floor(np.log10(start))), int(np.floor(np.log10(end)))
        every = max(1, (high - low) // TICKS + 1)
        parts = (1.0, 2.0, 5.0) if high - low <= 2 else (1.0,)
        found = [part * 10.0**n for n in range(low, high + 1, every) for part in parts]
        return [value for value in found if start <= value <= end]
    rough = (end - start) / TICKS
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(size * s for s in STEPS if size * s >= rough)
    first = np.ceil(start / step) * step
    return [float(x) for x in np.arange(first, end + 1e-9 * step, step)]


def _plumb(place: float, told: str) -> Iterator[str]:
    x = _x(place)
    width = 8.0 * max(len(told), 3) + 16.0
    left = min(max(x - width / 2.0, 2.0), WIDTH - width - 2.0)
    yield f'<path class="plumb" d="M{x:.1f} 24V{GROUND + 4:.0f}"/>'
    yield f'<path class="plumb-bob" d="M{x - 6:.1f} {GROUND}h12l-6 13z"/>'
    yield f'<rect class="flag" x="{left:.1f}" y="1" width="{width:.1f}" height="24" rx="6"/>'
    yield f'<text class="flag-words" x="{left + width / 2:.1f}" y="18">{escape(told)}</text>'
