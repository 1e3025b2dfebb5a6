"""Templates with autoescape, and the few drawings that pages need."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime, tzinfo
from functools import cache
from hashlib import sha256
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from tubside import __version__
from tubside.day.map_look import map_rules
from tubside.panel.palette import page_rules
from tubside.service import wording
from tubside.service.shaking import bounce_check
from tubside.service.spin_sound import spin_check
from tubside.web.pages import told_forms
from tubside.web.pages.desk import fresh_id
from tubside.web.security.devices import device_words
from tubside.web.security.login_page import session_in

TUB_BOTTOM, TUB_HEIGHT = 54.0, 43.0
SCRIPTS = sorted(
    entry.name
    for entry in files("tubside.web").joinpath("static").iterdir()
    if entry.name.endswith(".js")
)
STATIC = {
    "tubside.css": "text/css",
    "mark.svg": "image/svg+xml",
    **dict.fromkeys(SCRIPTS, "text/javascript"),
}
IMPORTED = re.compile(r'"\./([a-z-]+\.js)"')
MAP_TOKENS = {
    "paper": "var(--rinse-pale)",
    "land": "var(--enamel-dim)",
    "plate": "var(--enamel)",
    "edge": "var(--edge)",
    "ink": "var(--ink)",
    "quiet": "var(--ink-2)",
    "copper": "var(--copper)",
    "water": "var(--rinse)",
    "sign": "var(--rim)",
    "hair": "var(--hair)",
}
"""The page's own colours for the map of the day."""
UNHURT = ("not sure", "could not look", "not done")
"""Answers of somebody who did not do the step: its cautions need not be ticked for them."""


def render(request: Request, template: str, values: Mapping[str, object], status: int) -> Response:
    """The page; the login that the gate found is in every one."""
    page = environment().get_template(template)
    common = {"session": session_in(request), "path": request.url.path, "job": None}
    return HTMLResponse(page.render({**common, **values}), status)


@cache
def environment() -> Environment:
    """The templates of this package; an unknown name is a mistake and not an empty text."""
    made = Environment(
        loader=PackageLoader("tubside.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        percent=wording.percent,
        dollars=wording.dollars,
        minutes=wording.minutes,
        strength=wording.strength,
        decibans=wording.decibans,
        not_looked_at=wording.not_looked_at,
        clock=clock_words,
        tub=tub_path,
        device=device_words,
        zip_cautions=zip_cautions,
        zip=zip,
        names=dict,
    )
    made.globals.update(tells=told_forms, told_field=told_forms.told_field)
    made.globals.update(bounce_check=bounce_check, spin_check=spin_check)
    made.globals["chance_word"] = wording.chance_word
    made.globals.update(version=__version__, fresh_id=fresh_id, static=static_path, unhurt=UNHURT)
    return made


def clock_words(moment: datetime, zone: tzinfo | None = None) -> str:
    """A moment as day and time in ``zone``, where this machine stands if none is given.

    >>> from datetime import UTC
    >>> clock_words(datetime(2026, 3, 4, 9, 5, tzinfo=UTC), UTC)
    '4 Mar, 09:05'
    """
    here = moment.astimezone(zone)
    return f"{here.day} {here:%b, %H:%M}"


def tub_path(chance: float) -> Markup:
    """The water of a tub as an SVG path: its height is the chance.

    >>> tub_path(0.5)
    Markup('M4 32.5q5-2.6 10 0t10 0 10 0 10 0 10 0 10 0 10 0 10 0V60H4z')
    """
    level = TUB_BOTTOM - TUB_HEIGHT * min(max(chance, 0.0), 1.0)
    waves = "t10 0 10 0 10 0 10 0 10 0 10 0 10 0"
    return Markup(f"M4 {level:.1f}q5-2.6 10 0{waves}V60H4z")  # noqa: S704  # a number alone


def zip_cautions(ids: Sequence[str], cautions: Sequence[object]) -> list[tuple[str, object]]:
    """Each caution with its id."""
    return list(zip(ids, cautions, strict=True))


@cache
def static_file(name: str) -> bytes:
    """One of :data:`STATIC`; the style sheet with the rules of the drawn panel.

    A script names the scripts it needs by their lasting addresses, so that the parts of
    one version always meet.
    """
    content = files("tubside.web").joinpath("static", name).read_bytes()
    if name.endswith(".js"):
        return IMPORTED.sub(lambda found: f'"{static_path(found[1])}"', content.decode()).encode()
    if name != "tubside.css":
        return content
    return content + (page_rules() + map_rules(MAP_TOKENS)).encode()


@cache
def static_path(name: str) -> str:
    """The address of one of our files: another one whenever its content is another."""
    stem, _, ending = name.partition(".")
    return f"/static/{stem}-{sha256(static_file(name)).hexdigest()[:12]}.{ending}"
