"""Taking a call: danger first, then the machine, then the trouble. Nothing else is needed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.pack.schema import DANGERS, Cause, Danger, Healthy, Pack
from tubside.service import jobs, records
from tubside.service.unseen import serial_code, serial_of
from tubside.web.pages import told_forms
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.unseen import kind_values
from tubside.web.pages.words import DANGER_WORDS, PAYER_CHIPS

HOW_OFTEN = {"every-time": "every time", "sometimes": "sometimes", "once": "once"}
NOT_TOLD = ("", "not told")


def danger(desk: Desk, request: Request, _form: Form) -> Response:
    """The safety questions, before anything else."""
    return desk.render(request, "call_danger.html", {"dangers": DANGER_WORDS}, 200)


def take(desk: Desk, _request: Request, form: Form) -> Response:
    """Open a job with the answer; after a danger its page says stop before all else."""
    answer = form.one("danger")
    kinds = [kind for kind in DANGERS if kind == answer]
    if answer != "none" and not kinds:
        msg = "answer the safety question first: tap one of its answers"
        raise FactError(msg)
    author = desk.author(form.one("once"))
    job = jobs.new_job(desk.store, author, [records.DangerTold(kinds=list[Danger](kinds))])
    return go(f"/jobs/{job}" if kinds else f"/jobs/{job}/machine")


def machine(desk: Desk, request: Request, _form: Form) -> Response:
    """Which machine: a known model, or its family by what it looks like."""
    view = desk.view(request.path_params["job"])
    models = [(name, desk.library.model(name)) for name in desk.library.models()]
    families = [(name, desk.library.family(name).pack) for name in desk.library.families()]
    payers = list(PAYER_CHIPS.items())
    values = {
        "view": view,
        "models": models,
        "families": families,
        "payers": payers,
        "serial": serial_of(view.entries) or "",
        **kind_values(desk, view),
        "machine_told": told_forms.machine(desk.library),
    }
    return desk.render(request, "call_machine.html", values, 200)


def name_machine(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the machine and go on to the trouble."""
    job = request.path_params["job"]
    payer = form.one("payer")
    if payer and payer not in PAYER_CHIPS:
        msg = "tap who pays, or leave it not asked"
        raise FactError(msg)
    chosen, serial = form.one("machine"), serial_code(form.one("serial"))
    kind, _, name = chosen.partition(":")
    if kind == "model":
        family = desk.library.model(name).pack.family
        bodies: list[records.Body] = [records.Machine(model=name, family=family, serial=serial)]
    elif kind == "family":
        desk.library.family(name)
        bodies = [records.Machine(family=name, serial=serial)]
    elif kind == "serial" and serial is not None:
        bodies = [records.Machine(serial=serial)]
    else:
        msg = "tap the machine, or its kind" if kind != "serial" else "write the serial number"
        raise FactError(msg)
    if payer and kind != "serial":
        bodies.append(records.Payer(who=payer))  # type: ignore[arg-type]  # checked above
    desk.keep(job, bodies, form.one("once"))
    return go(f"/jobs/{job}" if kind == "serial" else f"/jobs/{job}/trouble")


def trouble(desk: Desk, request: Request, _form: Form) -> Response:
    """What is wrong: on the panel where it is known, in plain words anywhere."""
    view = desk.view(request.path_params["job"])
    if view.known is None:
        return go(f"/jobs/{view.id}/machine")
    pack = view.known.pack
    often = said_often(pack)
    conditions = sorted(pack.conditions.items(), key=lambda item: (-often[item[0]], item[1].title))
    stages = [NOT_TOLD, *((name, stage.title) for name, stage in pack.stages.items())]
    values = {
        "view": view,
        "conditions": conditions,
        "stages": stages,
        "how_often": [NOT_TOLD, *HOW_OFTEN.items()],
    }
    return desk.render(request, "call_trouble.html", values, 200)


def said_often(pack: Pack) -> dict[str, float]:
    """How many of 1000 calls begin with each condition, by the pack's own shares."""
    found = dict.fromkeys(pack.conditions, 0.0)
    origins: list[Cause | Healthy] = [*pack.causes.values(), *pack.healthy.values()]
    for origin in origins:
        for name, share in origin.reported_as.items():
            found[name] += origin.weight * share
    return found


def also(desk: Desk, request: Request, form: Form) -> Response:
    """A danger that was told later in the call; the job page then says stop."""
    job = request.path_params["job"]
    kinds = [kind for kind in DANGERS if kind == form.one("danger")]
    if not kinds:
        msg = "tap what the danger is"
        raise FactError(msg)
    desk.keep(job, [records.DangerTold(kinds=list[Danger](kinds))], form.one("once"))
    return go(f"/jobs/{job}")


def tell_trouble(desk: Desk, request: Request, form: Form) -> Response:
    """Keep what was told; the job page then advises."""
    job = request.path_params["job"]
    first = form.one("first")
    named = list(dict.fromkeys([*([first] if first else []), *form.all("condition")]))
    if not named:
        msg = "tap what is wrong; one is enough"
        raise FactError(msg)
    bodies: list[records.Body] = [
        records.Reported(
            conditions=named,
            when=form.one("when") or None,
            how_often=_often(form.one("how_often")),
        )
    ]
    if form.one("age"):
        bodies.append(records.Machine(age_years=_years(form.one("age"))))
    if form.one("moved") in {"yes", "no"}:
        bodies.append(records.Context(name="just_moved", value=form.one("moved") == "yes"))
    desk.keep(job, bodies, form.one("once"))
    return go(f"/jobs/{job}")


def _often(text: str) -> records.OftenWord | None:
    return text if text in HOW_OFTEN else None  # type: ignore[return-value]  # the literal's keys


def _years(text: str) -> float:
    try:
        years = float(text.replace(",", "."))
    except ValueError:
        years = -1.0
    if not 0.0 <= years <= 80.0:
        msg = f"'{text}' is no age in years; write 0 to 80, or leave it empty"
        raise FactError(msg)
    return years
