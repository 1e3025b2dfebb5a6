"""What a phone needs for when there is no signal: its worker, its list of jobs, its frame."""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from hashlib import sha256

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.service import jobs
from tubside.service.danger import SAY
from tubside.service.views import JobLine
from tubside.web.pages import told_forms
from tubside.web.pages.call import HOW_OFTEN, NOT_TOLD, said_often
from tubside.web.pages.desk import Desk, Form
from tubside.web.pages.people import FIELDS
from tubside.web.pages.rendering import STATIC, static_file, static_path
from tubside.web.pages.words import DANGER_WORDS, PAYER_CHIPS, PHOTO_WORDS
from tubside.web.security.login_page import session_in

KEPT_DAYS = 7
"""Days after which a phone drops its copy of a job, in contact or not; a session that is
not used ends by then too."""
KEPT_JOBS = 20


class Kept(msgspec.Struct, frozen=True):
    """One job that a phone is to hold: another ``state`` means that its copy is old."""

    id: str
    state: str


class KeepList(msgspec.Struct, frozen=True):
    """What a phone is to hold, and for whom."""

    user: str
    jobs: list[Kept]
    day: str
    """Today, whose visits a phone holds, too: such as 2026-03-04."""
    days: int = KEPT_DAYS


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """The jobs that this phone is to hold: the open ones that were touched lately."""
    session = session_in(request)
    lines = jobs.job_lines(desk.store, desk.library, KEPT_JOBS)
    since = desk.clock() - timedelta(days=KEPT_DAYS)
    kept = [Kept(line.id, state_of(line)) for line in lines if line.since >= since]
    today = desk.clock().astimezone().date().isoformat()
    told = KeepList("" if session is None else session.user.name, kept, today)
    return Response(msgspec.json.encode(told), media_type="application/json")


def state_of(line: JobLine) -> str:
    """A word that changes whenever a fact is added to the job."""
    return f"{line.since.timestamp():.6f}-{line.stage.replace(' ', '-')}"


def frame(desk: Desk, request: Request, _form: Form) -> Response:
    """The page that a phone fills for a job of which it has no copy, such as a new one."""
    families = {name: desk.library.family(name).pack for name in desk.library.families()}
    troubles = {}
    for name, pack in families.items():
        often = said_often(pack)
        listed_ones = sorted(pack.conditions.items(), key=lambda item: -often[item[0]])
        troubles[name] = [(condition, entry.title) for condition, entry in listed_ones]
    values = {
        "models": [(name, desk.library.model(name)) for name in desk.library.models()],
        "families": families,
        "troubles": troubles,
        "machine_told": told_forms.machine(desk.library),
        "how_often": [NOT_TOLD, *HOW_OFTEN.items()],
        "payers": list(PAYER_CHIPS.items()),
        "danger_words": DANGER_WORDS,
        "danger_say": dict(SAY),
        "photo_words": PHOTO_WORDS,
        "person_fields": FIELDS,
    }
    return desk.render(request, "offline_job.html", values, 200)


def about(desk: Desk, request: Request, _form: Form) -> Response:
    """What works without signal, what the phone holds, and what to do when it is lost."""
    values = {"days": KEPT_DAYS, "most": KEPT_JOBS}
    return desk.render(request, "offline.html", values, 200)


def worker(_desk: Desk, _request: Request, _form: Form) -> Response:
    """The service worker; another text, so a new version, whenever one of our files changes."""
    headers = {"cache-control": "no-cache", "service-worker-allowed": "/"}
    return Response(worker_text(), media_type="text/javascript", headers=headers)


@cache
def worker_text() -> bytes:
    """The worker with the names of the files it keeps and its version in front."""
    assets = sorted(static_path(name) for name in STATIC if name != "service-worker.js")
    file = static_file("service-worker.js")
    version = sha256("\n".join(assets).encode() + file).hexdigest()[:12]
    shell = {"version": version, "assets": assets, "days": KEPT_DAYS}
    return b"const SHELL = " + msgspec.json.encode(shell) + b";\n" + file
