"""What the shop's jobs say beside the packs: taken over, left, or pinned, by the office."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from urllib.parse import quote

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import HistoryError, TubsideError
from tubside.learning.proposal import Proposal
from tubside.learning.rates import Rates
from tubside.pack.layer.editing import Signed
from tubside.pack.schema import Pack
from tubside.service.learning.above import Above, above_today, look
from tubside.service.learning.decisions import decide, decisions, forget
from tubside.service.learning.learned import (
    FamilyLearned,
    Offer,
    job_counts,
    job_rows,
    learned,
    moved,
    take_over,
    tried,
)
from tubside.service.learning.said import calibration
from tubside.service.learning.words import (
    KINDS,
    NOTES,
    cause_title,
    evidence,
    figure_of,
    part_name,
    rate_words,
    says,
    spoken_part,
    telling_rates,
    title_of,
)
from tubside.service.roles import check_office, is_office
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.learned_drawing import diagram, line
from tubside.web.pages.pack_changes import effect_of, told_wrong
from tubside.web.pages.packs import layers_of
from tubside.web.security.login_page import session_in

UNITS = {"weight": ("of 1000", 1.0), "minutes": ("min", 1.0), "price": ("$", 1.0)}
EFFECT_SECONDS = 8.0
"""So long one look at the advice may take; the next one goes on from there."""
SHARE, PLAIN = ("%", 100.0), ("", 1.0)


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """Every family that jobs speak of, and how much they say."""
    _check(request)
    jobs = job_rows(desk.store, desk.library)
    counts, layers = job_counts(desk.store, desk.library), layers_of(desk.library)
    found = look(desk.store, desk.library, jobs, desk.clock())
    met = {key.family for key in counts.by_key}
    families = [
        learned(family, counts, layers, decisions(desk.store, family))
        for family in desk.library.families()
        if family in met
    ]
    return desk.render(request, "learning.html", {"families": families, "above": found}, 200)


def above(desk: Desk, request: Request) -> list[Above]:
    """What is suddenly above expectation, for the office; nothing for anybody else."""
    session = session_in(request)
    if not is_office(None if session is None else session.user):
        return []
    return above_today(desk.store, desk.library, desk.clock())


def one(desk: Desk, request: Request, _form: Form) -> Response:
    """What the jobs say of one family, by kind of number."""
    found = _learned(desk, request)
    pack = found.source.pack
    new = _clearest_first([it for it in found.offers if it.state == "open" and it.moves])
    values = {
        "of": found,
        "notes": NOTES,
        "new": _by_kind(found.family, pack, new),
        "decided": [_short(found.family, pack, it) for it in found.offers if it.state != "open"],
        "rest": _by_kind(
            found.family,
            pack,
            [it for it in found.offers if it.state == "open" and not it.moves],
        ),
        "rates": [_rate(rate, pack) for rate in telling_rates(found.rates)],
    }
    return desk.render(request, "learning_family.html", values, 200)


def number(desk: Desk, request: Request, _form: Form) -> Response:
    """One number: what it rests on, and what it would change."""
    found = _learned(desk, request)
    offer = found.offer(request.query_params.get("n", ""))
    if request.query_params.get("effect") != "yes":
        return _number_page(desk, request, found, offer, {})
    layers, by = layers_of(desk.library), Signed(who="nobody", when=desk.clock(), why="to look")
    try:
        changed = tried(layers, found.family, offer.proposal, by)
        effect, left = effect_of(layers, changed, found.family, EFFECT_SECONDS)
    except TubsideError as wrong:
        told = {"wrong": told_wrong(wrong)}
        return _number_page(desk, request, found, offer, told, 422)
    return _number_page(desk, request, found, offer, {"effect": effect, "left": left})


def decide_number(desk: Desk, request: Request, form: Form) -> Response:
    """Take a number over, leave it, pin it, or let it speak again."""
    found = _learned(desk, request)
    offer = found.offer(form.one("n"))
    why, what = form.one("why"), form.one("do")
    try:
        _decide(desk, request, (found, offer), form)
    except TubsideError as wrong:
        told = {"wrong": told_wrong(wrong), "why": why, "do": what}
        return _number_page(desk, request, found, offer, told, 422)
    return go(f"/learning/{found.family}")


def said(desk: Desk, request: Request, _form: Form) -> Response:
    """How good the chances were."""
    _check(request)
    family = request.path_params["family"]
    pack = layers_of(desk.library).shipped(family).pack
    found = calibration(desk.store, job_rows(desk.store, desk.library), pack)
    values = {
        "family": family,
        "title": pack.title,
        "told": found,
        "shown": diagram(found.shown, "How likely it was said at the call, and how often it was"),
        "foretold": diagram(found.foretold, "How likely it was foretold, and how often it was"),
    }
    return desk.render(request, "learning_said.html", values, 200)


def _decide(desk: Desk, request: Request, about: tuple[FamilyLearned, Offer], form: Form) -> None:
    found, offer = about
    proposal, why = offer.proposal, form.one("why")
    session = session_in(request)
    who = "the shop" if session is None else session.user.name
    match form.one("do"):
        case "take":
            if form.one("seen") != _digest(proposal):
                msg = "the jobs say something else by now; look at the new numbers first"
                raise HistoryError(msg)
            if not why:
                msg = "say in a few words why; it stands beside the change from now on"
                raise HistoryError(msg)
            by = Signed(who=who, when=desk.clock(), why=why)
            take_over(desk.store, layers_of(desk.library), found.family, proposal, by)
            desk.library.forget_family(found.family)
        case "left" | "pinned" as what:
            by_whom = (who, desk.clock(), why)
            decide(desk.store, found.family, proposal, what, by_whom)
        case "again":
            forget(desk.store, found.family, proposal.id)
        case _:
            msg = "say whether to use it, to leave it or to pin what stands"
            raise HistoryError(msg)


def _number_page(  # what was refused comes with its status
    desk: Desk,
    request: Request,
    found: FamilyLearned,
    offer: Offer,
    typed: Mapping[str, object],
    status: int = 200,
) -> Response:
    pack, proposal = found.source.pack, offer.proposal
    figure = figure_of(proposal)
    values = {
        "of": found,
        "offer": offer,
        "heading": KINDS[proposal.what],
        "note": NOTES.get(KINDS[proposal.what], ""),
        "it": _short(found.family, pack, offer),
        "parts": [
            {
                "name": part_name(proposal, part, pack).removesuffix(": "),
                "pack": figure(part.pack),
                "learned": figure(part.learned),
                "low": figure(part.low),
                "high": figure(part.high),
            }
            for part in proposal.parts
        ],
        "evidence": evidence(proposal),
        "moved": [
            (pack.conditions[complaint].title, share)
            for complaint, share in moved(found.source, proposal)
        ],
        "seen": _digest(proposal),
        "effect": None,
        "left": 0,
        "wrong": [],
        "why": "",
        "do": "",
        **typed,
    }
    return desk.render(request, "learning_number.html", values, status)


def _rate(rate: Rates, pack: Pack) -> dict[str, object]:
    """How often one cause was cleared without a visit, and was a return."""
    return {
        "title": cause_title(rate.cause, pack),
        "jobs": rate.by_phone.jobs,
        "by_phone": rate_words(rate.by_phone),
        "said": rate.said_by_phone,
        "callback": rate_words(rate.callback),
    }


def _clearest_first(offers: list[Offer]) -> list[Offer]:
    """Within each kind those that lie furthest from the pack, beside how sure they are."""

    def apart(offer: Offer) -> float:
        part = spoken_part(offer.proposal)
        return abs(part.learned - part.pack) / max(part.high - part.low, 1e-9)

    return sorted(offers, key=apart, reverse=True)


def _by_kind(
    family: str, pack: Pack, offers: list[Offer]
) -> list[tuple[str, list[dict[str, object]]]]:
    kinds = [
        (words, [_short(family, pack, it) for it in offers if it.proposal.what == kind])
        for kind, words in KINDS.items()
    ]
    return [(words, some) for words, some in kinds if some]


def _short(family: str, pack: Pack, offer: Offer) -> dict[str, object]:
    """One number as lists show it."""
    proposal = offer.proposal
    words = says(proposal, pack)
    return {
        "title": title_of(proposal, pack),
        "says": words,
        "line": _line(proposal, words),
        "state": offer.state,
        "decision": offer.decision,
        "own": offer.own,
        "address": f"/learning/{family}/number?n={quote(proposal.id)}",
    }


def _line(proposal: Proposal, words: str) -> Markup:
    shares = {"reported", "outcomes", "clears", "second-faults"}
    unit, scale = UNITS.get(proposal.what, SHARE if proposal.what in shares else PLAIN)
    return line(spoken_part(proposal), words, unit, scale)


def _digest(proposal: Proposal) -> str:
    """What tells that a proposal is still the one that was looked at."""
    return sha256(repr(proposal.edits).encode()).hexdigest()[:20]


def _learned(desk: Desk, request: Request) -> FamilyLearned:
    _check(request)
    family = request.path_params["family"]
    counts = job_counts(desk.store, desk.library)
    return learned(family, counts, layers_of(desk.library), decisions(desk.store, family))


def _check(request: Request) -> None:
    session = session_in(request)
    check_office(None if session is None else session.user, "see and use what the jobs say")
