"""The distinct states of a loop as pixels: each drawn once, however often it comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.panel.drawing import MARGIN, Drawn, drawn_svg
from tubside.panel.moving.loop import Loop, loop_of
from tubside.panel.moving.raster import FACE, Pixels, pixels_of
from tubside.panel.palette import paper_rules
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short

SMALLEST, LARGEST = 120, 1920
"""Pixels across a picture."""


@dataclass(frozen=True, slots=True)
class Wish:
    """How a picture is wished: pixels across, speed, words, and on which photo."""

    width: int = 640
    speed: float = 1.0
    words: bool = True
    photo: str | None = None


@dataclass(frozen=True, slots=True)
class Pictures:
    """A loop and its pictures.

    ``pictures`` has the shape (distinct states, rows, columns, 3), rows and columns even;
    ``which`` says which of them stands in each state of the loop; ``title`` and ``told``
    are what it shows and how fast, in words.
    """

    loop: Loop
    pictures: Pixels
    which: NDArray[np.intp]
    title: str
    told: str


def pictures_of(panel: Panel, indication: str, wish: Wish) -> Pictures:
    """An indication's loop and its pictures.

    Raises
    ------
    UnknownNameError
        When the panel has no such indication.
    DocumentError
        When a package for pixels is missing.
    """
    loop = loop_of(panel, indication, wish.speed)
    distinct, which = np.unique(loop.lit, axis=0, return_inverse=True)
    drawn = [
        _even(
            pixels_of(
                drawn_svg(
                    panel,
                    indication,
                    Drawn(
                        lit=dict(zip(loop.lamps, row.tolist(), strict=True)),
                        words=wish.words,
                        photo=wish.photo,
                        rules=paper_rules(FACE),
                        speed=wish.speed,
                    ),
                ),
                wish.width,
            )
        )
        for row in distinct
    ]
    title = f"{panel.name}: {in_short(panel, panel.lights(indication))}"
    return Pictures(loop, np.stack(drawn), which.ravel(), title, told(loop))


def told(loop: Loop) -> str:
    """How fast it is on the machine and in the picture, for the file's data.

    The times of a loop in seconds, the rates in flashes a second.
    """
    if not loop.moves:
        return "nothing flashes"
    rhythm = loop.rhythm
    lines = [
        f"true rate {rhythm.true_hz:.4g} Hz",
        f"drawn rate {rhythm.drawn_hz:.4g} Hz",
        f"round {loop.length_s:.4g} s",
    ]
    if rhythm.slowed:
        lines.append("drawn slower than life")
    if loop.cut:
        lines.append("the round is cut: the lamps' counts meet again only later")
    return "; ".join(lines)


def lamp_pixels(panel: Panel, lamp: str, width: int) -> tuple[float, float]:
    """Where a lamp stands in a picture of this width, x and y [pixels]."""
    across = panel.drawing.front.width + 2 * MARGIN
    scale = width / across
    at = panel.lamps[lamp]
    return (at.x + MARGIN) * scale, (at.y + MARGIN) * scale


def _even(pixels: Pixels) -> Pixels:
    """The picture with its last row or column doubled where their number is odd."""
    rows, columns = (side % 2 for side in pixels.shape[:2])
    return np.pad(pixels, ((0, rows), (0, columns), (0, 0)), mode="edge")
