"""What every page works with, and how a plain function becomes a route."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from uuid import uuid4

from anyio.to_thread import run_sync
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from tubside.errors import NotThereError, TubsideError
from tubside.service import jobs
from tubside.service.authors import Author
from tubside.service.library import Library
from tubside.service.recording_work import RecordingWork
from tubside.service.records import Body
from tubside.service.views import JobView
from tubside.store.opening import Store

Render = Callable[[Request, str, Mapping[str, object], int], Response]
DEVICE = "server"
MOST_FIELDS = 200
MOST_FILES = 1


@dataclass(frozen=True, slots=True)
class Form:
    """The fields of a form; empty for a page that was only looked at."""

    fields: Mapping[str, list[str]]
    photo: bytes | None = None
    """The one file that came with it: a photo, the archive of a model, or a recording."""

    def one(self, name: str, otherwise: str = "") -> str:
        """The first value of a field, trimmed."""
        return next(iter(self.fields.get(name, [])), otherwise).strip()

    def all(self, name: str) -> list[str]:
        """Every value of a field that holds something."""
        return [value.strip() for value in self.fields.get(name, []) if value.strip()]


@dataclass(frozen=True, slots=True)
class Desk:
    """Store, knowledge, clock and templates, handed to every page."""

    store: Store
    library: Library
    clock: Callable[[], datetime]
    render: Render
    work: RecordingWork = field(default_factory=RecordingWork)
    """Recordings being read while the pages go on."""

    def author(self, once: str = "") -> Author:
        """Who writes; ``once`` from a form makes the same form count once."""
        ids: Iterator[str] = (f"{once}-{n}" for n in count()) if once else iter(_fresh, None)
        return Author(DEVICE, self.clock, lambda: next(ids))

    def view(self, job: str) -> JobView:
        """The job as it stands."""
        return jobs.job_view(self.store, self.library, job)

    def keep(self, job: str, bodies: list[Body], once: str = "") -> None:
        """Append facts from a form, each checked first, and what is then advised."""
        view = self.view(job)
        for body in bodies:
            jobs.check_body(self.library, view, body)
        author = self.author(once)
        for body in bodies:
            jobs.record(self.store, job, author, body, view.computed_from, view.seen)
        jobs.record_advice(self.store, self.library, job, self.author())


Handler = Callable[[Desk, Request, Form], Response]


def _fresh() -> str:
    return uuid4().hex


def fresh_id() -> str:
    """A random id for a form."""
    return uuid4().hex


def route_of(
    desk: Desk, handler: Handler, first: Callable[[Desk, Request], Response | None] | None = None
) -> Callable[[Request], object]:
    """A route that reads the form, works in a thread, and tells mistakes plainly.

    ``first`` may refuse before anything of the form is read.
    """

    async def answer(request: Request) -> Response:
        refused = await run_sync(first, desk, request) if first is not None else None
        if refused is not None:
            return refused
        form = await _form(request) if request.method == "POST" else Form({})
        try:
            return await run_sync(handler, desk, request, form)
        except NotThereError as wrong:
            return desk.render(request, "sorry.html", {"wrong": str(wrong)}, 404)
        except TubsideError as wrong:
            job = request.path_params.get("job")
            return desk.render(request, "sorry.html", {"wrong": str(wrong), "job": job}, 422)

    return answer


def go(path: str) -> Response:
    """On to another page after a form (303, so that going back posts nothing twice)."""
    return RedirectResponse(path, 303)


async def _form(request: Request) -> Form:
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as data:
        fields: dict[str, list[str]] = {}
        for name, value in data.multi_items():
            if isinstance(value, str):
                fields.setdefault(name, []).append(value)
        return Form(fields, await _photo(data))


async def _photo(data: FormData) -> bytes | None:
    file = data.get("photo") or data.get("archive") or data.get("recording")
    content = await file.read() if isinstance(file, UploadFile) else b""
    return content or None
