"""How far a shape or a lamp reaches on the front: left, top, right, bottom [mm]."""

from __future__ import annotations

from tubside.panel.schema import (
    Box,
    Button,
    Dial,
    Disc,
    Display,
    Dome,
    Lamp,
    Lettering,
    Shape,
    Stroke,
)

CLEAR = 1.95
"""Labels begin at this share of a lamp's half size, beyond its rays."""

STATE_LINE = 1.18
"""From the label's base line to that of the state word, in heights of the label."""

Extent = tuple[float, float, float, float]

LETTER = 0.72
"""Mean width of a bold letter in the widest usual system face, in heights (seen, rounded up)."""

BAR = 2.4
"""A bar-shaped lamp is this many times as wide as high."""

DIAL_MARKS = 1.3
"""Marks around a dial reach this many radii out."""


def shape_extent(shape: Shape) -> Extent:
    """The extent of one shape of the drawing."""
    match shape:
        case Box() | Button() | Display():
            return shape.x, shape.y, shape.x + shape.width, shape.y + shape.height
        case Disc():
            return _around(shape.x, shape.y, shape.radius, shape.radius)
        case Dial():
            reach = shape.radius * (DIAL_MARKS if shape.marks else 1)
            return _around(shape.x, shape.y, reach, reach)
        case Dome():
            right = shape.x + shape.radius_x
            return shape.x - shape.radius_x, shape.y - shape.radius_y, right, shape.y
        case Lettering():
            width = LETTER * shape.size * len(shape.text)
            return shape.x, shape.y - shape.size, shape.x + width, shape.y
        case Stroke():
            across, down = zip(*shape.points, strict=True)
            return min(across), min(down), max(across), max(down)


def lamp_extent(lamp: Lamp) -> Extent:
    """The extent of one lamp, without its label and rays."""
    width, height = lamp_size(lamp)
    return _around(lamp.x, lamp.y, width / 2, height / 2)


def lamp_size(lamp: Lamp) -> tuple[float, float]:
    """Width and height of one lamp [mm]; ``size`` is the height."""
    return (lamp.size * BAR if lamp.shape == "bar" else lamp.size), lamp.size


def label_size(lamp: Lamp) -> float:
    """Height of the label's letters [mm]: large beside a large lamp, never tiny."""
    return min(17.0, max(11.0, 0.56 * lamp.size))


def label_place(lamp: Lamp, *, with_state: bool) -> tuple[float, float]:
    """Where the base line of the label begins, ends or has its middle [mm]."""
    across, down = (CLEAR * side / 2 for side in lamp_size(lamp))
    size = label_size(lamp)
    state_line = STATE_LINE * size if with_state else 0.0
    beside = lamp.y + 0.36 * size - state_line / 2
    match lamp.label_at:
        case "right":
            return lamp.x + across, beside
        case "left":
            return lamp.x - across, beside
        case "below":
            return lamp.x, lamp.y + down + 0.6 * size
        case "above":
            return lamp.x, lamp.y - down - state_line


def label_extent(lamp: Lamp) -> Extent:
    """The extent of the label printed beside a lamp, at its widest."""
    x, y = label_place(lamp, with_state=False)
    size = label_size(lamp)
    width = LETTER * size * len(lamp.label)
    left = {"right": x, "left": x - width}.get(lamp.label_at, x - width / 2)
    return left, y - 0.75 * size, left + width, y


def _around(x: float, y: float, across: float, down: float) -> Extent:
    return x - across, y - down, x + across, y + down
