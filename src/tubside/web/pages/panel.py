"""The drawn panel: tap the lamps until they look as told, or pick the moving picture."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.panel.drawing import indication_svg, seen_svg
from tubside.panel.lights import SOUNDS, blinks, light_of
from tubside.panel.matching import Seen
from tubside.panel.schema import Panel
from tubside.service import records
from tubside.service.replay import latest
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go

NOT_SURE = "not sure"
FIRST_COUNT, LEAST, MOST = 3, 1, 12


@dataclass(frozen=True, slots=True)
class TapLamp:
    """One lamp as a button: what it shows now, and what the next tap makes of it."""

    id: str
    label: str
    state: str
    next: str
    count: int | None


def show(desk: Desk, request: Request, form: Form) -> Response:
    """The panel as tapped so far; a tap changes one lamp and keeps nothing yet."""
    view = desk.view(request.path_params["job"])
    panel = _panel(view)
    states = _states(panel, view, form)
    return desk.render(request, "panel.html", _values(view, panel, states, form.one("sound")), 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Take a tap, or keep what the panel shows as a fact."""
    view = desk.view(request.path_params["job"])
    panel = _panel(view)
    picked = form.one("picked")
    if picked in panel.indications:
        lights = {lamp: str(light) for lamp, light in panel.lights(picked).items()}
        desk.keep(view.id, [records.Indication(lamps=lights)], form.one("once"))
        return go(f"/jobs/{view.id}")
    if form.one("tap") or form.one("count") or form.one("rest"):
        states = _tapped(panel, _states(panel, view, form), form)
        return desk.render(
            request, "panel.html", _values(view, panel, states, form.one("sound")), 200
        )
    told = {lamp: s for lamp, s in _states(panel, view, form).items() if s != NOT_SURE}
    sound = form.one("sound") if form.one("sound") in SOUNDS else None
    if not told and sound is None:
        msg = "nothing is told yet: tap a lamp until it looks as on the machine"
        raise FactError(msg)
    desk.keep(view.id, [records.Indication(lamps=told, sound=sound)], form.one("once"))
    return go(f"/jobs/{view.id}")


def told_panel(view: JobView) -> Markup | None:
    """The panel as it was told, drawn still; None while nothing was told."""
    told = latest(view.entries, records.Indication)
    if told is None or view.known is None or view.known.panel is None:
        return None
    lamps = {lamp: light for lamp, words in told.lamps.items() if (light := light_of(words))}
    known = {lamp: light for lamp, light in lamps.items() if lamp in view.known.panel.lamps}
    return Markup(seen_svg(view.known.panel, Seen(known), alone=False))  # noqa: S704  # our own drawing


def _values(view: JobView, panel: Panel, states: dict[str, str], sound: str) -> dict[str, object]:
    seen = Seen({lamp: light for lamp, s in states.items() if (light := light_of(s))})
    pictures = [
        (name, Markup(indication_svg(panel, name, alone=False)))  # noqa: S704  # our own drawing
        for name in panel.indications
    ]
    return {
        "view": view,
        "panel": panel,
        "lamps": [_tap_lamp(panel, lamp, state) for lamp, state in states.items()],
        "picture": Markup(seen_svg(panel, seen, alone=False)),  # noqa: S704  # our own drawing
        "pictures": pictures,
        "sounds": SOUNDS if panel.sounds else (),
        "sound": sound,
    }


def _panel(view: JobView) -> Panel:
    if view.known is None or view.known.panel is None:
        msg = "no panel is known for this machine; tell the trouble in words instead"
        raise FactError(msg)
    return view.known.panel


def _states(panel: Panel, view: JobView, form: Form) -> dict[str, str]:
    """What each lamp shows: from the form, else from the latest fact, else not sure."""
    told = latest(view.entries, records.Indication)
    before = {} if told is None else told.lamps
    states = {lamp: form.one(f"lamp.{lamp}", before.get(lamp, NOT_SURE)) for lamp in panel.lamps}
    return {lamp: s if light_of(s) is not None else NOT_SURE for lamp, s in states.items()}


def _tapped(panel: Panel, states: dict[str, str], form: Form) -> dict[str, str]:
    if form.one("rest"):
        return {lamp: "off" if s == NOT_SURE else s for lamp, s in states.items()}
    lamp, _, change = form.one("count").partition(":")
    if lamp in states:
        light = light_of(states[lamp])
        now = light.count if light is not None and light.kind == "blinks" else FIRST_COUNT
        number = min(max(now + (1 if change == "more" else -1), LEAST), MOST)
        return {**states, lamp: str(blinks(number))}
    tapped = form.one("tap")
    if tapped in states:
        return {**states, tapped: next_state(panel, states[tapped])}
    return states


def next_state(panel: Panel, state: str) -> str:
    """The state after one more tap: not sure, steady, flashing, counted blinks, off."""
    round_ = [NOT_SURE, "steady", "flashing", "off"]
    if panel.counts:
        round_ = [NOT_SURE, str(blinks(FIRST_COUNT)), "steady", "flashing", "off"]
    light = light_of(state)
    if light is not None and light.kind == "blinks":
        state = str(blinks(FIRST_COUNT))
    position = round_.index(state) if state in round_ else 0
    return round_[(position + 1) % len(round_)]


def _tap_lamp(panel: Panel, lamp: str, state: str) -> TapLamp:
    light = light_of(state)
    count = light.count if light is not None and light.kind == "blinks" else None
    return TapLamp(lamp, panel.lamps[lamp].label, state, next_state(panel, state), count)
