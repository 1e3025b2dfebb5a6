"""What a customer's page shows of the pack and the panel, in plain words and pictures."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from tubside.errors import OwnCheckError
from tubside.pack.schema import Condition, CustomerStep, Pack
from tubside.panel.close_up import close_up_svg
from tubside.panel.drawing import front_svg
from tubside.panel.lights import light_of
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short
from tubside.service import records
from tubside.service.coding import outcomes_of
from tubside.service.customer_danger import ASK, dangers_asked
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.own_check.choosing import Ask
from tubside.service.short_text import indication_told
from tubside.service.step_pictures.choosing import picture_of
from tubside.web.pages.call import said_often
from tubside.web.pages.desk import Form
from tubside.web.pages.tap_drawing import NOT_SURE, states_of
from tubside.web.pages.words import outcome_words

NOT_DONE = (("not done", "I would rather not do this"),)
NOT_SURE_WORDS = (("not sure", "I am not sure"),)
RERUN = (("works", "It works again"), ("still-fails", "It is still the same"))
PLUG = {
    "out": "Plug out",
    "in": "Plug in",
    "either": "Leave the plug as it is",
}
TAPS = {"shut": "Tap shut", "open": "Tap open"}


@dataclass(frozen=True, slots=True)
class Sight:
    """One machine to pick: its value in the form, its name, and its drawn front."""

    value: str
    name: str
    about: str
    picture: Markup


def asked_dangers(known: Knowledge | None) -> list[tuple[str, str]]:
    """Kind and question of each danger; gas too while the machine is not known."""
    if known is None:
        return [(str(kind), ask) for kind, ask in ASK.items()]
    return [(str(one.danger), one.ask) for one in dangers_asked(known.pack)]


def machines(library: Library) -> list[Sight]:
    """Every model with its drawn front, then each family for whoever finds none of these."""
    found = []
    for name in library.models():
        known = library.model(name)
        if known.panel is not None:
            drawn = Markup(front_svg(known.panel, alone=False))  # noqa: S704  # our own drawing
            found.append(Sight(f"model:{name}", known.panel.name, known.pack.title, drawn))
    for name in library.families():
        title = library.family(name).pack.title
        found.append(
            Sight(f"family:{name}", f"Another {title[:1].lower()}{title[1:]}", "", Markup())
        )
    return found


def trouble_values(known: Knowledge) -> dict[str, object]:
    """The pictures of the panel, its lamps one by one, and the troubles in people's words."""
    panel = known.panel
    return {
        "pictures": [] if panel is None else _pictures(panel),
        "lamps": [] if panel is None else [(n, lamp.label) for n, lamp in panel.lamps.items()],
        "states": [] if panel is None else [s for s in states_of(panel) if s != NOT_SURE],
        "troubles": troubles(known.pack),
    }


def _pictures(panel: Panel) -> list[tuple[str, Markup, str]]:
    return [
        (name, Markup(close_up_svg(panel, name)), in_short(panel, panel.lights(name)))  # noqa: S704  # our own drawing
        for name in sorted(panel.indications, key=lambda one: in_short(panel, panel.lights(one)))
    ]


def troubles(pack: Pack) -> list[tuple[str, str]]:
    """Every trouble as people put it, the commonest first."""
    often = said_often(pack)
    ranked = sorted(pack.conditions.items(), key=lambda item: (-often[item[0]], item[0]))
    return [(name, _in_words(condition)) for name, condition in ranked]


def _in_words(condition: Condition) -> str:
    """The trouble as people say it on the telephone, where the pack has noted that.

    Two ways of saying it tell more than one: "won't fill, no water".
    """
    return ", or ".join(condition.words[:2]) or condition.title


def picked_lamps(known: Knowledge, form: Form) -> records.Indication | None:
    """What the panel shows: the picture picked, else the lamps told one by one, else nothing."""
    panel, picked = known.panel, form.one("picked")
    if panel is None:
        return None
    if picked:
        if picked not in panel.indications:
            msg = "pick one of the pictures"
            raise OwnCheckError(msg)
        return indication_told(known, picked)
    told = {lamp: form.one(f"lamp.{lamp}") for lamp in panel.lamps}
    known_lamps = {n: s for n, s in told.items() if s in states_of(panel) and light_of(s)}
    return records.Indication(lamps=known_lamps) if known_lamps else None


def step_shown(known: Knowledge, ask: Ask) -> dict[str, object]:
    """One step: its cautions, its pictures, what to do, and the answers."""
    pack = known.pack
    entry = pack.checks[ask.id] if ask.kind == "check" else pack.remedies[ask.id]
    assert entry.customer_step is not None
    picture = picture_of(pack.family, ask.id, entry.customer_step)
    return {
        "ask": ask,
        "title": entry.title,
        "say": entry.say,
        "cautions": [(name, pack.cautions[name]) for name in entry.cautions],
        "minutes": entry.minutes,
        "picture": Markup(picture.svg),  # noqa: S704  # our own drawing
        "caption": picture.caption,
        "ready": ready(entry.customer_step),
        "outcomes": outcome_choices(known, ask),
    }


def ready(step: CustomerStep) -> list[tuple[str, str]]:
    """Picture and words of how plug, tap and tray must be before a step is done."""
    touching = step.touches != "nothing"
    found = [(f"plug-{step.plug}", PLUG[step.plug])] if touching and step.plug != "either" else []
    if step.taps in TAPS:
        found.append((f"tap-{step.taps}", TAPS[step.taps]))
    if step.tray:
        found.append(("tray", "Tray and towels under it"))
    if step.litres > 0.0:
        found.append(("water", f"Up to {step.litres:g} litres may come"))
    return found


def outcome_choices(known: Knowledge, ask: Ask) -> list[tuple[str, str]]:
    """The answers to a step, by id and words."""
    if ask.kind == "remedy":
        return [*RERUN, *NOT_DONE]
    told = [(name, outcome_words(known, ask.id, name)) for name in outcomes_of(known, ask.id)]
    return [*told, *NOT_SURE_WORDS]
