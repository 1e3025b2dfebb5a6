"""Any other look or remedy: a technician may always do another step."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, NotThereError
from tubside.pack.schema import Observer
from tubside.service import records
from tubside.service.coding import NOTHING_LEARNED, outcomes_of
from tubside.service.danger import customer_may
from tubside.service.knowledge import Knowledge
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.job import cautions_read, reader
from tubside.web.pages.measuring import Asked, before, is_reading, nothing_told
from tubside.web.pages.measuring import keep as keep_number
from tubside.web.pages.words import outcome_words


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """Every check and remedy of the pack that may be done here."""
    view = desk.view(request.path_params["job"])
    pack = _known(view).pack
    on_site = _on_site(view)
    checks = [(n, c.title) for n, c in pack.checks.items() if on_site or _asks(view, n)]
    remedies = [(n, r.title) for n, r in pack.remedies.items() if on_site or _asks(view, n)]
    values = {
        "view": view,
        "checks": sorted(checks, key=lambda item: item[1].casefold()),
        "remedies": sorted(remedies, key=lambda item: item[1].casefold()),
    }
    return desk.render(request, "steps.html", values, 200)


def one(desk: Desk, request: Request, _form: Form) -> Response:
    """One check or remedy: cautions, then what to do, then its outcomes."""
    view = desk.view(request.path_params["job"])
    known, name = _known(view), request.path_params["step"]
    pack = known.pack
    entry = pack.checks.get(name) or pack.remedies.get(name)
    if entry is None:
        msg = f"there is no step '{name}'"
        raise NotThereError(msg)
    if not (_on_site(view) or _asks(view, name)):
        msg = "this step is not one for the customer now"
        raise FactError(msg)
    outcomes = (
        [(o, outcome_words(known, name, o)) for o in outcomes_of(known, name)]
        if (name in pack.checks)
        else [("works", "the re-run passes"), ("still-fails", "it still fails")]
    )
    by: Observer = "technician" if _on_site(view) else "customer"
    values = {
        "view": view,
        "expects": before(view, name, by) if is_reading(view, name) else None,
        "name": name,
        "by": by,
        "entry": entry,
        "cautions": [(c, pack.cautions[c]) for c in entry.cautions],
        "outcomes": outcomes,
        "nothing": NOTHING_LEARNED if name in pack.checks else ("not done",),
        "say": entry.say if not _on_site(view) else None,
    }
    return desk.render(request, "step.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep its outcome."""
    view = desk.view(request.path_params["job"])
    pack, name = _known(view).pack, request.path_params["step"]
    entry = pack.checks.get(name) or pack.remedies.get(name)
    if entry is None:
        msg = f"there is no step '{name}'"
        raise NotThereError(msg)
    if not (_on_site(view) or _asks(view, name)):
        msg = "this step is not one for the customer now"
        raise FactError(msg)
    by: Observer = "technician" if _on_site(view) else "customer"
    bodies = cautions_read(name, entry.cautions, form, reader(request))
    if is_reading(view, name) and not nothing_told(form):
        asked = Asked(name, by, bodies, f"/jobs/{view.id}/steps/{name}")
        return keep_number(desk, request, view, form, asked)
    if name in pack.checks:
        bodies.append(records.CheckDone(check=name, outcome=form.one("outcome"), by=by))
    else:
        bodies.append(records.RemedyDone(remedy=name, outcome=form.one("outcome"), by=by))
    desk.keep(view.id, bodies, form.one("once"))
    return go(f"/jobs/{view.id}")


def _asks(view: JobView, name: str) -> bool:
    """Whether a step may be asked of the customer, given the dangers reported."""
    pack = _known(view).pack
    entry = pack.checks.get(name) or pack.remedies.get(name)
    step = None if entry is None else entry.customer_step
    return bool(customer_may([step], view.dangers)[0])


def _on_site(view: JobView) -> bool:
    return view.source is not None and view.source.job.where == "site"


def _known(view: JobView) -> Knowledge:
    if view.known is None:
        msg = "name the machine first"
        raise FactError(msg)
    return view.known
