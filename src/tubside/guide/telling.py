"""What the guide says of a step, a lamp and a trouble, in its language."""

from __future__ import annotations

from collections.abc import Iterator

from tubside.guide.languages import Language
from tubside.pack.schema import CustomerStep, Pack
from tubside.panel.lights import Light
from tubside.panel.schema import Panel
from tubside.service.customer_plan import CustomerPlan

OFTEN, SOMETIMES = 0.4, 0.1
"""Chance cleared from which people put it right themselves "often" and "sometimes"."""
MOST_REASONS = 3


def looks(language: Language, panel: Panel, indication: str) -> list[str]:
    """What the lamps that are not off do, those that do the same together; and the display."""
    alike: dict[Light, list[str]] = {}
    for lamp, light in panel.lights(indication).items():
        if light.kind != "off":
            alike.setdefault(light, []).append(_label(language, panel.lamps[lamp].label))
    told = [_lamps_do(language, light, labels) for light, labels in alike.items()]
    display = panel.indications[indication].display
    if display:
        told.append(language.gettext("on the display: %(shown)s", shown=display))
    return told or [language.gettext("no lamp is lit")]


def _lamps_do(language: Language, light: Light, labels: list[str]) -> str:
    """What lamps do, in words."""
    lamps, many = _listed(language, labels), len(labels)
    if light.kind == "steady":
        return language.ngettext(
            "lamp %(lamps)s stays lit", "lamps %(lamps)s stay lit", many, lamps=lamps
        )
    if light.kind == "flashing":
        return language.ngettext(
            "lamp %(lamps)s flashes", "lamps %(lamps)s flash", many, lamps=lamps
        )
    blinks = language.ngettext("%(num)s blink", "%(num)s blinks", light.count)
    return language.ngettext(
        "lamp %(lamps)s: %(blinks)s",
        "lamps %(lamps)s: %(blinks)s",
        many,
        lamps=lamps,
        blinks=blinks,
    )


def _listed(language: Language, names: list[str]) -> str:
    """Names in a row, as "2, 3 and 5"."""
    *some, last = names
    if not some:
        return last
    return language.gettext("%(some)s and %(last)s", some=", ".join(some), last=last)


def _label(language: Language, label: str) -> str:
    """A lamp's label; in quotes where it is a word and would be read as one of ours."""
    return label if len(label) == 1 else language.gettext("“%(label)s”", label=label)


def sound_words(language: Language, sound: str) -> str:
    """The name of a sound."""
    match sound:
        case "notes":
            return language.gettext("a short tune")
        case "pulses":
            return language.gettext("short beeps or buzzes")
        case "steady tone":
            return language.gettext("one long tone")
        case _:
            return language.gettext("no sound")


def capital(words: str) -> str:
    """Words with a capital.

    >>> capital("empty the strainer")
    'Empty the strainer'
    """
    return words[:1].upper() + words[1:]


def sentence(words: str) -> str:
    """Words with a capital and an end.

    >>> sentence("a tap is shut")
    'A tap is shut.'
    """
    whole = capital(words.strip())
    return whole if not whole or whole.endswith((".", "!", "?")) else f"{whole}."


def made_ready(language: Language, fields: CustomerStep) -> Iterator[str]:
    """Yield what to do before a step, from its fields: plug, taps, water, tray."""
    if fields.plug == "out":
        yield language.gettext("Dry your hands, stand on a dry floor, and pull the plug.")
        yield language.gettext("No plug to pull? Leave this one out.")
    elif fields.plug == "in":
        yield language.gettext("The plug stays in: touch no water and nothing wet.")
    if fields.taps == "shut":
        yield language.gettext("Shut the tap.")
    if fields.water == "below-40":
        yield language.gettext(
            "The water has to be cool, below 40 °C: after a hot wash let it stand first."
        )
    if fields.tray:
        yield language.gettext("Put a flat tray and towels ready.")
    if fields.litres > 0:
        most = f"{fields.litres:g}"
        yield language.gettext("Up to about %(litres)s litres of water may come out.", litres=most)


def can_clear(language: Language, plan: CustomerPlan) -> str:
    """Whether people can put it right themselves, in plain words."""
    if plan.cleared >= OFTEN:
        return language.gettext("You can often put this right yourself.")
    if plan.cleared >= SOMETIMES:
        return language.gettext("You can sometimes put this right yourself.")
    if plan.cleared > 0:
        return language.gettext("You can seldom put this right yourself; a look is worth it.")
    return language.gettext("This one needs us. Your answers help us to come prepared.")


def reasons(pack: Pack, plan: CustomerPlan) -> list[str]:
    """The most frequent reasons that lie outside the machine, or with the load, in plain words."""
    found = [
        (
            cause.weight * sum(cause.reported_as.get(one, 0.0) for one in plan.conditions),
            cause.plain,
        )
        for cause in pack.causes.values()
        if "customer" in cause.cleared_by and cause.plain and cause.kind in {"user", "site"}
    ]
    found = sorted((one for one in found if one[0] > 0), key=lambda one: -one[0])
    return [plain for _, plain in found[:MOST_REASONS]]
