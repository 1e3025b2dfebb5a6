"""What the jobs of a list wait for, and since when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from tubside.service.replay import line_of, waiting_of
from tubside.service.visit_records import Waiting
from tubside.store import facts as kept
from tubside.store.opening import Store


def waits_of(store: Store, jobs: Sequence[str]) -> dict[str, tuple[Waiting, datetime]]:
    """Return job -> what it waits for and since when, for those of ``jobs`` that do."""
    found: dict[str, tuple[Waiting, datetime]] = {}
    with store.reading() as opened:
        lines = {job: line_of(kept.of_job(opened, job)) for job in jobs}
    for job, entries in lines.items():
        wait = waiting_of(entries)
        if wait is not None:
            found[job] = (wait, max(one.at for one in entries if one.body == wait))
    return found
