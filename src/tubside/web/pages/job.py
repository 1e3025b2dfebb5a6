"""The job: what can hurt, the next step, the belief as tubs, the panel, the line of facts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.pack.schema import Observer
from tubside.service import jobs, records
from tubside.service.coding import NOTHING_LEARNED
from tubside.service.danger import SAY
from tubside.service.explain import ToldStep
from tubside.service.heeded import heeded
from tubside.service.kept_plans import kept_plan, worked_out_plan
from tubside.service.own_check.told import told_check
from tubside.service.planning import ToldPlan, cost_words
from tubside.service.telling import SHOWN_STEPS
from tubside.service.unproven import closed_unproven
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.measuring import Asked, after, before, is_reading, nothing_told
from tubside.web.pages.measuring import keep as keep_number
from tubside.web.pages.panel import told_panel
from tubside.web.pages.rendering import UNHURT
from tubside.web.pages.unseen import sketched
from tubside.web.pages.visit import visit_words
from tubside.web.pages.words import (
    DANGER_WORDS,
    PAYER_NOTES,
    PAYER_WORDS,
    PHOTO_WORDS,
    SLIP_WORDS,
    fact_words,
    pegs,
)
from tubside.web.security.login_page import session_in

SHOWN_CAUSES, SHOWN_WHYS, RECENT_FACTS = 5, 4, 5
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
    plan = plan_shown(desk, view, asked="plan" in request.query_params)
    step = chosen_step(view, wanted)
    values = {
        "view": view,
        "step": step,
        "chosen_first": view.advice is not None and step is view.advice.first,
        "others": other_steps(view, step),
        "plan": plan,
        "plan_words": [] if plan is None else cost_words(plan),
        "tubs": tubs(view),
        "rest": rest_chance(view),
        **for_the_customer(view),
        "told": told_panel(view),
        "sketch": sketched(view),
        "pegs": pegs(view)[::-1],
        "recent": RECENT_FACTS,
        "slips": SLIP_WORDS,
        "payers": PAYER_WORDS,
        "payer_note": "" if view.payer is None else PAYER_NOTES[view.payer.who],
        "danger_words": DANGER_WORDS,
        "danger_say": dict(SAY),
        "photo_words": PHOTO_WORDS,
        "visit_words": visit_words(view.visit),
        "unproven": closed_unproven(desk.store, view),
        "closed_words": "" if view.closing is None else fact_words(view, view.closing),
        "nothing_learned": NOTHING_LEARNED,
        "caution_ids": caution_ids(view, step),
        "expects": before(view, step.id, observer(step)) if step and step.reading else None,
        "measured": after(view),
        "heeded": heeded(view),
        "own": told_check(view),
    }
    return desk.render(request, "job.html", values, 200)


def plan_shown(desk: Desk, view: JobView, *, asked: bool) -> ToldPlan | None:
    """The plan of a job that is open, worked out only when it is asked for."""
    if view.closing is not None:
        return None
    if asked:
        return worked_out_plan(desk.store, view, desk.clock())
    return kept_plan(desk.store, view)


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
        result.append(
            Tub(cause.id, cause.title, cause.probability, runner_up, tuple(whys[:SHOWN_WHYS]))
        )
    return result


def rest_chance(view: JobView) -> float:
    """The largest chance among the causes that are not shown."""
    if view.advice is None or len(view.advice.causes) <= SHOWN_CAUSES:
        return 0.0
    return view.advice.causes[SHOWN_CAUSES].probability


def for_the_customer(view: JobView) -> dict[str, object]:
    """The leading cause in plain words and in tenths, where it is no small one."""
    if view.advice is None or view.known is None or not view.advice.causes:
        return {"plain": "", "in_ten": 0}
    leading = view.advice.causes[0]
    cause = view.known.pack.causes.get(leading.id)
    tenths = round(10 * leading.probability)
    plain = cause.plain if cause is not None and tenths >= 2 else ""
    return {"plain": plain, "in_ten": min(tenths, 9)}


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep an outcome as a fact, with the cautions that were read."""
    view = desk.view(request.path_params["job"])
    step = chosen_step(view, form.one("step"))
    if step is None or step.id != form.one("step"):
        msg = "this step is not advised any more; look at the job page again"
        raise FactError(msg)
    bodies = cautions_read(step.id, caution_ids(view, step), form, reader(request))
    if step.kind == "check" and is_reading(view, step.id) and not nothing_told(form):
        asked = Asked(step.id, observer(step), bodies, f"/jobs/{view.id}")
        return keep_number(desk, request, view, form, asked)
    bodies += _outcome(step, form)
    desk.keep(view.id, bodies, form.one("once"))
    return go(f"/jobs/{view.id}")


def reader(request: Request) -> str | None:
    """The account of who sends a form; None where nobody needs to log in."""
    session = session_in(request)
    return None if session is None else session.user.name


def cautions_read(
    step: str, cautions: Sequence[str], form: Form, by: str | None = None
) -> list[records.Body]:
    """A fact for each caution ticked.

    Raises
    ------
    FactError
        When one is not, and the outcome is that of somebody who did the step.
    """
    ticked = [caution for caution in cautions if caution in form.all("caution")]
    missing = len(cautions) - len(ticked)
    if missing and form.one("outcome") not in UNHURT:
        msg = f"tick what can hurt first: {missing} of the cautions are not ticked"
        raise FactError(msg)
    return [records.CautionRead(caution=caution, step=step, by=by) for caution in ticked]


def _outcome(step: ToldStep, form: Form) -> list[records.Body]:
    outcome = form.one("outcome")
    if step.kind == "check":
        return [records.CheckDone(check=step.id, outcome=outcome, by=observer(step))]
    if step.kind == "remedy":
        return [records.RemedyDone(remedy=step.id, outcome=outcome, by=observer(step))]
    msg = f"{step.title} is no look and no remedy"
    raise FactError(msg)


def observer(step: ToldStep) -> Observer:
    """Whose eyes and hands."""
    return "technician" if step.who == "technician" else "customer"


def payer(desk: Desk, request: Request, form: Form) -> Response:
    """Who pays."""
    job = request.path_params["job"]
    who = form.one("who")
    if who not in PAYER_WORDS:
        msg = "tap who pays"
        raise FactError(msg)
    said = desk.view(job).payer
    if said is None or said.who != who:  # the same again would lose the claim number
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
