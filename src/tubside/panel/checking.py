"""What must hold in a panel file beyond its shape; each check yields what is wrong."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import hypot

from tubside.pack.check_machine import wrong_values
from tubside.pack.parameters import CONTROLLER, PARAMETERS
from tubside.panel.display import plain
from tubside.panel.extent import Extent, label_extent, lamp_extent, shape_extent
from tubside.panel.lights import LIGHT_WORDS, MOST_BLINKS, light_of
from tubside.panel.problem import Wrong
from tubside.panel.schema import Display, Indication, Panel
from tubside.panel.sheet_checking import sheet_problems
from tubside.strict_yaml import Path, or_one_of

ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

CLEAR_GAP = 2.0
"""A gap shorter than this many periods is not seen as one (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PackNames:
    """The ids of the pack that a panel may name; None: not to be checked."""

    conditions: Collection[str]
    variants: Mapping[str, Collection[str]] | None = None
    family: str | None = None
    parts: Collection[str] | None = None


def problems(panel: Panel, names: PackNames) -> Iterator[Wrong]:
    """Everything that is wrong in ``panel``, given the names that the pack knows."""
    yield from _ids(panel)
    yield from _plate(panel, names)
    yield from _labels(panel)
    yield from _places(panel)
    yield from _overlaps(panel)
    for name, indication in panel.indications.items():
        yield from _references(panel, name, names)
        yield from _lights(panel, name)
        yield from _times(name, indication)
        yield from _display(panel, name)
    yield from _twins(panel)
    yield from _own_values(panel)
    yield from sheet_problems(panel, names.parts)


def _ids(panel: Panel) -> Iterator[Wrong]:
    mend = "write small letters, digits and single hyphens, e.g. aldermoor-tern"
    named: list[tuple[Path, str]] = [(("model",), panel.model)]
    named += [(("lamps", lamp), lamp) for lamp in panel.lamps]
    named += [(("indications", name), name) for name in panel.indications]
    for path, name in named:
        if not ID.fullmatch(name):
            yield Wrong(path, f"'{name}' is no id", mend)
    for section, count in (("lamps", panel.lamps), ("indications", panel.indications)):
        if not count:
            yield Wrong((section,), f"the panel has no {section}", "write one at least")


def _plate(panel: Panel, names: PackNames) -> Iterator[Wrong]:
    if names.family is not None and panel.family != names.family:
        what = f"the family is '{panel.family}' in a pack of the family '{names.family}'"
        yield Wrong(("family",), what, f"write {names.family}, or move the file")
    if names.variants is None:
        return
    for axis, value in panel.plate.variants.items():
        path = ("plate", "variants", axis)
        if axis not in names.variants:
            yield Wrong(path, f"the pack has no variant '{axis}'", or_one_of(axis, names.variants))
        elif value not in names.variants[axis]:
            mend = or_one_of(value, names.variants[axis])
            yield Wrong(path, f"the variant '{axis}' has no value '{value}'", mend)


def _own_values(panel: Panel) -> Iterator[Wrong]:
    found = [*wrong_values("machine", panel.machine, PARAMETERS)]
    found += wrong_values("controller", panel.controller, CONTROLLER)
    for path, what, mend in found:
        yield Wrong(path, what, mend)


def _labels(panel: Panel) -> Iterator[Wrong]:
    """A label must lead to one lamp, whether people say it or the lamp's id."""
    owner = {lamp.casefold(): lamp for lamp in panel.lamps}
    for lamp, drawn in panel.lamps.items():
        first = owner.setdefault(drawn.label.casefold(), lamp)
        if first != lamp:
            what = f"the label '{drawn.label}' also names lamp '{first}'"
            yield Wrong(("lamps", lamp, "label"), what, "give each lamp a label of its own")


def _places(panel: Panel) -> Iterator[Wrong]:
    front = panel.drawing.front
    drawn: list[tuple[Path, str, Extent]] = [
        (("drawing", "shapes", i), f"shape {i + 1}", shape_extent(shape))
        for i, shape in enumerate(panel.drawing.shapes)
    ]
    for lamp, placed in panel.lamps.items():
        drawn.append((("lamps", lamp), f"lamp '{lamp}'", lamp_extent(placed)))
        drawn.append((("lamps", lamp), f"the label of lamp '{lamp}'", label_extent(placed)))
    mend = f"keep it within {front.width:g} x {front.height:g} mm, or make the front larger"
    for path, name, (left, top, right, bottom) in drawn:
        if left < 0 or top < 0 or right > front.width or bottom > front.height:
            reach = f"{left:g} to {right:g} across and {top:g} to {bottom:g} down"
            yield Wrong(path, f"{name} is drawn outside the front: it reaches {reach} mm", mend)


def _overlaps(panel: Panel) -> Iterator[Wrong]:
    for (first, one), (second, other) in combinations(panel.lamps.items(), 2):
        if hypot(one.x - other.x, one.y - other.y) < (one.size + other.size) / 2:
            what = f"lamp '{second}' lies upon lamp '{first}'"
            yield Wrong(("lamps", second), what, "move it, or make it smaller")


def _references(panel: Panel, name: str, names: PackNames) -> Iterator[Wrong]:
    path, indication = ("indications", name), panel.indications[name]
    for i, condition in enumerate(indication.conditions):
        if condition not in names.conditions:
            what = f"'{name}' means the unknown condition '{condition}'"
            yield Wrong((*path, "conditions", i), what, or_one_of(condition, names.conditions))
    for lamp in indication.lamps:
        if lamp not in panel.lamps:
            what = f"'{name}' lights the unknown lamp '{lamp}'"
            yield Wrong((*path, "lamps", lamp), what, or_one_of(lamp, panel.lamps))
    if indication.sound != "none" and indication.sound not in panel.sounds:
        what = f"'{name}' sounds {indication.sound}, which the machine cannot make"
        mend = or_one_of(indication.sound, ["none", *panel.sounds]) + " or add it to 'sounds'"
        yield Wrong((*path, "sound"), what, mend)
    if indication.source not in panel.sources:
        what = f"'{name}' has the unknown source mark '{indication.source}'"
        yield Wrong((*path, "source"), what, or_one_of(indication.source, panel.sources))


def _display(panel: Panel, name: str) -> Iterator[Wrong]:
    text = panel.indications[name].display
    if text is not None and not any(isinstance(s, Display) for s in panel.drawing.shapes):
        what = f"'{name}' shows '{text}' on a display, and the front has none"
        yield Wrong(("indications", name, "display"), what, "draw a display, or remove it")


def _lights(panel: Panel, name: str) -> Iterator[Wrong]:
    for lamp, words in panel.indications[name].lamps.items():
        path: Path = ("indications", name, "lamps", lamp)
        light = light_of(words)
        if light is None:
            yield Wrong(path, f"lamp '{lamp}' cannot be '{words}'", f"write {LIGHT_WORDS}")
        elif light.kind == "blinks" and light.count < 2:
            mend = f"count from 2 to {MOST_BLINKS}, or write flashing"
            yield Wrong(path, "one blink and a gap looks like slow flashing", mend)


def _times(name: str, indication: Indication) -> Iterator[Wrong]:
    path = ("indications", name)
    lights = [light for words in indication.lamps.values() if (light := light_of(words))]
    changes = any(light.changes for light in lights)
    counts = any(light.kind == "blinks" for light in lights)
    for field, needed, value in (
        ("period_s", changes, indication.period_s),
        ("gap_s", counts, indication.gap_s),
    ):
        why = "changes" if field == "period_s" else "blinks a count"
        if needed and value is None:
            yield Wrong(path, f"'{name}' {why} and lacks '{field}'", f"add '{field}' in seconds")
        if not needed and value is not None:
            yield Wrong((*path, field), f"no lamp of '{name}' {why}", f"remove '{field}'")
    if indication.gap_s and indication.gap_s < CLEAR_GAP * (indication.period_s or 0):
        what = f"the gap of '{name}' is too short to be seen as one"
        yield Wrong((*path, "gap_s"), what, f"make it {CLEAR_GAP:g} periods or longer")


def _twins(panel: Panel) -> Iterator[Wrong]:
    shown: dict[tuple[object, ...], str] = {}
    for name, indication in panel.indications.items():
        text = plain(indication.display) if indication.display else None
        looks = (*panel.lights(name).values(), indication.sound, text)
        first = shown.setdefault(looks, name)
        if first != name:
            what = f"'{name}' looks and sounds the same as '{first}'"
            mend = "change one, or join them: one indication may mean several conditions"
            yield Wrong(("indications", name), what, mend)
