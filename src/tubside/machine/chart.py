"""A cycle drawn: five curves over the stages, where it stopped, what the panel shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tubside.machine.chart_look import chart_rules
from tubside.machine.course import Course
from tubside.machine.drying_course import DryingCourse
from tubside.pack.fault_model import Floats
from tubside.panel.drawing import front_svg, indication_svg
from tubside.panel.markup import element, number, path, rectangle, text, words
from tubside.panel.schema import Panel
from tubside.physics.standard import ICE_POINT

WIDTH, LEFT, RIGHT = 920.0, 92.0, 24.0
SIGN, BAND_NAMES, ROW, GAP, FOOT = 64.0, 34.0, 84.0, 18.0, 62.0
PANEL_HEIGHT = 230.0
NOTES = 430.0
"""Where the words beside the panel begin."""
SHORT = {"first spin": "spin", "last spin": "spin", "rinse drain": "drain"}
NARROW = 34.0
"""A band narrower than this has no room for its name."""
WHOLE, SHORTENED, LEAST = 300.0, 0.15, 60.0
"""Seconds of a part that are drawn in full, the share of what is more, and the least."""
NEAREST = 26.0
"""Minutes are not written closer to one another than this."""

AnyCourse = Course | DryingCourse
"""What a machine did over time: it washed, or it dried."""


@dataclass(frozen=True, slots=True)
class Caption:
    """What stands on the sign and below the curves."""

    title: str
    faults: str
    ending: str
    limits: dict[str, float]  # curve -> limit to draw, in the curve's own unit
    notes: tuple[str, ...] = ()  # what else there is to say, beside the panel


@dataclass(frozen=True, slots=True)
class _Curve:
    """One row: title, unit, values in that unit, and a limit of the controller."""

    title: str
    unit: str
    values: Floats
    least: float
    css: str
    limit: float | None


def cycle_svg(course: AnyCourse, caption: Caption, panel: Panel | None, shown: str | None) -> str:
    """The drawing as SVG text that stands alone, light and dark.

    Parameters
    ----------
    course
        What to draw.
    caption
        Words and limits.
    panel
        The model's front, drawn below; None for a family without one.
    shown
        Its indication; None where it shows none.
    """
    rows, scale = _curves(course, caption), _scale(course)
    below = SIGN + BAND_NAMES + len(rows) * (ROW + GAP) + FOOT
    height = below + (PANEL_HEIGHT + GAP if panel is not None else 0.0)
    parts = [
        rectangle((0, 0, WIDTH, height), 18, "tc-paper"),
        *_sign(caption),
        *_bands(course, scale, below - FOOT),
        *(_row(course, scale, row, _top(at)) for at, row in enumerate(rows)),
        *_minutes(scale, below - FOOT),
        *_stop(course, scale, caption, below - FOOT),
    ]
    if panel is not None:
        parts.append(_front(panel, shown, below))
    parts += _notes(caption, below)
    marks = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(WIDTH)} {number(height)}",
        "role": "img",
        "aria-label": f"{caption.title}: {caption.ending}",
    }
    title = element("title", {}, words(f"{caption.title}: {caption.ending}"))
    said = element("desc", {}, words(_told(course, caption)))
    return element("svg", marks, title, said, element("style", {}, chart_rules()), *parts)


def _told(course: AnyCourse, caption: Caption) -> str:
    """The drawing in words, for who does not see it."""
    bands = "; ".join(
        f"{band.part} {(band.end - band.start) / 60:.1f} min" for band in course.bands
    )
    return f"{caption.faults}. {bands}. {caption.ending}."


def _curves(course: AnyCourse, caption: Caption) -> list[_Curve]:
    limits = caption.limits
    if isinstance(course, DryingCourse):
        hot, damp = limits.get("outlet"), limits.get("damp")
        return [
            _Curve("outlet", "°C", course.outlet - ICE_POINT, 40.0, "tc-copper", hot),
            _Curve("damp", "% of dry", 100.0 * course.moisture, 20.0, "tc-water", damp),
            _Curve("heat", "W", course.power, 500.0, "tc-copper", None),
        ]
    water = [
        _Curve("level", "cm", 100.0 * course.level, 5.0, "tc-water", limits.get("level")),
        _Curve("water", "°C", course.temperature - ICE_POINT, 40.0, "tc-copper", None),
    ]
    drum = [
        _Curve("speed", "rpm", course.speed * 30.0 / np.pi, 100.0, "tc-water", None),
        _Curve("swing", "mm", 1e3 * course.swing, 5.0, "tc-copper", limits.get("swing")),
        _Curve("torque", "N m", course.torque, 5.0, "tc-water", limits.get("torque")),
    ]
    return [*water, *drum] if course.spins else water


def _top(row: int) -> float:
    return SIGN + BAND_NAMES + row * (ROW + GAP)


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where a time lies across the page: every part gets room to be seen."""

    times: Floats  # s, borders of the parts
    places: Floats  # mm

    def x(self, seconds: float) -> float:
        return float(np.interp(seconds, self.times, self.places))


def _scale(course: AnyCourse) -> _Scale:
    """Long parts are drawn shortened, short ones no narrower than :data:`LEAST`."""
    spans = np.array([band.end - band.start for band in course.bands])
    widths = np.maximum(np.minimum(spans, WHOLE) + SHORTENED * np.maximum(spans - WHOLE, 0), LEAST)
    share = np.concatenate([[0.0], np.cumsum(widths) / np.sum(widths)])
    times = np.concatenate([[0.0], [band.end for band in course.bands]])
    return _Scale(times, LEFT + (WIDTH - LEFT - RIGHT) * share)


def _sign(caption: Caption) -> Iterator[str]:
    yield rectangle((16, 14, WIDTH - 32, SIGN - 16), 12, "tc-sign")
    yield text(34, 36, caption.title, 17, "tc-sign-say")
    yield text(34, 53, caption.faults, 12, "tc-sign-say")


def _bands(course: AnyCourse, scale: _Scale, bottom: float) -> Iterator[str]:
    """Every other part on a darker ground, its name above where there is room."""
    for at, band in enumerate(course.bands):
        left, right = scale.x(band.start), scale.x(band.end)
        if at % 2 == 0:
            yield rectangle((left, SIGN + 8, right - left, bottom - SIGN - 8), 0, "tc-band")
        if right - left >= NARROW:
            name = SHORT.get(band.part, band.part)
            yield text(0.5 * (left + right), SIGN + 24, name, 12, "tc-quiet tc-mid")


def _row(course: AnyCourse, scale: _Scale, row: _Curve, top: float) -> str:
    known = row.values[np.isfinite(row.values)]
    most = max(row.least, float(known.max(initial=0.0)), 1.05 * (row.limit or 0.0))
    least = min(0.0, float(known.min(initial=0.0)))

    def y(value: float) -> float:
        return top + ROW * (1.0 - (value - least) / (most - least))

    right = WIDTH - RIGHT
    parts = [
        path(f"M{number(LEFT)} {number(y(0.0))}H{number(right)}", "tc-axis"),
        path(f"M{number(LEFT)} {number(top)}V{number(top + ROW)}", "tc-hair"),
        text(LEFT - 12, top + 14, row.title, 13, "tc-say tc-end"),
        text(LEFT - 12, top + 30, row.unit, 11, "tc-quiet tc-end"),
        text(LEFT - 12, top + ROW, f"to {most:.0f}", 11, "tc-quiet tc-end"),
    ]
    if row.limit is not None:
        parts.append(path(f"M{number(LEFT)} {number(y(row.limit))}H{number(right)}", "tc-limit"))
        parts.append(text(LEFT + 6, y(row.limit) - 4, "limit", 11, "tc-quiet"))
    points = [(scale.x(t), y(v)) for t, v in zip(course.time, row.values, strict=True)]
    return "".join([*parts, path(_line(points), row.css)])


def _line(points: Sequence[tuple[float, float]]) -> str:
    """A line through the points that are numbers; a gap where one is not."""
    commands, down = [], False
    for x, y in points:
        if not np.isfinite(y):
            down = False
            continue
        commands.append(f"{'L' if down else 'M'}{number(x)} {number(y)}")
        down = True
    return "".join(commands) or "M0 0"


def _minutes(scale: _Scale, bottom: float) -> Iterator[str]:
    """Minutes since the start, at the borders of the parts."""
    last = -NEAREST
    for seconds, x in zip(scale.times, scale.places, strict=True):
        yield path(f"M{number(x)} {number(bottom)}V{number(bottom + 5)}", "tc-axis")
        if x - last >= NEAREST:
            yield text(float(x), bottom + 19, f"{seconds / 60:.0f}", 11, "tc-quiet tc-mid")
            last = float(x)
    said = "minutes; long parts are drawn shortened"
    yield text(WIDTH - RIGHT, bottom + 38, said, 11, "tc-quiet tc-end")


def _stop(course: AnyCourse, scale: _Scale, caption: Caption, bottom: float) -> Iterator[str]:
    if course.stopped is not None:
        x = scale.x(course.stopped) - 1.2
        yield path(f"M{number(x)} {number(SIGN + 8)}V{number(bottom + 6)}", "tc-stop")
    yield text(LEFT, bottom + 46, caption.ending, 15, "tc-stop-say")


def _notes(caption: Caption, top: float) -> Iterator[str]:
    for at, note in enumerate(caption.notes):
        yield text(NOTES, top + 24 + 20 * at, note, 13, "tc-say")


def _front(panel: Panel, shown: str | None, top: float) -> str:
    """The model's own front, as large as there is room, showing what it shows."""
    if shown is None:
        drawn = front_svg(panel, alone=False)
    else:
        drawn = indication_svg(panel, shown, alone=False)
    place = f'<svg x="{number(LEFT)}" y="{number(top)}" height="{number(PANEL_HEIGHT)}" '
    place += f'width="{number(NOTES - LEFT - 20)}" preserveAspectRatio="xMinYMin meet" '
    return drawn.replace("<svg ", place, 1)
