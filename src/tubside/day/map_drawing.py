"""The day's rounds as a schematic map: no tiles, no third party, good in print.

A technician is told by a letter, a shape of mark and a dash of line; colour only helps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tubside.day.map_look import LINES, line_class, map_rules
from tubside.day.map_place import Crowd, Frame, along, apart, name_boxes, points
from tubside.day.problem import KILOMETRE, Floats, Place
from tubside.day.travel import great_circle
from tubside.errors import DayError
from tubside.panel.markup import circle, element, number, path, rectangle, text, words

FOOT = 30.0
RADIUS, SIZE, ROW = 15.0, 14.0, 26.0
LETTER_WIDTH = 0.53
"""Of the size of type, a mean over letters of a plain face."""
LONGEST_NAME = 22
SIDES = (0, 4, 6, 3, 5, 8)
"""Corners of each technician's marks, nought for a disc; repeated after six."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """How large the map is drawn; the same size of type, so a narrow one can be read on a phone."""

    width: float
    height: float
    columns: int  # of the legend
    named: int  # more stops than this are drawn without names; the day's list has them

    @property
    def frame(self) -> Frame:
        """Where places may stand."""
        return Frame(self.width, self.height - 20.0, 46.0)


WIDE = Sheet(720.0, 560.0, 2, 30)
NARROW = Sheet(390.0, 470.0, 1, 12)


@dataclass(frozen=True, slots=True)
class Dot:
    """One stop as drawn."""

    place: Place
    name: str
    done: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One technician's round as drawn."""

    name: str
    start: Place
    end: Place
    dots: tuple[Dot, ...]


def map_svg(lines: Sequence[Line], sheet: Sheet = WIDE, *, alone: bool = True) -> str:
    """Return the map as SVG text.

    Parameters
    ----------
    lines
        The rounds in order; those without visits are named below and not drawn.
    sheet
        :data:`WIDE` for print and wide screens, :data:`NARROW` for a phone.
    alone
        With its own colours; without, the page's style sheet has :func:`map_look.map_rules`.

    Raises
    ------
    DayError
        When there is no place to draw.
    """
    places = [place for one in lines for place in _way(one)]
    if not places:
        msg = "there is nobody and nowhere to draw; plan the day first"
        raise DayError(msg)
    where = _parted(lines, points(places, sheet.frame), sheet.frame)
    height = sheet.height + FOOT + ROW * math.ceil(len(lines) / sheet.columns)
    said = _told(lines)
    parts = [
        element("title", {}, words("The rounds of the day")),
        element("desc", {}, words(said)),
        *([element("style", {}, map_rules())] if alone else []),
        rectangle((0, 0, sheet.width, height), 14, "tm-paper"),
        rectangle((10, 10, sheet.width - 20, sheet.height - 20), 10, "tm-land"),
        *_rounds(lines, where),
        *_names(lines, where, sheet),
        *_scale(places, sheet),
        *_legend(lines, sheet),
    ]
    marks = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(sheet.width)} {number(height)}",
        "role": "img",
        "aria-label": said,
    }
    return element("svg", marks, *parts)


def letter(k: int) -> str:
    """Return the k-th technician's letter: A to Z, then AA."""
    first, last = divmod(k, 26)
    return (letter(first - 1) if first else "") + chr(ord("A") + last)


def _way(line: Line) -> list[Place]:
    return [line.start, *(dot.place for dot in line.dots), line.end]


def _spans(lines: Sequence[Line]) -> Iterator[tuple[int, Line, int]]:
    """Yield number, line and where its points begin."""
    at = 0
    for k, line in enumerate(lines):
        yield k, line, at
        at += len(line.dots) + 2


def _parted(lines: Sequence[Line], where: Floats, frame: Frame) -> Floats:
    """Marks of stops that would cover each other moved apart; starts and ends stay."""
    stops = [at + 1 + i for _, line, at in _spans(lines) for i in range(len(line.dots))]
    if stops:
        where[stops] = apart(where[stops], 2.0 * RADIUS + 4.0, frame)
    return where


def _rounds(lines: Sequence[Line], where: Floats) -> Iterator[str]:
    """Lines first, then yards, then marks, so that no line crosses a number."""
    used = [(k, line, at) for k, line, at in _spans(lines) if line.dots]
    for k, line, at in used:
        way = where[at : at + len(line.dots) + 2]
        yield path(_joined(way), line_class(k))
        yield from (_arrow(a, b, k) for a, b in pairwise(way))
    for _, line, at in used:
        yield from (_yard(*where[end]) for end in (at, at + len(line.dots) + 1))
    for k, line, at in used:
        for i, dot in enumerate(line.dots):
            x, y = (float(value) for value in where[at + 1 + i])
            css = "tm-mark tm-gone" if dot.done else "tm-mark"
            yield _shape(x, y, k, css)
            yield text(x, y + 4.0, f"{letter(k)}{i + 1}", 11.5, "tm-no")


def _joined(way: Floats) -> str:
    return "M" + "L".join(f"{number(float(x))} {number(float(y))}" for x, y in way)


def _arrow(a: Floats, b: Floats, k: int) -> str:
    """A small head at the middle of a way that is long enough for it."""
    along = b - a
    length = float(np.hypot(*along))
    if length < 2.0 * RADIUS + 18.0:
        return ""
    along = along / length
    across = np.array([-along[1], along[0]])
    tip = 0.5 * (a + b) + 6.0 * along
    corners = [tip, tip - 11.0 * along + 5.5 * across, tip - 11.0 * along - 5.5 * across]
    return path(f"{_joined(np.array(corners))}z", f"tm-arrow-{LINES[k % len(LINES)]}")


def _yard(x: float, y: float) -> str:
    """A small house: where a round starts or ends."""
    commands = f"M{number(x - 9)} {number(y + 9)}v-10l9-9 9 9v10z"
    return path(commands, "tm-yard")


def _shape(x: float, y: float, k: int, css: str) -> str:
    sides = SIDES[k % len(SIDES)]
    if not sides:
        return circle(x, y, RADIUS, css)
    grown = RADIUS * {3: 1.55, 4: 1.3}.get(sides, 1.12)
    turn = np.pi / 4 if sides == 4 else -np.pi / 2
    angles = turn + 2.0 * np.pi * np.arange(sides) / sides
    corners = np.column_stack([x + grown * np.cos(angles), y + grown * np.sin(angles)])
    return path(f"{_joined(corners)}z", css)


def _names(lines: Sequence[Line], where: Floats, sheet: Sheet) -> Iterator[str]:
    dots = [
        (where[at + 1 + i], _short(dot.name))
        for _, line, at in _spans(lines)
        for i, dot in enumerate(line.dots)
    ]
    if not dots or len(dots) > sheet.named:
        return
    widths = [LETTER_WIDTH * SIZE * len(name) for _, name in dots]
    spots = np.array([spot for spot, _ in dots])
    ways = [along(where[at : at + len(line.dots) + 2]) for _, line, at in _spans(lines)]
    crowd = Crowd(where, RADIUS + 2.0, np.concatenate(ways))
    boxes = name_boxes(spots, widths, SIZE, crowd, sheet.frame)
    for (spot, name), (left, _, right, bottom) in zip(dots, boxes, strict=True):
        # a face wider or narrower than reckoned must not grow into its own mark
        x, css = left, "tm-say"
        if right <= spot[0]:
            x, css = right, "tm-say tm-end"
        elif left < spot[0]:
            x, css = 0.5 * (left + right), "tm-say tm-mid"
        yield text(x, bottom - 0.2 * SIZE, name, SIZE, css)


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1].rstrip()}…"


def _scale(places: Sequence[Place], sheet: Sheet) -> Iterator[str]:
    """A bar of a round number of kilometres, north, and that it is a sketch."""
    size = points(places, sheet.frame)
    real = great_circle(places)
    drawn = np.hypot(*(size[:, None] - size[None]).transpose(2, 0, 1))
    width, y = sheet.width, sheet.height - 22.0
    if real.max() > 0.0:
        at = np.unravel_index(int(np.argmax(real)), real.shape)
        per_km = float(drawn[at] / real[at]) * KILOMETRE
        length = _round_number(width / 6.0 / per_km)
        yield path(f"M24 {number(y - 5)}v5h{number(length * per_km)}v-5", "tm-rule")
        yield text(30.0 + length * per_km, y, f"{length:g} km", 12, "tm-quiet")
    yield text(width - 24.0, y, "a sketch; close marks are moved apart", 12, "tm-quiet tm-end")
    yield text(width - 23.0, 30.0, "N", 13, "tm-quiet tm-mid")
    yield path(
        f"M{number(width - 23)} 34v16M{number(width - 27.5)} 40.5l4.5-6.5 4.5 6.5", "tm-rule"
    )


def _round_number(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is at most ``most``."""
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most)


def _legend(lines: Sequence[Line], sheet: Sheet) -> Iterator[str]:
    for k, line in enumerate(lines):
        row, column = divmod(k, sheet.columns)
        x = 30.0 + column * sheet.width / sheet.columns
        y = sheet.height + 16.0 + row * ROW
        visits = len(line.dots)
        count = "no visits" if not visits else f"{visits} visit{'s' if visits > 1 else ''}"
        yield path(f"M{number(x)} {number(y)}h54", line_class(k))
        yield element(
            "g",
            {"transform": f"translate({number(x + 27)} {number(y)}) scale(.7)"},
            _shape(0.0, 0.0, k, "tm-mark"),
            text(0.0, 5.0, letter(k), 14, "tm-no"),
        )
        yield text(x + 66.0, y + 5.0, f"{_short(line.name)}: {count}", SIZE, "tm-say")


def _told(lines: Sequence[Line]) -> str:
    """The map in words, for who does not see it."""
    return "; ".join(
        f"{letter(k)}, {line.name}: "
        + (", then ".join(dot.name for dot in line.dots) if line.dots else "no visits")
        for k, line in enumerate(lines)
    )
