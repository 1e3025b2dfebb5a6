"""Teaching what a model shows: one indication after the other, in the controller's order."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ModelError
from tubside.panel.display import plain
from tubside.panel.lights import MOST_BLINKS, SOUNDS, blinks
from tubside.panel.sketch import MOST_INDICATIONS, SketchIndication
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.models import FROM_WORDS, SURE_WORDS
from tubside.web.pages.teach_draft import At, at

LIGHTS = ("off", "steady", "flashing", *(str(blinks(n)) for n in range(2, MOST_BLINKS + 1)))
KNOWN_FROM = {name: FROM_WORDS[name] for name in ("seen", "published", "hearsay")}
LONGEST_LABEL = 24


def shows(desk: Desk, request: Request, _form: Form) -> Response:
    """What it shows, in the controller's order, and a form for one more or to change one."""
    it = at(desk, request)
    if not it.sketch.lamps:
        return go(f"/models/drafts/{it.id}/lamps")
    conditions = sorted(it.pack.conditions.items(), key=lambda item: item[1].title.casefold())
    place = request.query_params.get("edit", "")
    n = _place(place)
    values = {
        "edit": n if n is not None and n < len(it.sketch.indications) else None,
        "draft": it.id,
        "sketch": it.sketch,
        "told": [_told(it, shown) for shown in it.sketch.indications],
        "indications": it.sketch.indications,
        "lights": LIGHTS,
        "sounds": [(s, "no sound" if s == "none" else s) for s in SOUNDS],
        "conditions": [(name, condition.title) for name, condition in conditions],
        "sure": list(SURE_WORDS.items()),
        "known_from": list(KNOWN_FROM.items()),
        "seen": _seen(it, request.query_params),
    }
    return desk.render(request, "model_shows.html", values, 200)


def keep_shows(desk: Desk, request: Request, form: Form) -> Response:
    """Take one indication, change one, take one away, or change the order."""
    it = at(desk, request)
    shown = list(it.sketch.indications)
    do, _, place = form.one("do").partition(":")
    n = -1 if (told := _place(place)) is None else told
    if do == "add":
        if len(shown) >= MOST_INDICATIONS:
            msg = f"a panel shows {MOST_INDICATIONS} things at most"
            raise ModelError(msg)
        shown.append(_indication(it, form))
        _refuse_twin(shown, len(shown) - 1)
    elif do == "change" and 0 <= n < len(shown):
        shown[n] = _indication(it, form)
        _refuse_twin(shown, n)
    elif do == "remove" and 0 <= n < len(shown):
        del shown[n]
    elif do == "up" and 0 < n < len(shown):
        shown[n - 1], shown[n] = shown[n], shown[n - 1]
    elif do == "down" and 0 <= n < len(shown) - 1:
        shown[n + 1], shown[n] = shown[n], shown[n + 1]
    it.keep(indications=tuple(shown))
    return go(f"/models/drafts/{it.id}/shows#told")


def _seen(it: At, told: Mapping[str, str]) -> SketchIndication | None:
    """What was seen on a call, to begin the form with; None when nothing was handed over."""
    lamps = {str(n): told.get(f"lamp.{n}", "off") for n in range(len(it.sketch.lamps))}
    sound = next((sound for sound in SOUNDS if sound == told.get("sound")), None)
    if sound is None:
        return None
    lit = {n: words for n, words in lamps.items() if words in LIGHTS and words != "off"}
    display = told.get("display", "")[:LONGEST_LABEL] or None
    return SketchIndication(lamps=lit, conditions=[], sound=sound, display=display)


def _indication(it: At, form: Form) -> SketchIndication:
    lights = {str(n): form.one(f"lamp.{n}", "off") for n in range(len(it.sketch.lamps))}
    means = form.all("condition")
    sound, sure, source = form.one("sound", "none"), form.one("sure"), form.one("known_from")
    wrong = (
        any(words not in LIGHTS for words in lights.values())
        or sound not in SOUNDS
        or any(name not in it.pack.conditions for name in means)
    )
    if wrong or not means or sure not in SURE_WORDS or source not in KNOWN_FROM:
        msg = "tell what each lamp does, what it means, how sure that is and where from"
        raise ModelError(msg)
    display = form.one("display") or None
    return SketchIndication(
        lamps={n: words for n, words in lights.items() if words != "off"},
        conditions=means,
        sound=sound,  # type: ignore[arg-type]  # checked above
        display=None if display is None else display[:LONGEST_LABEL],
        sure=sure,  # type: ignore[arg-type]  # checked above
        known_from=source,  # type: ignore[arg-type]  # checked above
        source=form.one("source")[:200],
        note=form.one("note")[:200],
    )


def _refuse_twin(shown: list[SketchIndication], place: int) -> None:
    """Refuse at once what the check of the whole panel would refuse at the end."""
    others, last = [*shown[:place], *shown[place + 1 :]], shown[place]
    looks = (last.lamps, last.sound, plain(last.display or ""))
    if any((one.lamps, one.sound, plain(one.display or "")) == looks for one in others):
        msg = (
            "it is told already that it looks and sounds like this; take that one away "
            "first, or tell both meanings in one"
        )
        raise ModelError(msg)


def _place(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None


def _told(it: At, shown: SketchIndication) -> Mapping[str, object]:
    lit = [f"{it.sketch.lamps[int(n)].label} {words}" for n, words in shown.lamps.items()]
    sound = [] if shown.sound == "none" else [shown.sound]
    display = [] if shown.display is None else [f"display {shown.display}"]
    return {
        "looks": ", ".join([*lit, *sound, *display]) or "no lamp lit",
        "means": " or ".join(it.pack.conditions[name].title for name in shown.conditions),
        "sure": SURE_WORDS[shown.sure],
    }
