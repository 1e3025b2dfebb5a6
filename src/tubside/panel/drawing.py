"""The front of a model as SVG: at rest, showing an indication, or as a person told it.

Nothing here needs a script. Lamps blink by SMIL, which a strict content policy
allows; with reduced motion, in print or held still, the labelled still picture takes
their place. ``alone`` drawings carry their own colours, others use the page's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tubside.errors import UnknownNameError
from tubside.panel.extent import LETTER
from tubside.panel.front import photo_picture, shape_picture
from tubside.panel.lamp import circled, lamp_at, lamp_group, lamp_picture, lamp_words
from tubside.panel.legend import legend, legend_height
from tubside.panel.lights import OFF, Light, Sound
from tubside.panel.markup import element, number, rectangle, text, words
from tubside.panel.matching import Seen
from tubside.panel.palette import standalone_rules
from tubside.panel.rhythm import Rhythm, rhythm_of
from tubside.panel.schema import Display, Panel
from tubside.panel.wording import SLOWED, in_full, in_short

MARGIN = 14.0
CORNER = 18.0


@dataclass(frozen=True, slots=True)
class _Scene:
    """All that one drawing shows."""

    lights: Mapping[str, Light | None]
    sound: Sound | None
    rhythm: Rhythm
    title: str
    states: bool = True
    moves: bool = False
    display: str | None = None
    lit: Mapping[str, bool] | None = None
    circles: bool = False
    photo: str | None = None

    @property
    def changes(self) -> bool:
        return any(light is not None and light.changes for light in self.lights.values())

    @property
    def slowed(self) -> bool:
        return self.moves and self.rhythm.slowed


def front_svg(panel: Panel, *, alone: bool = True) -> str:
    """The front at rest: every lamp off, no words about it."""
    lights = dict.fromkeys(panel.lamps, OFF)
    title = f"Front of the {panel.name}"
    scene = _Scene(lights, None, rhythm_of([], None, None), title, states=False)
    return _svg(panel, scene, standalone_rules() if alone else None)


@dataclass(frozen=True, slots=True)
class Drawn:
    """How an indication is drawn.

    ``still`` holds it; ``lit`` says which lamps are lit at one moment of it instead.
    ``words`` are those of states and sound. ``circles`` are drawn around lamps that are
    not off. ``photo`` is the address of a straightened photo to draw the lamps on.
    ``rules`` are the drawing's own, None for those of the page it stands on.
    """

    still: bool = False
    lit: Mapping[str, bool] | None = None
    words: bool = True
    circles: bool = False
    photo: str | None = None
    rules: str | None = None
    speed: float = 1.0
    width: int | None = None


def indication_svg(
    panel: Panel, indication: str, *, still: bool = False, alone: bool = True
) -> str:
    """The front showing one of its indications, blinking or still.

    Raises
    ------
    UnknownNameError
        when the panel has no such indication
    """
    rules = standalone_rules() if alone else None
    return drawn_svg(panel, indication, Drawn(still=still, rules=rules))


def drawn_svg(panel: Panel, indication: str, drawn: Drawn) -> str:
    """The front showing one of its indications, drawn as is wished.

    Raises
    ------
    UnknownNameError
        when the panel has no such indication
    """
    shown = panel.indications.get(indication)
    if shown is None:
        known = ", ".join(panel.indications)
        msg = f"the {panel.name} has no indication {indication}; it has {known}"
        raise UnknownNameError(msg)
    lights = panel.lights(indication)
    rhythm = rhythm_of(lights.values(), shown.period_s, shown.gap_s, drawn.speed)
    title = f"{panel.name}: {in_short(panel, lights)}"
    if shown.display:
        title += f", display {shown.display}"
    scene = _Scene(
        lights,
        shown.sound if panel.sounds else None,
        rhythm,
        title,
        states=drawn.words,
        moves=not drawn.still,
        display=shown.display,
        lit=drawn.lit,
        circles=drawn.circles,
        photo=drawn.photo,
    )
    return _svg(panel, scene, drawn.rules, drawn.width)


def seen_svg(panel: Panel, seen: Seen, *, alone: bool = True, still: bool = True) -> str:
    """The front as a person told it; lamps not told of are drawn as not sure."""
    lights = {lamp: seen.lamps.get(lamp) for lamp in panel.lamps}
    rhythm = rhythm_of([light for light in lights.values() if light], None, None)
    title = f"{panel.name} as told: {in_short(panel, lights)}"
    scene = _Scene(lights, seen.sound, rhythm, title, moves=not still, display=seen.display)
    return _svg(panel, scene, standalone_rules() if alone else None)


def _svg(panel: Panel, scene: _Scene, rules: str | None, wide: int | None = None) -> str:
    front = panel.drawing.front
    below = legend_height(scene.lights, scene.sound, slowed=scene.slowed) if scene.states else 0.0
    gap = MARGIN if below else 0.0
    size = (front.width + 2 * MARGIN, front.height + 2 * MARGIN + gap + below)
    marks: dict[str, str | float] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(size[0])} {number(size[1])}",
        "class": "tp-panel",
        "role": "img",
        "aria-label": scene.title,
    }
    if wide is not None:
        marks |= {"width": wide, "height": wide * size[1] / size[0]}
    if scene.changes:
        marks["data-true-hz"] = f"{scene.rhythm.true_hz:.3g}"
        marks["data-drawn-hz"] = f"{scene.rhythm.drawn_hz:.3g}"
    lines = legend(panel, scene.lights, scene.sound, slowed=scene.slowed) if below else ""
    return element(
        "svg",
        marks,
        element("title", {}, words(scene.title)),
        element("desc", {}, words(_description(panel, scene))),
        "" if rules is None else element("style", {}, words(rules)),
        rectangle((0, 0, *size), CORNER, "tp-card"),
        _moved(MARGIN, MARGIN, _front(panel, scene)),
        _moved(MARGIN, 2 * MARGIN + front.height, lines),
    )


def _description(panel: Panel, scene: _Scene) -> str:
    if not scene.states:
        return panel.about
    slowed = f" It is {SLOWED}." if scene.slowed else ""
    return in_full(panel, scene.lights, scene.sound) + slowed


def _front(panel: Panel, scene: _Scene) -> str:
    lamps = "".join(
        lamp_group(
            name,
            panel.lamps[name],
            light,
            _lamp(panel, scene, name),
            lamp_words(panel.lamps[name], str(light or "not sure") if scene.states else None),
        )
        for name, light in scene.lights.items()
    )
    reads = _on_display(panel, scene.display) if scene.display else ""
    if scene.photo is not None:
        photo = photo_picture(panel, scene.photo)
        return element("g", {"class": "tp-photo"}, photo, reads, lamps)
    return "".join(shape_picture(shape) for shape in panel.drawing.shapes) + reads + lamps


def _lamp(panel: Panel, scene: _Scene, name: str) -> str:
    lamp, light = panel.lamps[name], scene.lights[name]
    around = circled(lamp) if scene.circles and light not in {None, OFF} else ""
    if scene.lit is not None:
        return around + lamp_at(lamp, light, lit=scene.lit[name])
    return around + lamp_picture(lamp, light, scene.rhythm if scene.moves else None)


def _on_display(panel: Panel, words_on_it: str) -> str:
    """The text in the middle of the first display, as large as there is room."""
    for shape in panel.drawing.shapes:
        if isinstance(shape, Display):
            size = min(0.62 * shape.height, shape.width / (LETTER * len(words_on_it) + 0.5))
            x, y = shape.x + shape.width / 2, shape.y + shape.height / 2 + 0.36 * size
            return text(x, y, words_on_it, size, "tp-label tp-mid")
    return ""


def _moved(right: float, down: float, content: str) -> str:
    place = {"transform": f"translate({number(right)} {number(down)})"}
    return element("g", place, content)
