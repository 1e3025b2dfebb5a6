"""References: of jobs, facts, people, words and photos."""

from __future__ import annotations

import msgspec
from sqlalchemy import Connection

from tubside.errors import FactError, NotThereError
from tubside.service.records import Ref
from tubside.store import job_rows


def check_ref(text: str) -> str:
    """A reference as it may stand in the store.

    Raises
    ------
    FactError
        When it is no 8 to 64 letters, digits, dashes or underlines.
    """
    try:
        return str(msgspec.convert(text, Ref))
    except msgspec.ValidationError:
        msg = "a reference is 8 to 64 letters, digits, - or _"
        raise FactError(msg) from None


def need_ref(text: str, what: str) -> None:
    """Raise NotThereError for what no reference looks like, before a database sees it."""
    try:
        check_ref(text)
    except FactError:
        msg = f"there is no {what} {text[:64]!a}"
        raise NotThereError(msg) from None


def need_job(connection: Connection, job: str) -> None:
    """Raise NotThereError unless there is such a job."""
    need_ref(job, "job")
    if not job_rows.exists(connection, job):
        msg = f"there is no job {job!a}"
        raise NotThereError(msg)
