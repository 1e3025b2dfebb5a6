"""The drawn panel: tap the lamps until they look as told, or pick the moving picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, TubsideError
from tubside.panel.close_up import close_up_svg
from tubside.panel.display import texts_of
from tubside.panel.drawing import seen_svg
from tubside.panel.lights import MOST_BLINKS, SOUNDS, blinks, light_of
from tubside.panel.matching import Seen, likelihoods
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short
from tubside.service import records
from tubside.service.replay import latest
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.tap_drawing import NOT_SURE, ROUND, states_of, tap_drawing

CLEARLY = 5.0
"""How many times likelier the reading must be than the next to be told alone (by judgement)."""
LONGEST_TEXT = 24
COUNTS = tuple((n, str(blinks(n))) for n in range(1, MOST_BLINKS + 1))


@dataclass(frozen=True, slots=True)
class TapLamp:
    """One lamp as a button: what it shows now, and what the next tap makes of it."""

    id: str
    label: str
    state: str
    next: str
    tapped: bool
    counts: bool
    """Whether it blinks a count in any indication, or was told to."""


@dataclass(frozen=True, slots=True)
class Told:
    """A panel as it was told: drawn still, in words, and what that reads as."""

    picture: Markup
    words: str
    reads_as: tuple[str, ...]


def show(desk: Desk, request: Request, form: Form) -> Response:
    """The panel as told before, or with every lamp not sure."""
    view = desk.view(request.path_params["job"])
    panel = _panel(view)
    values = _values(view, panel, _states(panel, view, form), _sound(view, form))
    return desk.render(request, "panel.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Take a tap, or keep what the panel shows as a fact."""
    view = desk.view(request.path_params["job"])
    panel = _panel(view)
    picked = form.one("picked")
    if picked in panel.indications:
        shown = panel.indications[picked]
        lights = {lamp: str(light) for lamp, light in panel.lights(picked).items()}
        sound = shown.sound if panel.sounds else None
        body = records.Indication(lamps=lights, sound=sound, display=shown.display)
        desk.keep(view.id, [body], form.one("once"))
        return go(f"/jobs/{view.id}")
    if form.one("tap") or form.one("set") or form.one("rest"):
        states = _tapped(_states(panel, view, form), form)
        values = _values(view, panel, states, _sound(view, form), _touched(form))
        return desk.render(request, "panel.html", values, 200)
    told = {lamp: s for lamp, s in _states(panel, view, form).items() if s != NOT_SURE}
    heard = form.one("sound") if form.one("sound") in SOUNDS else None
    display = form.one("display")[:LONGEST_TEXT] or None
    if not told and heard is None and display is None:
        msg = "nothing is told yet: tap a lamp until it looks as on the machine"
        raise FactError(msg)
    body = records.Indication(lamps=told, sound=heard, display=display)
    desk.keep(view.id, [body], form.one("once"))
    return go(f"/jobs/{view.id}")


def told_panel(view: JobView) -> Told | None:
    """The panel as it was told; None while nothing was told or no panel is known."""
    told = latest(view.entries, records.Indication)
    if told is None or view.known is None or view.known.panel is None:
        return None
    panel = view.known.panel
    lamps = {lamp: light for lamp, words in told.lamps.items() if (light := light_of(words))}
    seen = Seen(
        {lamp: light for lamp, light in lamps.items() if lamp in panel.lamps},
        next((sound for sound in SOUNDS if sound == told.sound), None),
        told.display,
    )
    drawn = Markup(seen_svg(panel, seen, alone=False))  # noqa: S704  # our own drawing
    lights = {lamp: seen.lamps.get(lamp) for lamp in panel.lamps if lamp in seen.lamps}
    heard = () if seen.sound is None else (seen.sound if seen.sound != "none" else "no sound",)
    read = () if not seen.display else (f"display {seen.display}",)
    words = ", ".join((in_short(panel, lights), *heard, *read))
    return Told(drawn, words, _reads_as(view, panel, seen))


def _reads_as(view: JobView, panel: Panel, seen: Seen) -> tuple[str, ...]:
    """Titles of what the likeliest indication means, and of the next if it is near."""
    assert view.known is not None
    try:
        chances = likelihoods(panel, seen, "customer")
    except TubsideError:
        return ()
    ranked = sorted(chances, key=lambda name: -chances[name])
    near = [name for name in ranked if CLEARLY * chances[name] >= chances[ranked[0]]]
    if len(near) > 2:
        return ()
    conditions = view.known.pack.conditions
    return tuple(
        " or ".join(conditions[c].title for c in panel.indications[name].conditions)
        for name in near
    )


def _values(
    view: JobView, panel: Panel, states: Mapping[str, str], sound: str, touched: str = ""
) -> dict[str, object]:
    pictures = [
        (name, Markup(close_up_svg(panel, name)), _in_words(panel, name))  # noqa: S704  # our own drawing
        for name in sorted(panel.indications, key=lambda name: _by_count(panel, name))
    ]
    lamps = [
        TapLamp(
            lamp,
            panel.lamps[lamp].label,
            state,
            next_state(state),
            tapped=lamp == touched,
            counts="blink" in state or _counts(panel, lamp),
        )
        for lamp, state in states.items()
    ]
    return {
        "view": view,
        "panel": panel,
        "lamps": lamps,
        "states": states_of(panel),
        "round": ROUND,
        "counts": COUNTS if panel.counts else (),
        "drawing": tap_drawing(panel, states),
        "pictures": pictures,
        "sounds": [(sound, sound) for sound in SOUNDS] if panel.sounds else [],
        "sound": sound,
        "display": _display(view, panel),
    }


def _in_words(panel: Panel, name: str) -> str:
    text = panel.indications[name].display
    return in_short(panel, panel.lights(name)) + (f", display {text}" if text else "")


def _display(view: JobView, panel: Panel) -> str | None:
    """What was told of the display before; None where no indication uses one."""
    if not texts_of(panel):
        return None
    told = latest(view.entries, records.Indication)
    return "" if told is None or told.display is None else told.display


def _counts(panel: Panel, lamp: str) -> bool:
    return any(panel.lights(name)[lamp].kind == "blinks" for name in panel.indications)


def _by_count(panel: Panel, indication: str) -> tuple[list[int], str]:
    """Order of the pictures: by counts, then by their words, so that one is soon found."""
    lights = panel.lights(indication)
    return [light.count for light in lights.values()], in_short(panel, lights)


def _panel(view: JobView) -> Panel:
    if view.known is None or view.known.panel is None:
        msg = "no panel is known for this machine; tell the trouble in words instead"
        raise FactError(msg)
    return view.known.panel


def _states(panel: Panel, view: JobView, form: Form) -> dict[str, str]:
    """What each lamp shows: from the form, else from the latest fact, else not sure."""
    told = latest(view.entries, records.Indication)
    before = {} if told is None else told.lamps
    known = states_of(panel)
    states = {lamp: form.one(f"lamp.{lamp}", before.get(lamp, NOT_SURE)) for lamp in panel.lamps}
    return {lamp: s if s in known else NOT_SURE for lamp, s in states.items()}


def _sound(view: JobView, form: Form) -> str:
    """The sound of the form, else of the latest fact, else none told."""
    told = latest(view.entries, records.Indication)
    return form.one("sound", "" if told is None or told.sound is None else told.sound)


def _tapped(states: dict[str, str], form: Form) -> dict[str, str]:
    if form.one("rest"):
        return {lamp: "off" if s == NOT_SURE else s for lamp, s in states.items()}
    lamp, _, state = form.one("set").partition(":")
    if lamp in states and light_of(state) is not None:
        return {**states, lamp: state}
    tapped = form.one("tap")
    return {**states, tapped: next_state(states[tapped])} if tapped in states else states


def _touched(form: Form) -> str:
    return form.one("tap") or form.one("set").partition(":")[0]


def next_state(state: str) -> str:
    """The state after one more tap; a count is left for the first of the round.

    >>> next_state("not sure"), next_state("steady"), next_state("off"), next_state("3 blinks")
    ('steady', 'flashing', 'not sure', 'steady')
    """
    position = ROUND.index(state) if state in ROUND else 0
    return ROUND[(position + 1) % len(ROUND)]
