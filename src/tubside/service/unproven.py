"""Jobs that were closed, as on a phone without signal, before their machine was proven safe.

A closing that was told stays a fact; what it lacks is shown until the machine is released or
left disabled and marked.
"""

from __future__ import annotations

from collections.abc import Sequence

from tubside.errors import TubsideError
from tubside.service.coding import NOT_DONE
from tubside.service.job_file import JobFile
from tubside.service.job_list import job_line
from tubside.service.library import Library
from tubside.service.records import Body, CheckDone, DangerTold, ReadingDone, RemedyDone, decoded
from tubside.service.safety import safety_of
from tubside.service.safety_records import WorkTouched
from tubside.service.safety_settings import shop_profile
from tubside.service.viewing import bare_views
from tubside.service.views import JobLine, JobView
from tubside.store import job_rows
from tubside.store.opening import Store

Machine = tuple[str | None, str | None]
"""Family and model of a job, as far as they are known."""
WORDS = "Closed without its safety test"
DECIDED = "safety-release"
ASKING = ("check", "reading", "remedy", "danger", "work-touched")
"""Kinds of facts that may ask for a test."""
LOOKED_THROUGH = 500
"""Closed jobs, the latest without any decision, whose facts are looked through."""
LATEST = 10
"""Closed jobs, the latest, in which a decision may have been overtaken by later work."""
SHOWN = 25


def closed_unproven(store: Store, view: JobView) -> bool:
    """Whether a job is closed although its safety test still comes first."""
    return view.stage == "closed" and safety_of(store, view).way == "blocked"


def unproven_among(store: Store, library: Library, jobs: Sequence[str]) -> frozenset[str]:
    """Those of some jobs of which that is so; none where no country was chosen."""
    if shop_profile(store) is None:
        return frozenset()
    views = bare_views(store, library, jobs)
    return frozenset(
        view.id for view in views if _view_asks(library, view) and closed_unproven(store, view)
    )


def unproven_lines(store: Store, library: Library) -> list[JobLine]:
    """The closed jobs of which that is so, as lines of a list, the latest first.

    Jobs without a decision are looked for by their facts, far back; one whose decision was
    overtaken by later work is found among the latest alone.
    """
    if shop_profile(store) is None:
        return []
    with store.reading() as opened:
        told = job_rows.closed_without(opened, DECIDED, ASKING, LOOKED_THROUGH)
        late = job_rows.listed(opened, closed=True, limit=LATEST, after=None)
        rows = {row.id: (row, data) for row, data in job_rows.listed_of(opened, list(told))}
    asking = [job for job in rows if _asks(library, rows[job][0], told[job])][:SHOWN]
    rows |= {row.id: (row, data) for row, data in late}
    wanted = dict.fromkeys([*asking, *(row.id for row, _ in late)])
    lacking = unproven_among(store, library, list(wanted))
    found = [job_line(library, *rows[job]) for job in rows if job in lacking]
    return sorted(found, key=lambda line: line.since, reverse=True)


def _view_asks(library: Library, view: JobView) -> bool:
    """Whether anything in a job may ask for a test: only then its rules are looked at."""
    if view.dangers or view.source is None:
        return True
    family, model = view.source.job.family, view.source.job.model
    bodies = [entry.body for entry in view.entries if entry.retracted_by is None]
    return any(_may_ask(library, (family, model), body) for body in bodies)


def _asks(library: Library, row: job_rows.JobRow, told: Sequence[tuple[str, str]]) -> bool:
    """Whether a fact of the job asks for a test, as far as it can be told without the others."""
    machine = (row.family, row.model)
    return any(_may_ask(library, machine, decoded(body)) for _, body in told)


def _may_ask(library: Library, machine: Machine, body: Body) -> bool:
    match body:
        case DangerTold():
            return bool(body.kinds)
        case WorkTouched():
            return bool(body.what)
        case CheckDone() | RemedyDone() if body.outcome in NOT_DONE:
            return False
        case CheckDone() | ReadingDone() | RemedyDone() if body.by == "technician":
            return _behind_a_cover(library, machine, body)
        case _:
            return False


def _behind_a_cover(
    library: Library, machine: Machine, body: CheckDone | ReadingDone | RemedyDone
) -> bool:
    family, model = machine
    if family is None and model is None:
        return False
    try:
        pack = library.of(JobFile(family=family, model=model)).pack
    except TubsideError:
        return False  # its pack is gone; the page of the job says so
    if isinstance(body, RemedyDone):
        remedy = pack.remedies.get(body.remedy)
        return remedy is not None and remedy.behind is not None
    check = pack.checks.get(body.check)
    return check is not None and check.behind is not None
