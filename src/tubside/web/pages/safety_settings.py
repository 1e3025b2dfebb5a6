"""The shop's country, whose work is whose there, and the limits that the office confirms."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import SafetyError
from tubside.physics.electrics.mains import MAINS
from tubside.physics.plumbing_rules import STANDPIPE, air_gap_for, rules_for
from tubside.safety.profile_schema import KNOWN_WORDS, Profile
from tubside.safety.profiles import countries, limit_digest, load_profile
from tubside.service.roles import check_office
from tubside.service.safety_settings import (
    Confirmation,
    choose_country,
    confirm_limit,
    confirmations,
    shop_profile,
    withdraw,
)
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.safety_words import UNIT_WORDS
from tubside.web.security.login_page import session_in


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """Country, duties and limits, with what the shop confirmed."""
    loaded = shop_profile(desk.store)
    profile = None if loaded is None else loaded.profile
    values = {
        "profile": profile,
        "choices": [(one, load_profile(one).profile.title) for one in countries()],
        "confirmed": {} if profile is None else confirmations(desk.store, profile),
        "known": KNOWN_WORDS,
        "units": UNIT_WORDS,
        "mains": None if profile is None else MAINS[profile.mains],
        "standpipes": () if profile is None else rules_for(profile.codes, STANDPIPE),
        "air_gap": None if profile is None else air_gap_for(profile.codes),
    }
    return desk.render(request, "safety_settings.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Choose the country, confirm a limit or withdraw that: for the office only."""
    session = session_in(request)
    check_office(None if session is None else session.user, "settle the rules of the safety test")
    match form.one("do"):
        case "country":
            choose_country(desk.store, form.one("country"))
        case "confirm":
            _confirm(desk, _profile(desk), form)
        case "withdraw":
            withdraw(desk.store, _profile(desk), form.one("limit"))
        case _:
            msg = "nothing was told here; choose one of the buttons"
            raise SafetyError(msg)
    return go("/safety")


def _profile(desk: Desk) -> Profile:
    loaded = shop_profile(desk.store)
    if loaded is None:
        msg = "choose the country first"
        raise SafetyError(msg)
    return loaded.profile


def _confirm(desk: Desk, profile: Profile, form: Form) -> None:
    name = form.one("limit")
    if name not in profile.limits:
        msg = f"there is no limit '{name[:40]}' in this country"
        raise SafetyError(msg)
    found = Confirmation(
        reference=form.one("reference"),
        by=form.one("by"),
        at=desk.clock(),
        digest=limit_digest(profile.limits[name]),
        value=_value(form.one("value")),
    )
    confirm_limit(desk.store, profile, name, found)


def _value(text: str) -> float | None:
    if not text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        msg = f"'{text[:40]}' is no value of a limit; write a number such as 0.5"
        raise SafetyError(msg) from None
