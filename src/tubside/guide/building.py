"""The guide as files: one folder of pages, pictures, a sheet of style and a small script."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from tubside.errors import GuideError
from tubside.guide.answering import answer_page
from tubside.guide.languages import ENGLISH, Language
from tubside.guide.places import Machine, Site, site_of
from tubside.guide.telling import capital, looks, sound_words
from tubside.panel.moving.pictures import Wish
from tubside.safety.profiles import load_profile
from tubside.service.customer_danger import ASK
from tubside.service.danger import SAY
from tubside.service.library import Library
from tubside.service.money.shop_money import shop_money
from tubside.service.moving.showing import Asked, shown
from tubside.service.safety_settings import shop_profile
from tubside.store.opening import Store

if TYPE_CHECKING:
    from jinja2 import Environment

Made = Callable[[], bytes]

WIDTH = 480
"""Pixels across a picture as it is drawn; a page makes it as wide as there is room."""
GUIDE = files("tubside.guide")
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)


@dataclass(frozen=True, slots=True)
class Front:
    """The shop as its customers know it; ``country`` says whose rules are told, "" for none."""

    name: str = "Self-help guide"
    telephone: str = ""
    country: str = ""


def front_of(store: Store) -> Front:
    """The shop by what its settings tell."""
    told, profile = shop_money(store), shop_profile(store)
    country = "" if profile is None else profile.profile.country
    return Front(told.shop or Front().name, told.telephone, country)


def build(
    out: Path,
    library: Library,
    front: Front,
    language: Language = ENGLISH,
    done: Callable[[str], None] | None = None,
) -> list[str]:
    """Write a guide into a new or empty folder; the names of its files.

    Raises
    ------
    GuideError
        When the folder is not empty or cannot be written.
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        msg = f"the folder {out} is not empty; name a new one"
        raise GuideError(msg)
    names = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name, content in files_of(library, front, language):
            (out / name).write_bytes(content)
            names.append(name)
            if done is not None:
                done(name)
    except OSError as wrong:
        msg = f"the guide cannot be written to {out}: {wrong.strerror}"
        raise GuideError(msg) from wrong
    return names


def files_of(
    library: Library, front: Front, language: Language = ENGLISH
) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of every file of a guide."""
    for name, made in _files(library, front, language):
        yield name, made()


def file_named(library: Library, front: Front, wanted: str) -> bytes | None:
    """One file of a guide, made by itself; None where the guide has none of that name."""
    return next((made() for name, made in _files(library, front, ENGLISH) if name == wanted), None)


def _files(library: Library, front: Front, language: Language) -> Iterator[tuple[str, Made]]:
    """Yield the name of every file, and what makes it."""
    site = site_of(library)
    pages = _pages(front, language)
    for name in ("guide.css", "guide-mark.svg"):
        yield name, (GUIDE / "static" / name).read_bytes
    yield "guide.js", lambda: script().encode()
    for name, values in _lists(site, front):
        yield name, partial(_page, pages, name, **values)
    for machine in site.all():
        yield machine.page, partial(_page, pages, "machine.html", machine=machine, site=site)
        for told in machine.troubles():
            answer = partial(_answer, pages, library, machine, told, language)
            yield machine.trouble_page(told), answer
        yield from _pictures(machine)


def _lists(site: Site, front: Front) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield the start, the page that says to stop, the indexes, and whose work is whose."""
    gas = any("gas" in one.pack.cautions for one in site.kinds)
    say = [(name, ask, SAY[name]) for name, ask in ASK.items() if gas or name != "gas"]
    yield "stop.html", {"say": say}
    for name in ("index.html", "lamps.html", "sounds.html", "fails.html"):
        yield name, {"site": site}
    profile = load_profile(front.country).profile if front.country else None
    yield "rules.html", {"profile": profile}


def _answer(
    pages: Environment, library: Library, machine: Machine, told: str, language: Language
) -> bytes:
    values = answer_page(library, machine, told, language)
    return _page(pages, "answer.html", machine=machine, told=told, **values)


def _pictures(machine: Machine) -> Iterator[tuple[str, Made]]:
    """Yield the pictures of all that a model shows: moving, and still with circles.

    Where the shop has a photo of the model they come drawn and on the photo.
    """
    panel, photo = machine.panel, machine.photo
    if photo is not None:
        yield machine.photo_page, lambda: photo
    if panel is None:
        return
    ways = (("", None), ("photo-", photo)) if machine.on_photo else (("", None),)
    for told in panel.indications:
        for before, on in ways:
            moving = Asked("svg", Wish(WIDTH, words=False), photo=on)
            still = replace(moving, still=True)
            yield machine.picture(told, f"{before}moving"), partial(shown, panel, told, moving)
            yield machine.picture(told, f"{before}still"), partial(shown, panel, told, still)


def script() -> str:
    """The script of the pages: no module, as those do not load from a folder."""
    parts = [(GUIDE / "static" / name).read_text("utf-8") for name in ("short-text.js", "guide.js")]
    whole = re.sub(r"(?m)^export ", "", "\n".join(parts))
    return f'"use strict";\n(() => {{\n{whole}}})();\n'


def _pages(front: Front, language: Language) -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415  # extra "app"

    pages = Environment(
        loader=PackageLoader("tubside.guide"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    pages.filters["capital"] = capital
    pages.globals.update(
        _=language.gettext,
        ngettext=language.ngettext,
        said=language.said,
        looks=lambda panel, told: looks(language, panel, told),
        sound_words=lambda sound: sound_words(language, sound),
        language=language,
        front=front,
        policy=POLICY,
    )
    return pages


def _page(pages: Environment, template: str, **values: object) -> bytes:
    return (pages.get_template(template).render(**values) + "\n").encode()
