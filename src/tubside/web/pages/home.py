"""The jobs at hand, and those that are closed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from starlette.requests import Request
from starlette.responses import Response

from tubside.service import jobs
from tubside.service.own_check.told import told_checks
from tubside.service.unproven import WORDS as UNPROVEN
from tubside.service.unproven import unproven_among, unproven_lines
from tubside.service.views import JobLine
from tubside.service.visits.waits import waits_of
from tubside.web.pages import learning
from tubside.web.pages.desk import Desk, Form
from tubside.web.pages.visit import wait_words

A_PAGE = 50
GROUPS = {
    "on site": "At the machine",
    "call": "On the telephone",
    "visit booked": "Visits booked",
    "waiting": "Waiting",
    "closed": "Closed",
}
"""Stage of a job -> title of its group, in the order shown."""


def at_hand(desk: Desk, request: Request, _form: Form) -> Response:
    """Open jobs, the latest fact first; ``?closed=1`` shows the closed ones."""
    closed = request.query_params.get("closed") == "1"
    after = request.query_params.get("after")
    lines = jobs.job_lines(desk.store, desk.library, A_PAGE, after, closed=closed)
    more = lines[-1].id if len(lines) == A_PAGE else None
    waits = {} if closed else _waits(desk, lines)
    groups = groups_of(lines)
    lacking = [] if closed or after is not None else unproven_lines(desk.store, desk.library)
    unproven = frozenset(line.id for line in lacking)
    if closed:
        unproven = unproven_among(desk.store, desk.library, [line.id for line in lines])
    if lacking:
        groups = [(UNPROVEN, lacking), *groups]
    values = {
        "learned_above": [] if closed or after is not None else learning.above(desk, request),
        "groups": groups,
        "closed": closed,
        "more": more,
        "waits": waits,
        "unproven": unproven,
        "unproven_words": UNPROVEN,
        "own": told_checks(desk.store, desk.library, [line.id for line in lines]),
    }
    return desk.render(request, "jobs.html", values, 200)


def groups_of(lines: Sequence[JobLine]) -> list[tuple[str, list[JobLine]]]:
    """The lines by stage, those with a danger first in each; no empty groups."""
    found = [(title, [line for line in lines if line.stage == s]) for s, title in GROUPS.items()]
    return [
        (title, sorted(some, key=lambda line: not line.danger)) for title, some in found if some
    ]


def _waits(desk: Desk, lines: Sequence[JobLine]) -> dict[str, tuple[str, datetime]]:
    """Job -> what it waits for and since when, for those that wait."""
    found = waits_of(desk.store, [line.id for line in lines if line.stage == "waiting"])
    return {job: (wait_words(told), since) for job, (told, since) in found.items()}
