"""One lamp as drawn: shape tells the state as well as light does.

Off is a small disc in a ring, steady a full disc with a bright core, flashing a
half-and-half disc with eight rays, not sure a dotted ring with a question mark.
"""

from __future__ import annotations

from math import ceil, cos, pi, sin

from tubside.panel.extent import STATE_LINE, label_place, label_size, lamp_size
from tubside.panel.lights import OFF, STEADY, Light
from tubside.panel.markup import circle, element, group, number, path, rectangle, text, words
from tubside.panel.rhythm import ALIKE, Keys, Rhythm, keys_of
from tubside.panel.schema import Lamp

RAYS = 8
RAY_FROM, RAY_TO = 1.18, 1.54
"""Rays reach from and to these shares of the lamp's half size."""

STATE_LETTER = 0.53
"""Mean width of a letter of the state words, in heights."""

ANCHORS = {"right": "", "left": " tp-end", "above": " tp-mid", "below": " tp-mid"}
"""Which end of the words stands at their place, as a class."""

DARK = 0.08
"""A blinking lamp's share of light while it is dark, so that its place stays seen."""

AROUND = 0.3
"""Room between a lamp and a circle drawn around it, in heights of the lamp."""

UNFRAMED = ("off", "not sure")


def lamp_picture(lamp: Lamp, light: Light | None, rhythm: Rhythm | None) -> str:
    """The lamp doing ``light`` (None: not sure); without a rhythm it holds still."""
    return _face(lamp, 1, "tp-fascia") + _doing(lamp, light, rhythm)


def lamp_at(lamp: Lamp, light: Light | None, *, lit: bool) -> str:
    """The lamp at one moment of a moving picture, where a changing one is lit or dark."""
    if light is None or not light.changes:
        return lamp_picture(lamp, light, None)
    glow = _lit(lamp) if lit else element("g", {"opacity": DARK}, _lit(lamp))
    rays = _rays(lamp) if light.kind == "flashing" else ""
    return _face(lamp, 1, "tp-fascia") + _ring(lamp, 1.22) + glow + rays


def circled(lamp: Lamp) -> str:
    """A circle around a lamp, as one draws on paper around what is meant.

    Light on dark, so that it is seen on any photo.
    """
    across, down = (side / 2 + AROUND * lamp.size for side in lamp_size(lamp))
    box = (lamp.x - across, lamp.y - down, 2 * across, 2 * down)
    return rectangle(box, down, "tp-under") + rectangle(box, down, "tp-around")


def lamp_words(lamp: Lamp, state: str | None) -> str:
    """The label beside the lamp and, below it, the state in a word."""
    size = label_size(lamp)
    x, y = label_place(lamp, with_state=state is not None)
    anchor = ANCHORS[lamp.label_at]
    label = text(x, y, lamp.label, size, f"tp-label{anchor}")
    if state is None:
        return label
    return label + _state_word((x, y + STATE_LINE * size), state, 0.86 * size, anchor)


def _doing(lamp: Lamp, light: Light | None, rhythm: Rhythm | None) -> str:
    if light is None:
        return _not_sure(lamp)
    if light == OFF:
        return _face(lamp, 0.6, "tp-off") + _face(lamp, 0.93, "tp-ring")
    if light == STEADY:
        return _lit(lamp)
    if rhythm is None:
        return _half_and_half(lamp) + _rays(lamp)
    still = {"class": "tp-still", "display": "none"}
    return group("tp-moving", _moving(lamp, light, rhythm)) + element(
        "g", still, _half_and_half(lamp), _rays(lamp)
    )


def _lit(lamp: Lamp) -> str:
    return _face(lamp, 1, "tp-on") + _face(lamp, 0.43, "tp-core")


def _moving(lamp: Lamp, light: Light, rhythm: Rhythm) -> str:
    keys = keys_of(light, rhythm)
    if light.kind == "flashing":
        blinking = _half_and_half(lamp, ring=False) + _animation(keys)
        return _ring(lamp, 0.86) + element("g", {}, blinking) + _rays(lamp)
    return _ring(lamp, 1.22) + element("g", {}, _lit(lamp), _animation(keys))


def _animation(keys: Keys) -> str:
    """Opacity in steps, so that nothing moves but the light."""
    lit = ";".join("1" if lit else f"{DARK:.2f}"[1:] for lit in keys.lit)
    moments = ";".join(f"{moment:.5f}" for moment in keys.moments)
    length = ceil(keys.length_s * 1000 - ALIKE) / 1000  # never shorter, so never faster
    timing = {"dur": f"{length:.3f}s", "repeatCount": "indefinite", "calcMode": "discrete"}
    return element(
        "animate", {"attributeName": "opacity", "values": lit, "keyTimes": moments, **timing}
    )


def _not_sure(lamp: Lamp) -> str:
    size = 0.7 * lamp.size
    asked = text(lamp.x, lamp.y + 0.36 * size, "?", size, "tp-label tp-ask tp-mid")
    return _face(lamp, 1, "tp-dotted") + asked


def _ring(lamp: Lamp, scale: float) -> str:
    return _face(lamp, scale, "tp-ring")


def _face(lamp: Lamp, scale: float, css: str) -> str:
    """The lamp's own shape about its centre."""
    width, height = (side * scale for side in lamp_size(lamp))
    if lamp.shape == "round":
        return circle(lamp.x, lamp.y, height / 2, css)
    box = (lamp.x - width / 2, lamp.y - height / 2, width, height)
    return rectangle(box, 0.18 * height, css)


def _half_and_half(lamp: Lamp, *, ring: bool = True) -> str:
    """Right half lit, left half dimmed: between on and off without any motion."""
    width, height = (side * 0.86 for side in lamp_size(lamp))
    if lamp.shape == "round":
        halves = [_half_disc(lamp, height / 2, sweep) for sweep in (1, 0)]
    else:
        top = lamp.y - height / 2
        halves = [
            rectangle((lamp.x, top, width / 2, height), 0, "tp-on"),
            rectangle((lamp.x - width / 2, top, width / 2, height), 0, "tp-half"),
        ]
    return (_ring(lamp, 0.86) if ring else "") + "".join(halves)


def _half_disc(lamp: Lamp, radius: float, sweep: int) -> str:
    x, top, r, down = (number(v) for v in (lamp.x, lamp.y - radius, radius, 2 * radius))
    return path(f"M{x} {top}a{r} {r} 0 0 {sweep} 0 {down}z", "tp-on" if sweep else "tp-half")


def _rays(lamp: Lamp) -> str:
    across, down = (side / 2 for side in lamp_size(lamp))
    strokes = []
    for turn in range(RAYS):
        right, below = across * cos(2 * pi * turn / RAYS), down * sin(2 * pi * turn / RAYS)
        from_to = [
            f"{number(lamp.x + share * right)} {number(lamp.y + share * below)}"
            for share in (RAY_FROM, RAY_TO)
        ]
        strokes.append(f"M{from_to[0]}L{from_to[1]}")
    width = max(1.4, 0.1 * lamp.size)
    return element("path", {"class": "tp-ray", "d": "".join(strokes), "stroke-width": width})


def _state_word(at: tuple[float, float], state: str, size: float, anchor: str) -> str:
    """The state as a word, framed when the lamp is lit."""
    x, y = at
    if state in UNFRAMED:
        return text(x, y, state, size, f"tp-state{anchor}")
    inset = 0.35 * size
    width = STATE_LETTER * size * len(state) + 2 * inset
    left, x = {"": (x, x + inset), " tp-end": (x - width, x - inset)}.get(
        anchor, (x - width / 2, x)
    )
    frame = rectangle((left, y - 0.95 * size, width, 1.3 * size), 0.3 * size, "tp-tag")
    return frame + text(x, y, state, size, f"tp-state{anchor}")


def lamp_group(name: str, lamp: Lamp, light: Light | None, *content: str) -> str:
    """One lamp with its words, found by ``data-lamp`` and told by a tooltip."""
    state = str(light or "not sure")
    marks = {"class": "tp-lamp", "data-lamp": name, "data-light": state}
    title = element("title", {}, words(f"{lamp.label}: {state}"))
    return element("g", marks, title, *content)
