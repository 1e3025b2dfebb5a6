"""The part of a front with the lamps on it, large enough to tap or to tell apart."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from math import hypot, inf

from tubside.errors import UnknownNameError
from tubside.panel.drawing import MARGIN
from tubside.panel.extent import (
    STATE_LINE,
    Extent,
    label_extent,
    label_place,
    label_size,
    lamp_extent,
)
from tubside.panel.front import shape_picture
from tubside.panel.lamp import RAY_TO, lamp_group, lamp_picture, lamp_words
from tubside.panel.markup import element, number, words
from tubside.panel.rhythm import rhythm_of
from tubside.panel.schema import Lamp, Panel
from tubside.panel.wording import in_short

LETTERS_OF_STATE = 9
"""The longest word of a state, with its frame, in letters."""
STATE_WIDTH = 0.55
"""Mean width of one of its letters, in heights of the label."""
AROUND = 8.0
"""Room around the lamps and their words [mm]."""


def nearest_lamps(panel: Panel) -> float:
    """Distance of the two lamps closest to each other [mm]; infinite for one lamp."""
    pairs = combinations(panel.lamps.values(), 2)
    return min((hypot(a.x - b.x, a.y - b.y) for a, b in pairs), default=inf)


def lamps_extent(panel: Panel, *, states: bool = True) -> Extent:
    """Where all lamps lie, with rays and labels, and with their states in words [mm]."""
    lamps = panel.lamps.values()
    reaches = [_rays(lamp) for lamp in lamps]
    reaches += [_words_extent(lamp) if states else label_extent(lamp) for lamp in lamps]
    left, top, right, bottom = _hull(reaches)
    return left - AROUND, top - AROUND, right + AROUND, bottom + AROUND


def close_up_svg(panel: Panel, indication: str) -> str:
    """The lamps of one indication, blinking, without words: small pictures to choose among.

    Raises
    ------
    UnknownNameError
        When the panel has no such indication.
    """
    shown = panel.indications.get(indication)
    if shown is None:
        msg = f"the {panel.name} has no indication {indication}"
        raise UnknownNameError(msg)
    lights = panel.lights(indication)
    rhythm = rhythm_of(lights.values(), shown.period_s, shown.gap_s)
    left, top, right, bottom = lamps_extent(panel, states=False)
    lamps = "".join(
        lamp_group(
            name,
            panel.lamps[name],
            light,
            lamp_picture(panel.lamps[name], light, rhythm),
            lamp_words(panel.lamps[name], None),
        )
        for name, light in lights.items()
    )
    box = (left, top, right - left, bottom - top)
    title = in_short(panel, lights)
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": " ".join(map(number, box)),
            "class": "tp-panel",
            "role": "img",
            "aria-label": title,
        },
        element("title", {}, words(title)),
        front_pictures(panel),
        lamps,
    )


def front_pictures(panel: Panel) -> str:
    """Every shape of the front, without its lamps."""
    return "".join(shape_picture(shape) for shape in panel.drawing.shapes)


def whole_front(panel: Panel) -> Extent:
    """The front with its margin [mm]."""
    front = panel.drawing.front
    return -MARGIN, -MARGIN, front.width + MARGIN, front.height + MARGIN


def _rays(lamp: Lamp) -> Extent:
    left, top, right, bottom = lamp_extent(lamp)
    across = (right - left) * (RAY_TO - 1) / 2
    down = (bottom - top) * (RAY_TO - 1) / 2
    return left - across, top - down, right + across, bottom + down


def _words_extent(lamp: Lamp) -> Extent:
    """About how far the label and the word of a state below it reach together."""
    x, y = label_place(lamp, with_state=True)
    size = label_size(lamp)
    left, _, right, _ = label_extent(lamp)
    width = max(right - left, STATE_WIDTH * size * LETTERS_OF_STATE)
    left = {"right": x, "left": x - width}.get(lamp.label_at, x - width / 2)
    return left, y - 0.8 * size, left + width, y + (STATE_LINE + 0.4) * size


def _hull(extents: Iterable[Extent]) -> Extent:
    lefts, tops, rights, bottoms = zip(*extents, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)
