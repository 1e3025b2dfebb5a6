"""What each form tells, said so that a phone without signal makes the same facts of it.

A page carries, beside the fields of a form, a list of patterns. Most are the body of a
fact in which ``"$name"`` stands for the first value of a field and ``"$*name"`` for all
of them, ``"$#name"`` for its number, ``"$+name"`` for one that may be left empty,
``"$?name"`` for true where it is ticked, ``"$^name"`` for the letters and digits in it and
``"$~name"`` for the noon of its day; an empty value leaves the key out. The others are:

- ``{"each": field, "need": [...], "body": {...}}``: a body for each value, "$" in it;
  every value needed must be there, unless the answer is that of somebody who did nothing;
- ``{"pick": field, "of": {value: pattern}}``: the pattern that belongs to the value;
- ``{"only": field, "body": {...}}``: a body only where the field holds something;
- ``{"read": {...}}``: a number in the unit of its reading, or an answer in words;
- ``{"lamps": "lamp.", ...}``: a panel, each lamp in a field of that prefix;
- ``"@note"``, ``"@photo"`` and ``"@person"`` as a value: a fresh reference, and what is
  in the field, or the name and address, goes beside the facts under it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape

from tubside.pack.schema import Observer
from tubside.panel.lights import SOUNDS
from tubside.panel.schema import Panel
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.measuring import expected, reading_of
from tubside.service.views import JobView
from tubside.web.security.public import next_page

FORMAT = 1
"""Of the patterns; copies of pages may be older than the program on the phone."""
Pattern = Mapping[str, object]
NOT_SURE = "not sure"


@pass_context
def told_field(
    context: Context,
    facts: Sequence[Pattern],
    go: str = "",
    *,
    new: bool = False,
    say: str = "",
    names: Mapping[str, str] | None = None,
) -> Markup:
    """A hidden field with the patterns of a form, and with what its page had seen.

    ``go`` is the page that follows, the job's own where none is named; ``new`` opens
    a job; ``say`` and ``names`` put what it tells into words.
    """
    view, session = context.get("view"), context.get("session")
    told: dict[str, object] = {"format": FORMAT, "facts": list(facts)}
    if session is not None:
        told["user"] = session.user.name
    if new:
        told["new"] = True
    if isinstance(view, JobView):
        told |= {"job": view.id, "seen": dict(view.seen)}
        if view.computed_from:
            told["computed_from"] = view.computed_from
    if say:
        told["say"] = f"{say[:1].upper()}{say[1:]}"
    if names:
        told["names"] = dict(names)
    if go:
        told["go"] = go if "{job}" in go else next_page(go)
    text = json.dumps(told, separators=(",", ":"))
    return Markup('<input type="hidden" name="told" value="{}">').format(escape(text))


def cautions(step: str, ids: Sequence[str]) -> list[Pattern]:
    """A fact for each caution ticked."""
    body = {"kind": "caution", "caution": "$", "step": step}
    return [{"each": "caution", "need": list(ids), "body": body}] if ids else []


def check(view: JobView, name: str, by: Observer, ids: Sequence[str]) -> list[Pattern]:
    """A check's outcome, or the number that it reads."""
    body = {"kind": "check", "check": name, "by": by, "outcome": "$outcome"}
    read = None if view.known is None else reads(view.known, name)
    if read is None:
        return [*cautions(name, ids), body]
    return [*cautions(name, ids), {"read": {"check": name, "by": by, **read}}]


def reads(known: Knowledge, name: str) -> Pattern | None:
    """How the number of a check becomes SI, shift + slope * number; None where it reads none."""
    compiled = known.model.checks[known.model.names.checks.index(name)].reading
    if compiled is None or known.pack.checks[name].reading is None:
        return None
    limits = expected(known, name)
    return {
        "unit": reading_of(known, name).unit,
        "slope": compiled.slope,
        "shift": compiled.shift,
        "least": _finite(limits.low),
        "most": _finite(limits.high),
    }


def all_reads(view: JobView) -> dict[str, Pattern]:
    """The same of every check of a job's pack, for the steps that the phone works out."""
    known = view.known
    names = () if known is None else known.model.names.checks
    found = {} if known is None else {name: reads(known, name) for name in names}
    return {name: read for name, read in found.items() if read is not None}


def _finite(bound: float) -> float | None:
    return bound if abs(bound) != float("inf") else None


def remedy(name: str, by: Observer, ids: Sequence[str]) -> list[Pattern]:
    """A remedy and its re-run."""
    body = {"kind": "remedy", "remedy": name, "by": by, "outcome": "$outcome"}
    return [*cautions(name, ids), body]


def step(view: JobView, name: str, by: Observer, ids: Sequence[str]) -> list[Pattern]:
    """A check or a remedy, by its name in the job's pack; nothing where it is neither."""
    if view.known is not None and name in view.known.pack.checks:
        return check(view, name, by, ids)
    return remedy(name, by, ids)


DANGER: list[Pattern] = [{"kind": "danger", "kinds": "$*danger"}]
FIRST_DANGER: list[Pattern] = [
    {"pick": "danger", "of": {"none": {"kind": "danger"}, "*": DANGER[0]}}
]
"""The first question, to which "none of these" is an answer."""
PAYER: list[Pattern] = [{"kind": "payer", "who": "$who"}]
PAID: Pattern = {"kind": "payer", "who": "$payer"}
CAME_BACK: list[Pattern] = [{"kind": "came-back"}]
TAKE_BACK: list[Pattern] = [{"kind": "retract", "fact": "$fact", "reason": "$reason"}]
PLACE: list[Pattern] = [
    {
        "pick": "do",
        "of": {
            "arrive": {"kind": "place", "where": "site"},
            "back-on-phone": {"kind": "place", "where": "phone"},
        },
    }
]
"""Being at the machine; a booking needs signal, as others must see it at once."""
ENDED: list[Pattern] = [
    {
        "pick": "do",
        "of": {
            "failed": {"kind": "visit", "status": "failed", "reason": "$reason"},
            "given-up": {"kind": "visit", "status": "given-up", "reason": "$reason"},
            "done": {"kind": "visit", "status": "done"},
            "cancel": {"kind": "visit", "status": "cancelled"},
        },
    }
]
"""How a visit ended."""
WAITS: list[Pattern] = [
    {
        "pick": "do",
        "of": {
            "wait": {"kind": "waiting", "what": "$what", "until": "$~until"},
            "wait-no-more": {"kind": "waiting"},
        },
    }
]
MOVED: list[Pattern] = [
    {
        "pick": "do",
        "of": {
            "workshop": {"kind": "machine-moved", "to": "workshop"},
            "home": {"kind": "machine-moved", "to": "home"},
        },
    }
]
"""Where the machine went."""
TROUBLE: list[Pattern] = [
    {
        "kind": "reported",
        "conditions": ["$first", "$*condition"],
        "when": "$when",
        "how_often": "$how_often",
    },
    {"only": "age", "body": {"kind": "machine", "age_years": "$#age"}},
    {
        "pick": "moved",
        "of": {
            "yes": {"kind": "context", "name": "just_moved", "value": True},
            "no": {"kind": "context", "name": "just_moved", "value": False},
        },
    },
]
CLOSING: list[Pattern] = [
    {"kind": "closing", "causes": "$*cause", "confirmed_by": "$confirmed_by", "words": "@note"}
]
PHOTO: list[Pattern] = [
    {"only": "photo", "body": {"kind": "photo", "ref": "@photo", "of": "$of", "when": "$when"}}
]
PERSON: list[Pattern] = [{"pick": "do", "of": {"keep": {"kind": "person", "ref": "@person"}}}]
PART_USED: list[Pattern] = [
    {"kind": "part-used", "part": "$part", "units": "$#units", "place": "$place"}
]
WORDS: list[Pattern] = [
    {"only": "note", "body": {"kind": "words", "ref": "@note", "about": "other"}}
]


def machine(library: Library) -> list[Pattern]:
    """The machine that was tapped, with its family, and who pays."""
    of: dict[str, Pattern] = {
        f"family:{name}": {"kind": "machine", "family": name, "serial": "$^serial"}
        for name in library.families()
    }
    for name in library.models():
        family = library.model(name).pack.family
        told = {"kind": "machine", "model": name, "family": family, "serial": "$^serial"}
        of[f"model:{name}"] = told
    paid: Pattern = {"pick": "machine", "of": {key: {"only": "payer", "body": PAID} for key in of}}
    of["serial"] = {"kind": "machine", "serial": "$^serial"}
    return [{"pick": "machine", "of": of}, paid]


def panel(drawn: Panel) -> list[Pattern]:
    """The lamps as they were tapped, or those of the picture that looks the same."""
    picks: dict[str, Pattern] = {}
    for name, shown in drawn.indications.items():
        lights = {lamp: str(light) for lamp, light in drawn.lights(name).items()}
        body: dict[str, object] = {"kind": "indication", "lamps": lights}
        if drawn.sounds and shown.sound is not None:
            body["sound"] = shown.sound
        if shown.display is not None:
            body["display"] = shown.display
        picks[name] = body
    tapped = {"lamps": "lamp.", "not": NOT_SURE, "sounds": list(SOUNDS)}
    return [{"pick": "picked", "of": {**picks, "": tapped}}]
