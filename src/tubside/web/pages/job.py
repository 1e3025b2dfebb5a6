"""The job: what can hurt, the next step, the belief as tubs, the panel, the line of facts."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.pack.schema import Observer
from tubside.service import jobs, records
from tubside.service.coding import NOTHING_LEARNED
from tubside.service.explain import ToldStep
from tubside.service.telling import SHOWN_STEPS
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.panel import told_panel
from tubside.web.pages.words import PAYER_WORDS, SLIP_WORDS, pegs

SHOWN_CAUSES = 5
WORTH_TELLING_DB = 0.45


@dataclass(frozen=True, slots=True)
class Tub:
    """A cause as a tub of water: level, number and word, and why."""

    id: str
    title: str
    chance: float
    runner_up: float | None
    whys: tuple[tuple[str, float], ...]


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The job page."""
    view = desk.view(request.path_params["job"])
    if not view.dangers and view.known is None and view.closing is None:
        return go(f"/jobs/{view.id}/machine")
    if not view.dangers and view.advice is None and not view.problems and not view.disagree:
        return go(f"/jobs/{view.id}/trouble")
    wanted = request.query_params.get("step")
    step = chosen_step(view, wanted)
    values = {
        "view": view,
        "step": step,
        "others": other_steps(view, step),
        "tubs": tubs(view),
        "rest": rest_chance(view),
        "picture": told_panel(view),
        "pegs": pegs(view),
        "slips": SLIP_WORDS,
        "payers": PAYER_WORDS,
        "nothing_learned": NOTHING_LEARNED,
        "caution_ids": caution_ids(view, step),
    }
    return desk.render(request, "job.html", values, 200)


def chosen_step(view: JobView, wanted: str | None) -> ToldStep | None:
    """The step on the card: the one asked for, else the best."""
    if view.advice is None:
        return None
    asked = [step for step in view.advice.steps if step.id == wanted]
    return asked[0] if asked else view.advice.first


def other_steps(view: JobView, step: ToldStep | None) -> list[ToldStep]:
    """The other steps, best first."""
    if view.advice is None or step is None:
        return []
    return [other for other in view.advice.steps[:SHOWN_STEPS] if other.id != step.id]


def caution_ids(view: JobView, step: ToldStep | None) -> list[str]:
    """Ids of the cautions of a check or remedy, in the order shown."""
    if step is None or view.known is None:
        return []
    pack = view.known.pack
    entry = pack.checks.get(step.id) or pack.remedies.get(step.id)
    return [] if entry is None else list(entry.cautions)


def tubs(view: JobView) -> list[Tub]:
    """The likeliest causes with what speaks for and against each."""
    if view.advice is None:
        return []
    causes = view.advice.causes
    result = []
    for rank, cause in enumerate(causes[:SHOWN_CAUSES]):
        found = [(f.label, f.weights_db.get(cause.id, 0.0)) for f in view.advice.weighed]
        whys = [(label, db) for label, db in found if abs(db) >= WORTH_TELLING_DB]
        whys.sort(key=lambda why: -abs(why[1]))
        runner_up = causes[1].probability if rank == 0 and len(causes) > 1 else None
        result.append(Tub(cause.id, cause.title, cause.probability, runner_up, tuple(whys[:6])))
    return result


def rest_chance(view: JobView) -> float:
    """The largest chance among the causes that are not shown."""
    if view.advice is None or len(view.advice.causes) <= SHOWN_CAUSES:
        return 0.0
    return view.advice.causes[SHOWN_CAUSES].probability


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep an outcome as a fact, with the cautions that were read."""
    view = desk.view(request.path_params["job"])
    step = chosen_step(view, form.one("step"))
    if step is None or step.id != form.one("step"):
        msg = "this step is not advised any more; look at the job page again"
        raise FactError(msg)
    read = form.all("caution")
    if missing := [c for c in caution_ids(view, step) if c not in read]:
        msg = f"tick what can hurt first: {len(missing)} of the cautions are not ticked"
        raise FactError(msg)
    bodies: list[records.Body] = [records.CautionRead(caution=c, step=step.id) for c in read]
    bodies += _outcome(step, form)
    desk.keep(view.id, bodies, form.one("once"))
    return go(f"/jobs/{view.id}")


def _outcome(step: ToldStep, form: Form) -> list[records.Body]:
    outcome = form.one("outcome")
    by: Observer = "technician" if step.who == "technician" else "customer"
    if step.kind == "check":
        return [records.CheckDone(check=step.id, outcome=outcome, by=by)]
    if step.kind == "remedy":
        return [records.RemedyDone(remedy=step.id, outcome=outcome, by=by)]
    msg = f"{step.title} is no look and no remedy"
    raise FactError(msg)


def visit(desk: Desk, request: Request, form: Form) -> Response:
    """Consent to the call-out fee, then the visit; going there is a fact of its own."""
    job = request.path_params["job"]
    view = desk.view(job)
    what = form.one("do")
    if what == "arrive":
        bodies: list[records.Body] = [records.Place(where="site")]
    elif what == "back-on-phone":
        bodies = [records.Place(where="phone")]
    elif what == "book":
        bodies = _booked(view, form)
    else:
        msg = "tap book, or at the machine"
        raise FactError(msg)
    desk.keep(job, bodies, form.one("once"))
    return go(f"/jobs/{job}")


def _booked(view: JobView, form: Form) -> list[records.Body]:
    agreed = view.consent is not None and view.consent.agreed
    bodies: list[records.Body] = []
    if not agreed:
        if form.one("agreed") != "yes":
            msg = "ask whether the customer agrees to the call-out fee, and tick it"
            raise FactError(msg)
        bodies.append(records.Consent(amount_cents=_cents(form.one("fee")), agreed=True))
    return [*bodies, records.Visit(status="booked")]


def _cents(text: str) -> int:
    try:
        amount = round(float(text.replace(",", ".")) * 100)
    except ValueError:
        amount = -1
    if not 0 <= amount <= 100_000_00:
        msg = f"'{text}' is no amount of money; write it like 85 or 85.50"
        raise FactError(msg)
    return amount


def payer(desk: Desk, request: Request, form: Form) -> Response:
    """Who pays."""
    job = request.path_params["job"]
    who = form.one("who")
    if who not in PAYER_WORDS:
        msg = "tap who pays"
        raise FactError(msg)
    desk.keep(job, [records.Payer(who=who)], form.one("once"))  # type: ignore[arg-type]  # checked above
    return go(f"/jobs/{job}")


def take_back(desk: Desk, request: Request, form: Form) -> Response:
    """Take a fact back; it stays on the line, struck through."""
    job = request.path_params["job"]
    reason = form.one("reason", "other")
    slip = reason if reason in SLIP_WORDS else "other"
    author = desk.author(form.one("once"))
    jobs.take_back(desk.store, job, author, form.one("fact"), slip)  # type: ignore[arg-type]  # a known slip
    jobs.record_advice(desk.store, desk.library, job, desk.author())
    return go(f"/jobs/{job}#line")


def came_back(desk: Desk, request: Request, form: Form) -> Response:
    """The trouble is there again."""
    job = request.path_params["job"]
    desk.keep(job, [records.CameBack()], form.one("once"))
    return go(f"/jobs/{job}")
