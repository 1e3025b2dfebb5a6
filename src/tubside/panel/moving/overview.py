"""All that a model shows at once: a still of every indication, with what it means."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tubside.panel.drawing import MARGIN, Drawn, drawn_svg
from tubside.panel.legend import legend_height
from tubside.panel.markup import element, number, rectangle, text, words
from tubside.panel.palette import paper_rules
from tubside.panel.schema import Panel

CELL, APART = 240.0, 18.0
"""Width of one still and the room between two [units of the drawing]."""
HEAD, LINE = 54.0, 19.0
LETTERS, PER_LINE = 15.0, 28
"""Height of a caption's letters, and how many of them fit beside each other."""
LARGE = 26.0
HELD = "\N{NO-BREAK SPACE}"
"""Between words of a caption that stay on one line."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How the overview is laid out: stills to a row, and height of a page over its width.

    Without a shape all stands on one page as long as need be.
    """

    columns: int = 3
    shape: float | None = None
    photo: str | None = None


def overview_pages(
    panel: Panel, captions: Mapping[str, Sequence[str]], layout: Layout, rules: str | None = None
) -> list[str]:
    """The pages of the overview as drawings; ``captions`` are lines of words by indication.

    Every indication of the panel stands on it once, in the order of the file.
    """
    names = list(panel.indications)
    across = layout.columns
    rows = [names[n : n + across] for n in range(0, len(names), across)]
    high = [max(_height(panel, captions, name) for name in row) + APART for row in rows]
    width = across * CELL + (across + 1) * APART
    room = float("inf") if layout.shape is None else width * layout.shape - HEAD - 2 * APART
    pages: list[list[int]] = [[]]
    for n in range(len(rows)):
        if pages[-1] and sum(high[k] for k in pages[-1]) + high[n] > room:
            pages.append([])
        pages[-1].append(n)
    return [
        _page(
            panel,
            captions,
            [(rows[n], high[n]) for n in page],
            layout,
            (_number(at, len(pages)), rules or paper_rules()),
        )
        for at, page in enumerate(pages, 1)
    ]


def _number(page: int, pages: int) -> str:
    return "" if pages == 1 else f", page {page} of {pages}"


def _page(
    panel: Panel,
    captions: Mapping[str, Sequence[str]],
    rows: Sequence[tuple[list[str], float]],
    layout: Layout,
    words_on_it: tuple[str, str],
) -> str:
    which, rules = words_on_it
    width = layout.columns * CELL + (layout.columns + 1) * APART
    height = HEAD + APART + sum(high for _, high in rows)
    title = f"{panel.name}: all that it shows{which}"
    cells, top = [], HEAD
    for row, high in rows:
        for n, name in enumerate(row):
            left = APART + n * (CELL + APART)
            cells.append(_cell(panel, name, captions[name], (left, top), layout.photo))
        top += high
    box = f"0 0 {number(width)} {number(height)}"
    return element(
        "svg",
        {"xmlns": "http://www.w3.org/2000/svg", "viewBox": box, "role": "img", "aria-label": title},
        element("title", {}, words(title)),
        element("style", {}, words(rules)),
        rectangle((0, 0, width, height), 0, "tp-paper"),
        text(APART, 36, title, LARGE, "tp-name"),
        *cells,
    )


def _cell(
    panel: Panel, name: str, lines: Sequence[str], at: tuple[float, float], photo: str | None
) -> str:
    left, top = at
    drawn = drawn_svg(panel, name, Drawn(still=True, circles=True, photo=photo))
    high = _picture(panel, name)
    frame = element("svg", {"x": left, "y": top, "width": CELL, "height": high}, drawn)
    down = top + high + LINE
    return frame + "".join(
        text(left, down + n * LINE, line, LETTERS, "tp-name" if n < first else "tp-say")
        for lines_of, first in (_wrapped(lines),)
        for n, line in enumerate(lines_of)
    )


def _wrapped(lines: Sequence[str]) -> tuple[list[str], int]:
    """The caption's lines, and how many of them belong to the first sentence."""
    parts = [textwrap.wrap(line, PER_LINE) for line in lines]
    return [line.replace(HELD, " ") for part in parts for line in part], len(
        parts[0]
    ) if parts else 0


def _picture(panel: Panel, name: str) -> float:
    """How high the still stands in its cell."""
    front, shown = panel.drawing.front, panel.indications[name]
    sound = shown.sound if panel.sounds else None
    below = legend_height(panel.lights(name), sound, slowed=False)
    high = front.height + 2 * MARGIN + (MARGIN + below if below else 0)
    return CELL * high / (front.width + 2 * MARGIN)


def _height(panel: Panel, captions: Mapping[str, Sequence[str]], name: str) -> float:
    return _picture(panel, name) + LINE * (len(_wrapped(captions[name])[0]) + 1)
