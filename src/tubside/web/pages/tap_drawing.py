"""The drawn front as something to tap: on each lamp lies a button of the form around it.

Every lamp is drawn in each state that can be told of it, all but one of them not
displayed, so that a script can change a lamp without asking the server, and the same
form works without one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from markupsafe import Markup

from tubside.panel.close_up import front_pictures, lamps_extent, nearest_lamps, whole_front
from tubside.panel.extent import Extent
from tubside.panel.lamp import lamp_picture, lamp_words
from tubside.panel.lights import MOST_BLINKS, blinks, light_of
from tubside.panel.markup import element, number, words
from tubside.panel.schema import Lamp, Panel

NOT_SURE = "not sure"
ROUND = (NOT_SURE, "steady", "flashing", "off")
"""The states that taps walk through, lit ones first; counted blinks have keys of their own."""

DRAWN_PX, FINGER_PX = 300, 48
"""Width of the drawing on a narrow phone, and what a finger needs (WCAG 2.2, 2.5.5: 44)."""


def states_of(panel: Panel) -> tuple[str, ...]:
    """Every state that can be told of a lamp of this panel."""
    counted = [str(blinks(n)) for n in range(1, MOST_BLINKS + 1)] if panel.counts else []
    return (*ROUND, *counted)


def tap_box(panel: Panel) -> Extent:
    """The part that is drawn: all of the front if its lamps stand a finger apart on a phone.

    Else what lies around the lamps, which may still be closer than a finger: the row of
    buttons below the drawing does the same.
    """
    front = whole_front(panel)
    if nearest_lamps(panel) * DRAWN_PX / (front[2] - front[0]) >= FINGER_PX:
        return front
    near = lamps_extent(panel)
    return (
        max(near[0], front[0]),
        max(near[1], front[1]),
        min(near[2], front[2]),
        min(near[3], front[3]),
    )


def tap_drawing(panel: Panel, states: Mapping[str, str]) -> Markup:
    """The front showing ``states`` (lamp id -> words), to be put into a form."""
    left, top, right, bottom = tap_box(panel)
    apart = min(nearest_lamps(panel), FINGER_PX * 1.5 * (right - left) / DRAWN_PX)
    box = " ".join(map(number, (left, top, right - left, bottom - top)))
    lamps = [_lamp(name, lamp, states[name], states_of(panel)) for name, lamp in _lamps(panel)]
    fingers = [_finger(name, lamp, apart) for name, lamp in _lamps(panel)]
    drawn = element(
        "svg",
        {"viewBox": box, "class": "tp-panel", "aria-hidden": "true"},
        front_pictures(panel),
        *lamps,
        *fingers,
    )
    return Markup(drawn)  # noqa: S704  # numbers and words escaped on their way in


def _lamps(panel: Panel) -> Sequence[tuple[str, Lamp]]:
    return list(panel.lamps.items())


def _lamp(name: str, lamp: Lamp, now: str, states: Sequence[str]) -> str:
    return element("g", {"data-lamp": name}, *[_in_state(lamp, s, now) for s in states])


def _in_state(lamp: Lamp, state: str, now: str) -> str:
    light = None if state == NOT_SURE else light_of(state)
    marks = {"data-is": state} | ({} if state == now else {"display": "none"})
    return element("g", marks, lamp_picture(lamp, light, None), lamp_words(lamp, state))


def _finger(name: str, lamp: Lamp, side: float) -> str:
    """A button over the lamp; the row below has the same for keyboards and screen readers."""
    button = f'<button class="finger" name="tap" value="{words(name)}" tabindex="-1"></button>'
    place = {"x": lamp.x - side / 2, "y": lamp.y - side / 2, "width": side, "height": side}
    return element("foreignObject", place, button)
