"""What is suddenly above expectation at this shop, looked for once a day and kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

import msgspec
from sqlalchemy import func, select

from tubside.learning.alarms import Alarm, alarms
from tubside.learning.counts import Counts, counted
from tubside.learning.history import ClosedJob
from tubside.learning.proposal import Whose
from tubside.service.learning.history import OWN_SHOP
from tubside.service.learning.learned import job_rows
from tubside.service.learning.words import cause_title
from tubside.service.library import Library
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting
from tubside.store.tables import JOBS

KEPT = "learning.above"
SHOWN_MONTHS = 2
"""An alarm is shown in its month and the next."""
LOOKED_AFTER = (7, 14, 21)
"""Days of a month after which it is looked at, and after its end: more looks, more alarms."""
MOST_AT_ONCE = 1000
"""With more closed jobs the list of jobs does not wait for it: the page of what jobs say looks."""


class Above(msgspec.Struct, frozen=True):
    """A cause, of one model where that is named, above expectation: in words of the pack."""

    family: str
    cause: str
    model: str
    since: str
    at: str
    met: float
    expected: float
    quiet_years: float
    """Such a watch alarms without cause at most once in so many years, on average."""
    months: float | None = None
    """It takes longer than that to find a doubling, on average."""

    def words(self) -> str:
        """One sentence."""
        of = f" on the {self.model.replace('-', ' ')}" if self.model else ""
        few = "hardly one was" if self.expected < 1.0 else f"{self.expected:.1f} were"
        return (
            f"{self.cause[:1].upper()}{self.cause[1:]}{of}: {self.met:.0f} jobs since "
            f"{self.since}, where {few} to be expected"
        )


class _Kept(msgspec.Struct, frozen=True):
    day: date
    found: list[Above]


def above_today(store: Store, library: Library, now: datetime) -> list[Above]:
    """What was found today; looked for anew once a day, where that takes no time."""
    with store.reading() as opened:
        text = setting(opened, KEPT)
        # not counted to the end: the list of jobs asks this each time
        some = select(JOBS.c.id).where(JOBS.c.closed).limit(MOST_AT_ONCE + 1).subquery()
        closed = opened.execute(select(func.count()).select_from(some))
        many = int(closed.scalar() or 0) > MOST_AT_ONCE
    kept = None if text is None else msgspec.json.decode(text, type=_Kept)
    if kept is not None and (many or kept.day == now.date()):
        return _recent(kept.found, now)
    return [] if many else look(store, library, job_rows(store, library), now)


def look(store: Store, library: Library, jobs: Sequence[ClosedJob], now: datetime) -> list[Above]:
    """Look for it in these jobs, up to the last day on which that is done; keep what was found."""
    until = looked_until(now.date())
    counts = counted(job for job in jobs if job.closed <= until)
    found = [one for family in library.families() for one in _of_family(library, counts, family)]
    with store.writing() as opened:
        keep_setting(opened, KEPT, msgspec.json.encode(_Kept(now.date(), found)).decode())
    return _recent(found, now)


def looked_until(day: date) -> date:
    """The last day that counts: the same for some days, so that a month is seldom looked at.

    >>> looked_until(date(2026, 3, 20)), looked_until(date(2026, 3, 7))
    (datetime.date(2026, 3, 14), datetime.date(2026, 2, 28))
    """
    whole = [last for last in LOOKED_AFTER if last < day.day]
    return day.replace(day=whole[-1]) if whole else day.replace(day=1) - timedelta(days=1)


def _of_family(library: Library, counts: Counts, family: str) -> Iterator[Above]:
    if not any(key.family == family for key in counts.by_key):
        return
    pack = library.family(family).pack
    looks = len(LOOKED_AFTER) + 1
    for alarm in alarms(counts, pack, Whose(family, OWN_SHOP), last=SHOWN_MONTHS, looks=looks):
        yield _told(alarm, family, cause_title(alarm.cause, pack))


def _told(alarm: Alarm, family: str, title: str) -> Above:
    return Above(
        family=family,
        cause=title,
        model=alarm.model,
        since=alarm.since,
        at=alarm.at,
        met=alarm.met,
        expected=alarm.expected,
        quiet_years=alarm.false_alarm_months / 12.0,
        months=alarm.months_to_find,
    )


def _recent(found: Sequence[Above], now: datetime) -> list[Above]:
    months = 12 * now.year + now.month
    return [
        one for one in found if months - (12 * int(one.at[:4]) + int(one.at[5:])) < SHOWN_MONTHS
    ]
