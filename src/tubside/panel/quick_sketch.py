"""A panel told over the telephone in two minutes: how many lamps, how they lie, what each does.

Nothing is known of what it means, so it moves no belief. Lamps are counted as people
read: rows and grids from the left and from the top, a ring clockwise from twelve o'clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, pi, sin, sqrt
from typing import Literal, get_args

import msgspec

from tubside.panel.drawing import seen_svg
from tubside.panel.lights import OFF, Light, Sound
from tubside.panel.matching import Seen
from tubside.panel.schema import Panel
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of

Layout = Literal["row", "column", "ring", "grid"]
LAYOUTS: tuple[Layout, ...] = get_args(Layout)
MOST = 12
"""Lamps that anybody counts over the telephone (common practice, no source)."""
LONGEST_LABEL = 12
NAMELESS = "Sketch"


@dataclass(frozen=True, slots=True)
class Look:
    """What a panel shows: each lamp in order (None: not sure), the sound, the display's text."""

    lights: tuple[Light | None, ...]
    sound: Sound | None = None
    display: str | None = None


@dataclass(frozen=True, slots=True)
class Front:
    """What a panel is: how its lamps lie, the words beside them ("" where not told)."""

    layout: Layout
    labels: tuple[str, ...]
    display: bool = False


def places(layout: Layout, lamps: int) -> list[tuple[float, float]]:
    """The lamps' places as shares of the panel's width and height.

    >>> places("row", 2), places("grid", 3)
    ([(0.25, 0.5), (0.75, 0.5)], [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75)])
    """
    if layout == "ring" and lamps > 1:
        turns = [2 * pi * n / lamps for n in range(lamps)]
        return [(0.5 + 0.42 * sin(turn), 0.5 - 0.42 * cos(turn)) for turn in turns]
    across = _columns(layout, lamps)
    down = ceil(lamps / across)
    return [((n % across + 0.5) / across, (n // across + 0.5) / down) for n in range(lamps)]


def _columns(layout: Layout, lamps: int) -> int:
    if layout == "column":
        return 1
    return ceil(sqrt(lamps)) if layout == "grid" else lamps


def shape(layout: Layout, lamps: int) -> float:
    """The drawn panel's width over its height."""
    if layout == "column":
        return 0.6 if lamps > 1 else 3.0
    return 1.4 if layout in {"ring", "grid"} and lamps > 1 else 3.0


def labels_of(told: Sequence[str]) -> list[str]:
    """A label for each lamp, all different: the one told, else its number.

    >>> labels_of(["door", "", "Door", "2"])
    ['door', '2', '3', '4']
    """
    taken = {str(n) for n in range(1, len(told) + 1)}
    found = []
    for number, words in enumerate(told, 1):
        plain = " ".join(words.split())[:LONGEST_LABEL]
        label = plain if plain and plain.casefold() not in taken else str(number)
        taken.add(label.casefold())
        found.append(label)
    return found


def sketch_of(front: Front, family: str, name: str = NAMELESS) -> Sketch:
    """The panel as a draft to be taught: its lamps in their places, nothing shown yet."""
    labels = labels_of(front.labels)
    at = places(front.layout, len(labels))
    if front.display:
        at = [(x, 0.45 + 0.55 * y) for x, y in at]
    return Sketch(
        name=name,
        family=family,
        shape=min(shape(front.layout, len(labels)), 1.6 if front.display else 8.0),
        lamps=tuple(
            SketchLamp(label=label, x=x, y=y) for label, (x, y) in zip(labels, at, strict=True)
        ),
        display=(0.5, 0.1) if front.display else None,
    )


def indication_of(look: Look, conditions: Sequence[str] = ()) -> SketchIndication:
    """What was shown as a draft's indication; lamps not sure are left dark."""
    lit = {str(n): str(light) for n, light in enumerate(look.lights) if light and light != OFF}
    return SketchIndication(
        lamps=lit,
        conditions=list(conditions),
        sound=look.sound or "none",
        display=look.display or None,
    )


def picture(front: Front, look: Look, name: str = NAMELESS) -> str:
    """What was told, drawn and blinking as it was told, for the question whether it looks so."""
    drawn = _panel(front, look, name)
    lights = {lamp: light for lamp, light in zip(drawn.lamps, look.lights, strict=True) if light}
    return seen_svg(drawn, Seen(lights, look.sound, look.display), alone=False, still=False)


def words(front: Front, look: Look) -> str:
    """What was told in a few words, such as "lamp 2: 3 blinks, no sound"."""
    labels = labels_of(front.labels)
    told = [
        f"lamp {label}: {light or 'not sure'}"
        for label, light in zip(labels, look.lights, strict=True)
        if light != OFF
    ]
    heard = [] if look.sound is None else ["no sound" if look.sound == "none" else look.sound]
    read = [f"display {look.display}"] if look.display else []
    return ", ".join([*(told or ["no lamp lit"]), *heard, *read])


def drawn_alike(panel: Panel, front: Front) -> bool:
    """Whether a panel has its lamps just where a sketch puts them, in the same order."""
    sketched = _panel(front, Look((OFF,) * len(front.labels)))
    return _at(panel) == _at(sketched)


def _at(panel: Panel) -> list[tuple[float, float]]:
    return [(lamp.x, lamp.y) for lamp in panel.lamps.values()]


def _panel(front: Front, look: Look, name: str = NAMELESS) -> Panel:
    sketch = sketch_of(front, "", name)
    return panel_of(msgspec.structs.replace(sketch, indications=(indication_of(look),)))
