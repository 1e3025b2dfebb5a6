"""What each visit of a day may need, worked out from its job and kept until a fact changes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo

import msgspec

from tubside.diagnosis.belief import believe_sets, finished
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.errors import FactsDisagreeError, JobFileError
from tubside.kit.draws import drawn_needs
from tubside.service.advise import situation_of
from tubside.service.coding import coded_facts
from tubside.service.danger import dangers
from tubside.service.job_file import JobFile, JobSource
from tubside.service.library import Library
from tubside.service.viewing import told_key, view_of
from tubside.service.views import JobView
from tubside.store import beside, job_rows
from tubside.store.opening import Store

MOST_JOBS = 1000
SETS = 800
"""Sets of causes that the draws are made from: the plan looks at fewer still."""
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Needs:
    """Sets of part kinds that a job may need, equally likely; None where nothing is known."""

    sets: tuple[tuple[str, ...], ...] | None = None


@dataclass(frozen=True, slots=True)
class DayJob:
    """A visit of the day: its job as it stands, and what it may need."""

    view: JobView
    needs: Needs

    @property
    def label(self) -> str:
        """Whose machine it is, in a few words."""
        known, person = self.view.known, self.view.person
        machine = "new call"
        if known is not None:
            machine = known.panel.name if known.panel is not None else known.pack.title
        name = person.data.name if person is not None and person.data is not None else ""
        return f"{name}, {machine}" if name else machine


def visits_on(store: Store, library: Library, day: date, zone: tzinfo | None) -> list[JobView]:
    """Jobs that are not closed with a visit booked on a day of ``zone``, in their order."""
    with store.reading() as opened:
        rows = job_rows.listed(opened, closed=False, limit=MOST_JOBS, after=None)
    booked = [row.id for row, _ in rows if row.stage in {"visit booked", "on site"}]
    views = [view_of(store, library, job, advised=False) for job in booked]
    return sorted((v for v in views if _is_on(v, day, zone)), key=lambda v: (_begins(v), v.id))


def jobs_needing(
    store: Store, library: Library, jobs: Sequence[JobView | str], now: datetime
) -> list[DayJob]:
    """The jobs, in this order, each with what it may need; NotThereError for an unknown one."""
    views = [_view(store, library, one) for one in jobs]
    return [DayJob(view, needs_of(store, view, now)) for view in views]


def needs_of(store: Store, view: JobView, now: datetime) -> Needs:
    """What a job may need once somebody stands at the machine."""
    kept, key = needs_kept(store, view), _key(view)
    if kept is not None or key is None:
        return kept or Needs()
    found = _worked_out(view)
    with store.writing() as opened:
        beside.keep_told(opened, key, msgspec.json.encode(found).decode(), now)
    return found


def needs_kept(store: Store, view: JobView) -> Needs | None:
    """What a job may need if it was worked out from the facts as they are now, else None."""
    key = _key(view)
    if key is None:
        return Needs()
    with store.reading() as opened:
        return _unpacked(beside.told(opened, key))


def _key(view: JobView) -> str | None:
    """Where the needs are kept; None where nothing is advised."""
    if view.source is None or view.known is None or view.computed_from is None:
        return None
    job = view.source.job
    if not (job.reported or job.indication or job.clip or view.dangers):
        return None
    told = msgspec.structs.replace(_on_site(job), aboard=[], not_aboard=[])
    return f"{told_key(told, view.computed_from)}-needs"


def _view(store: Store, library: Library, job: JobView | str) -> JobView:
    return view_of(store, library, job, advised=False) if isinstance(job, str) else job


def _worked_out(view: JobView) -> Needs:
    assert view.source is not None
    assert view.known is not None
    source = JobSource(_on_site(view.source.job), view.source.document)
    model = view.known.model
    try:
        evidence = evidence_of(model, coded_facts(source, view.known))
        belief = believe_sets(model, evidence, grow(model, evidence, SETS))
    except (FactsDisagreeError, JobFileError):
        return Needs()
    if finished(evidence):
        return Needs(((),))
    found = tuple(dangers(source.job, view.known.pack))
    drawn = drawn_needs(model, evidence, belief, situation_of(source, view.known, found))
    names = model.names.parts
    return Needs(tuple(tuple(sorted(names[part] for part in need)) for need in drawn.needs))


def _on_site(job: JobFile) -> JobFile:
    return msgspec.structs.replace(job, where="site")


def _begins(view: JobView) -> datetime:
    visit = view.visit
    return LONG_AGO if visit is None or visit.arrive_from is None else visit.arrive_from


def _is_on(view: JobView, day: date, zone: tzinfo | None) -> bool:
    visit = view.visit
    if visit is None or visit.status != "booked" or visit.arrive_from is None:
        return False
    return visit.arrive_from.astimezone(zone).date() == day


def _unpacked(text: str | None) -> Needs | None:
    if text is None:
        return None
    try:
        return msgspec.json.decode(text, type=Needs)
    except msgspec.DecodeError:
        return None
