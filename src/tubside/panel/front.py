"""The shapes of a machine's front as SVG."""

from __future__ import annotations

from math import cos, radians, sin

from tubside.errors import ModelError
from tubside.panel.extent import DIAL_MARKS
from tubside.panel.markup import circle, element, number, path, rectangle, text
from tubside.panel.schema import (
    Box,
    Button,
    Dial,
    Disc,
    Display,
    Dome,
    Lettering,
    Panel,
    Shape,
    Stroke,
)
from tubside.panel.sketch import MARGIN, WIDTH

SWEEP = 270.0
"""Marks are spread over this much of a dial [degrees], open at the bottom."""


def shape_picture(shape: Shape) -> str:
    """One shape of the drawing."""
    match shape:
        case Box() | Display():
            drawn = _box(shape)
        case Disc():
            drawn = circle(shape.x, shape.y, shape.radius, f"tp-{shape.paint}")
        case Dome():
            drawn = _dome(shape)
        case Stroke():
            points = "L".join(f"{number(x)} {number(y)}" for x, y in shape.points)
            drawn = path(f"M{points}", f"tp-{shape.paint}")
        case Lettering():
            css = "tp-name" if shape.over == "plate" else "tp-label"
            drawn = text(shape.x, shape.y, shape.text, shape.size, css)
        case Dial():
            drawn = _dial(shape)
        case Button():
            drawn = _button(shape)
    return drawn


def photo_picture(panel: Panel, address: str) -> str:
    """A straightened photo where the drawn panel would be, on a front made from taps.

    Raises
    ------
    ModelError
        When the front was drawn by hand, so that nobody knows where a photo lies on it.
    """
    front = panel.drawing.front
    if abs(front.width - WIDTH - 2 * MARGIN) > 1e-6:
        msg = f"the front of the {panel.name} was not made from a photo; leave the photo out"
        raise ModelError(msg)
    height = front.height - 2 * MARGIN
    place = {"x": MARGIN, "y": MARGIN, "width": WIDTH, "height": height}
    shown = {"preserveAspectRatio": "none", "href": address}
    ground = rectangle((0, 0, front.width, front.height), 18, "tp-fascia")
    return ground + element("image", {**place, **shown})


def _box(box: Box | Display) -> str:
    sides = (box.x, box.y, box.width, box.height)
    if isinstance(box, Display):
        return rectangle(sides, 0.15 * box.height, "tp-fascia")
    return rectangle(sides, box.corner, f"tp-{box.paint}")


def _dome(dome: Dome) -> str:
    left, base, across, rx, ry = (
        number(value)
        for value in (
            dome.x - dome.radius_x,
            dome.y,
            2 * dome.radius_x,
            dome.radius_x,
            dome.radius_y,
        )
    )
    return path(f"M{left} {base}a{rx} {ry} 0 0 1 {across} 0z", f"tp-{dome.paint}")


def _dial(dial: Dial) -> str:
    rim = circle(dial.x, dial.y, dial.radius, "tp-plate")
    cap = circle(dial.x, dial.y, 0.66 * dial.radius, "tp-line")
    pointer = path(_spoke(dial, dial.pointer, (0.14, 0.62)), "tp-line")
    step = SWEEP / max(dial.marks - 1, 1)
    angles = [step * mark - SWEEP / 2 for mark in range(dial.marks)]
    marks = "".join(_spoke(dial, angle, (1.14, DIAL_MARKS)) for angle in angles)
    return rim + cap + pointer + (path(marks, "tp-hair") if marks else "")


def _spoke(dial: Dial, degrees: float, reach: tuple[float, float]) -> str:
    """A stroke outwards from the dial's centre, between two shares of its radius."""
    right, up = sin(radians(degrees)), cos(radians(degrees))
    ends = [
        f"{number(dial.x + out * right)} {number(dial.y - out * up)}"
        for out in (share * dial.radius for share in reach)
    ]
    return f"M{ends[0]}L{ends[1]}"


def _button(button: Button) -> str:
    box = (button.x, button.y, button.width, button.height)
    push = rectangle(box, button.height / 2, "tp-plate")
    if button.label is None:
        return push
    below = button.y + button.height + 10
    return push + text(button.x + button.width / 2, below, button.label, 8.5, "tp-name tp-mid")
