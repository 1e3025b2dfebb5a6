"""Templates with autoescape, and the few drawings that pages need."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from tubside import __version__
from tubside.panel.palette import page_rules
from tubside.service import wording
from tubside.web.pages.desk import fresh_id
from tubside.web.security.devices import device_words
from tubside.web.security.login_page import session_in

TUB_BOTTOM, TUB_HEIGHT = 54.0, 43.0


def render(request: Request, template: str, values: Mapping[str, object], status: int) -> Response:
    """The page; the login that the gate found is in every one."""
    page = environment().get_template(template)
    common = {"session": session_in(request), "once": fresh_id(), "path": request.url.path}
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
        at_most=wording.at_most,
        clock=clock_words,
        tub=tub_path,
        device=device_words,
        zip_cautions=zip_cautions,
    )
    made.globals["chance_word"] = wording.chance_word
    made.globals["version"] = __version__
    return made


def clock_words(moment: datetime) -> str:
    """A moment as day and time (UTC).

    >>> from datetime import UTC
    >>> clock_words(datetime(2026, 3, 4, 9, 5, tzinfo=UTC))
    '4 Mar, 09:05'
    """
    return f"{moment.day} {moment:%b, %H:%M}"


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
def style_sheet() -> str:
    """Our style sheet with the rules of the drawn panel."""
    own = files("tubside.web").joinpath("static", "tubside.css").read_text(encoding="utf-8")
    return own + "\n" + page_rules() + "\n"
