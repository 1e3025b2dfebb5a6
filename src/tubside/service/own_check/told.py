"""What the technician sees of a customer's own check: two lines, when the telephone rings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tubside.service.library import Library
from tubside.service.own_check.standing import DEVICE
from tubside.service.records import (
    CameBack,
    CheckDone,
    DangerTold,
    Indication,
    PersonNamed,
    RemedyDone,
    Reported,
    WordsKept,
)
from tubside.service.viewing import view_of
from tubside.service.views import Entry, JobView
from tubside.service.visit_records import Waiting
from tubside.store import facts as kept
from tubside.store.opening import Store


@dataclass(frozen=True, slots=True)
class ToldCheck:
    """Two lines: what was told and done, and how it ended; ``times`` are the wishes for a visit."""

    done: str
    ended: str
    times: str
    at_door: bool
    last: datetime

    def words(self) -> str:
        """Both lines in one."""
        return f"{self.done}; {self.ended}"


def told_check(view: JobView) -> ToldCheck | None:
    """What came of the customer's own check; None where there was none."""
    entries = [e for e in view.entries if e.device == DEVICE]
    counting = [e for e in entries if e.retracted_by is None]
    if not counting:
        return None
    first = view.entries[0]
    times = [
        str(view.words.get(e.body.ref) or "") for e in counting if isinstance(e.body, WordsKept)
    ]
    return ToldCheck(
        _done(counting),
        _ended(view, counting),
        times[-1] if times else "",
        first.device == DEVICE,
        max(e.at for e in entries),
    )


def _done(entries: Iterable[Entry]) -> str:
    bodies = [entry.body for entry in entries]
    looks = sum(isinstance(body, CheckDone) for body in bodies)
    tries = sum(isinstance(body, RemedyDone) for body in bodies)
    lamps = any(isinstance(body, Indication) for body in bodies)
    said = any(isinstance(body, Reported) for body in bodies)
    words = []
    if said or lamps:
        words.append("told " + " and ".join(["the trouble"] * said + ["the lamps"] * lamps))
    words.append(_many(looks, "check answered", "checks answered"))
    words.append(_many(tries, "remedy tried", "remedies tried"))
    return ", ".join(words)


def _many(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _ended(view: JobView, entries: list[Entry]) -> str:
    """How it ended, the last word counting; danger before all else."""
    if view.dangers:
        return f"stopped: {', '.join(view.dangers).replace('-', ' ')} told"
    ended = "not finished"
    for entry in entries:
        match entry.body:
            case RemedyDone(outcome="works"):
                ended = "cleared, it works again"
            case CameBack():
                ended = "it came back"
            case Waiting(what="visit"):
                ended = "a visit is wished for"
            case DangerTold() | PersonNamed():
                pass
    return ended


def told_checks(store: Store, library: Library, jobs: Iterable[str]) -> dict[str, ToldCheck]:
    """Job -> what came of its customer's own check, for those of the jobs that had one."""
    with store.reading() as opened:
        some = kept.jobs_of_device(opened, DEVICE, list(jobs))
    found = {}
    for job in sorted(some):
        told = told_check(view_of(store, library, job, advised=False))
        if told is not None:
            found[job] = told
    return found
