"""What the packs say, and the shop's own changes beside it."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import LayerError, TubsideError
from tubside.pack.layer.beside import Beside
from tubside.pack.layer.targets import told
from tubside.pack.reading import PackSource
from tubside.service.library import Library
from tubside.service.pack_entry import SECTIONS, blank, fields_of, need_section, search, title_of
from tubside.service.shop_layer import ShopLayers
from tubside.web.pages.desk import Desk, Form

MOST_FOUND = 60
SHOWS_IT = 3
"""How many findings a new cause may be given a row of, on one page."""


def layers_of(library: Library) -> ShopLayers:
    """The shop's own changes.

    Raises
    ------
    LayerError
        When this app was given no folder for them.
    """
    if library.layers is None:
        msg = "no folder for the shop's changes is known here; serve the pages with --data FOLDER"
        raise LayerError(msg)
    return ShopLayers(library.layers, library.packs)


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """Every family, with how much of it is the shop's own."""
    layers, problems = layers_of(desk.library), layers_of(desk.library).problems()
    families = []
    for family in desk.library.families():
        pack = layers.shipped(family).pack
        fine = family not in problems
        families.append(
            {
                "id": family,
                "title": pack.title,
                "about": pack.about,
                "changes": len(layers.beside(family)) if fine else None,
                "conflicts": len(layers.conflicts(family)) if fine else 0,
                "wrong": problems.get(family, ""),
            }
        )
    return desk.render(request, "packs.html", {"families": families}, 200)


def one(desk: Desk, request: Request, _form: Form) -> Response:
    """One family: the shop's values beside the shipped ones, and everything to be looked up."""
    family = request.path_params["family"]
    words, section = request.query_params.get("q", ""), request.query_params.get("in", "")
    layers = layers_of(desk.library)
    source, beside = current(layers, family)
    found = search(source, words, section) if words or section else []
    values = {
        "family": family,
        "title": source.pack.title,
        "beside": [shown(each) for each in sorted(beside, key=lambda it: it.conflict is None)],
        "problem": layers.problems().get(family, ""),
        "words": words,
        "section": section,
        "sections": list(SECTIONS),
        "found": found[:MOST_FOUND],
        "more": max(len(found) - MOST_FOUND, 0),
    }
    return desk.render(request, "pack.html", values, 200)


def current(layers: ShopLayers, family: str) -> tuple[PackSource, list[Beside]]:
    """The pack as it is used, and the shop's changes; the shipped one where they are wrong."""
    try:
        return layers.source(family), layers.beside(family)
    except (LayerError, TubsideError):
        return layers.shipped(family), []


def shown(each: Beside) -> Mapping[str, object]:
    """One place with the shop's value beside the shipped one."""
    last = each.changes[-1]
    ships, own = each.texts
    return {
        "place": told(each.target),
        "ships": ships,
        "own": own,
        "who": last.who,
        "when": f"{last.when.day} {last.when:%b %Y}",
        "why": last.why,
        "change": last.id,
        "conflict": "" if each.conflict is None else str(each.conflict),
        "agrees": each.agrees,
    }


def entry(desk: Desk, request: Request, _form: Form) -> Response:
    """One entry of a pack, each field with a form to change it."""
    return entry_page(desk, request, {}, 200)


def entry_page(desk: Desk, request: Request, typed: Mapping[str, object], status: int) -> Response:
    """The page of an entry; ``typed`` brings back what was refused, and why."""
    family, section, name = (request.path_params[key] for key in ("family", "section", "name"))
    source, beside = current(layers_of(desk.library), family)
    own = {each.target[2]: shown(each) for each in beside if is_within(each, section, name)}
    values = {
        "family": family,
        "title": source.pack.title,
        "section": need_section(section),
        "name": name,
        "heading": title_of(source, section, name),
        "fields": fields_of(source, section, name),
        "own": own,
        "field": "",
        "value": "",
        "why": "",
        "wrong": [],
        **typed,
    }
    return desk.render(request, "pack_entry.html", values, status)


def is_within(each: Beside, section: str, name: str) -> bool:
    """Whether a change is of one field of an entry."""
    return each.target[:2] == (section, name) and len(each.target) > len(("section", "name"))


def begin(desk: Desk, request: Request, _form: Form) -> Response:
    """A form for an entry that the pack does not have."""
    return new_page(desk, request, {}, 200)


def new_page(desk: Desk, request: Request, typed: Mapping[str, object], status: int) -> Response:
    """The form of a new entry; ``typed`` brings back what was refused, and why."""
    family, section = request.path_params["family"], request.path_params["section"]
    source, _ = current(layers_of(desk.library), family)
    pack = source.pack
    values = {
        "family": family,
        "title": pack.title,
        "section": need_section(section),
        "fields": blank(section),
        "remedies": sorted((it.title, name) for name, it in pack.remedies.items()),
        "findings": [
            (name, f"{it.title}: {', '.join(it.outcomes)}")
            for name, it in sorted(pack.findings.items(), key=lambda pair: pair[1].title)
        ],
        "rows": range(SHOWS_IT),
        "typed": {},
        "wrong": [],
        **typed,
    }
    return desk.render(request, "pack_new.html", values, status)
