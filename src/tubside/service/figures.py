"""The shop's figures: how often the first visit mends, how often work comes back, how long.

Counted from facts in the order of their moments. A fact taken back does not count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from statistics import median

import msgspec

from tubside.service.after_records import ReturnOf
from tubside.store.figures import Told, paid, told
from tubside.store.opening import Store

WEEKS = 26
"""How far back the page looks."""
BEFORE = timedelta(days=90)
"""How long before that a job closed within may have begun."""
LONGEST_STAY = 8 * 3600.0
"""[s]; who is said to be longer at one machine forgot to tell that it was over."""
KINDS = ("place", "closing", "came-back", "return-of", "retract")
SECOND = 1_000_000


@dataclass(frozen=True, slots=True)
class Week:
    """One week, by its Monday; ``minutes`` are the middle ones at a machine, None without any."""

    monday: date
    closed: int
    came_back: int
    minutes: float | None
    takings: int
    """In cents: what was paid, less what went back."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Counts over all weeks shown; a job counts in the week in which it was first closed."""

    weeks: tuple[Week, ...]
    closed: int
    came_back: int
    visited: int
    """Closed jobs in which somebody was at the machine."""
    first_visit: int
    """Those of them closed in a single visit that did not come back."""
    minutes: float | None

    @property
    def first_visit_rate(self) -> float | None:
        """Share [1] of visited jobs, None without any."""
        return self.first_visit / self.visited if self.visited else None

    @property
    def callback_rate(self) -> float | None:
        """Share [1] of closed jobs, None without any."""
        return self.came_back / self.closed if self.closed else None


@dataclass(slots=True)
class _Job:
    """What was counted of one job so far."""

    days: set[date] = field(default_factory=set)
    stays: list[float] = field(default_factory=list)
    since: int | None = None
    closed: date | None = None
    came_back: bool = False


def figures(store: Store, now: datetime, weeks: int = WEEKS) -> Figures:
    """The figures of the last weeks, the one that runs with them."""
    first = monday_of(now.astimezone().date()) - timedelta(weeks=weeks - 1)
    start = datetime(first.year, first.month, first.day, tzinfo=UTC)
    with store.reading() as opened:
        rows, payments = told(opened, KINDS, start - BEFORE), paid(opened, first)
    jobs = counted(rows)
    mondays = [first + timedelta(weeks=n) for n in range(weeks)]
    closed = [job for job in jobs.values() if job.closed is not None]
    return _summed(closed, mondays, takings(payments))


def takings(payments: Iterable[tuple[str, int]]) -> dict[date, int]:
    """Cents taken by the Monday of their week.

    >>> takings([("2026-03-04", 9000), ("2026-03-08", -1500)])
    {datetime.date(2026, 3, 2): 7500}
    """
    found: dict[date, int] = defaultdict(int)
    for day, cents in payments:
        found[monday_of(date.fromisoformat(day))] += cents
    return dict(found)


def monday_of(day: date) -> date:
    """The Monday of a day's week.

    >>> monday_of(date(2026, 3, 4)).isoformat()
    '2026-03-02'
    """
    return day - timedelta(days=day.weekday())


def counted(rows: Iterable[Told]) -> dict[str, _Job]:
    """Each job with its visits, stays, first closing, and whether it came back."""
    ordered = sorted(rows, key=lambda row: row.at)
    dead = _taken_back(ordered)
    jobs: dict[str, _Job] = defaultdict(_Job)
    for row in ordered:
        if row.id not in dead and row.kind != "retract":
            _count(jobs, row)
    return jobs


def _count(jobs: dict[str, _Job], row: Told) -> None:
    job = jobs[row.job]
    match row.kind:
        case "place" if '"site"' in row.body:
            job.days.add(_day(row.at))
            job.since = row.at if job.since is None else job.since
        case "place":
            _left(job, row.at)
        case "closing":
            _left(job, row.at)
            job.closed = job.closed or _day(row.at)
        case "came-back":
            job.came_back = job.came_back or job.closed is not None
        case "return-of":
            jobs[msgspec.json.decode(row.body, type=ReturnOf).job].came_back = True


def _left(job: _Job, at: int) -> None:
    if job.since is not None:
        stay = (at - job.since) / SECOND
        job.stays += [stay / 60.0] if stay <= LONGEST_STAY else []
        job.since = None


def _day(at: int) -> date:
    return date.fromtimestamp(at / SECOND)  # noqa: DTZ012  # weeks are those of the shop's own place


def _taken_back(ordered: Sequence[Told]) -> set[str]:
    """Facts taken back; a take-back may itself be taken back, so from the last to the first."""
    dead: set[str] = set()
    for row in reversed(ordered):
        if row.retracts is not None and row.id not in dead:
            dead.add(row.retracts)
    return dead


def _summed(jobs: Sequence[_Job], mondays: Sequence[date], taken: Mapping[date, int]) -> Figures:
    by_week: dict[date, list[_Job]] = {monday: [] for monday in mondays}
    for job in jobs:
        week = monday_of(job.closed) if job.closed is not None else None
        if week in by_week:
            by_week[week].append(job)
    shown = [job for week in by_week.values() for job in week]
    visited = [job for job in shown if job.days]
    return Figures(
        tuple(_week(monday, of, taken.get(monday, 0)) for monday, of in by_week.items()),
        len(shown),
        sum(job.came_back for job in shown),
        len(visited),
        sum(len(job.days) == 1 and not job.came_back for job in visited),
        _middle(shown),
    )


def _week(monday: date, jobs: Sequence[_Job], taken: int) -> Week:
    return Week(monday, len(jobs), sum(job.came_back for job in jobs), _middle(jobs), taken)


def _middle(jobs: Iterable[_Job]) -> float | None:
    stays = [stay for job in jobs for stay in job.stays]
    return median(stays) if stays else None
