"""What is learned are counts, and counts add.

Every closed job becomes a few counts under a key; a batch of jobs is the sum of theirs.
Counts are whole millionths of a job, so that a sum is the same to the last digit whatever
the order and whoever adds: one process, several, a cluster, or a database.

=============  ==================  ====================  ===================================
``what``       ``of``              ``given``             ``value``
=============  ==================  ====================  ===================================
``jobs``                                                 jobs in all
``cause``      complaint                                 cause: its share as the main one
``sure``       cause                                     how it was made sure
``outcome``    check               cause                 outcome ``@`` who told it
``cure``       remedy              cause                 ``yes`` or ``no``
``minutes``    check or remedy                           whole minutes
``price``      part kind                                 whole cents
``age``        cause                                     whole years
``several``                                              ``yes`` or ``no``, of sure jobs
``phone``      cause                                     ``yes`` or ``no``: unvisited, of sure jobs
``month``      cause                                     year and month of closing
``unsure``     complaint           what was told         jobs whose cause is in doubt
``doubt``      complaint                                 cause: its share in those jobs
``callback``   cause                                     ``yes`` or ``no``: a return, of sure jobs
=============  ==================  ====================  ===================================

``outcome`` and ``cure`` hold the job's ``sure`` beside them: what rests only on a remedy
that happened to work can be told apart. A check that decided the cause is not counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from tubside.learning.history import MILLION, ClosedJob


class Key(NamedTuple):
    """Under what something is counted; empty where it does not matter."""

    shop: str
    family: str
    model: str
    what: str
    of: str = ""
    given: str = ""
    value: str = ""
    sure: str = ""


@dataclass(frozen=True, slots=True)
class Counts:
    """Key -> millionths of jobs; a key that is absent was never met."""

    by_key: dict[Key, int]

    def __add__(self, other: Counts) -> Counts:
        """Both batches together."""
        return merged([self, other])


def merged(batches: Iterable[Counts]) -> Counts:
    """All batches together, in any order the same.

    >>> one = Counts({Key("", "dryer", "", "jobs"): 2_000_000})
    >>> merged([one, one]).by_key[Key("", "dryer", "", "jobs")]
    4000000
    """
    total: Counter[Key] = Counter()
    for batch in batches:
        total.update(batch.by_key)
    return Counts(dict(sorted(total.items())))


def counted(jobs: Iterable[ClosedJob]) -> Counts:
    """The counts of a batch of jobs; see the module for their keys."""
    total: Counter[Key] = Counter()
    for job in jobs:
        for key, millionths in counts_of(job):
            total[key] += millionths
    return Counts(dict(sorted(total.items())))


def counts_of(job: ClosedJob) -> Iterator[tuple[Key, int]]:
    """Each key of one job with its millionths; noughts are left out."""
    place = (job.shop, job.family, job.model)
    for what, of, given, value, sure, millionths in _bare(job):
        if millionths:
            yield Key(*place, what, of, given, value, sure), millionths


_Bare = tuple[str, str, str, str, str, int]


def _bare(job: ClosedJob) -> Iterator[_Bare]:
    yield "jobs", "", "", "", "", MILLION
    if job.sure != "not-confirmed" and job.several is not None:
        yield "several", "", "", "yes", "", job.several
        yield "several", "", "", "no", "", MILLION - job.several
    for cause, share in job.causes.items():
        yield from _by_cause(job, cause, share)
    for step, minutes in job.minutes.items():
        yield "minutes", step, "", str(minutes), "", MILLION
    for kind, cents in job.prices.items():
        yield "price", kind, "", str(cents), "", MILLION
    if job.sure == "not-confirmed":
        yield "unsure", job.complaint, told(job), "", "", MILLION


def _by_cause(job: ClosedJob, cause: str, share: int) -> Iterator[_Bare]:
    yield "cause", job.complaint, "", cause, "", share
    if job.sure == "not-confirmed":
        yield "doubt", job.complaint, "", cause, "", share
    elif job.by_phone is not None:
        yield "phone", cause, "", _yes(job.by_phone), "", share
        yield "callback", cause, "", _yes(bool(job.callback_of)), "", share
    yield "sure", cause, "", job.sure, "", share
    yield "month", cause, "", job.closed.isoformat()[:7], "", share
    if job.age_years is not None:
        yield "age", cause, "", str(int(job.age_years)), "", share
    for remedy, cured in job.remedies.items():
        yield "cure", remedy, cause, _yes(cured), job.sure, share
    for seen in job.checks:
        if seen.check not in job.decided:
            yield "outcome", seen.check, cause, f"{seen.outcome}@{seen.by}", job.sure, share


def told(job: ClosedJob) -> str:
    """All that was told of a job in one text, the same for jobs that were told the same.

    >>> from datetime import date
    >>> from tubside.learning.history import CheckTold
    >>> told(ClosedJob(job="j", closed=date(2026, 3, 2), family="dryer", checks=(
    ...     CheckTold("vent", "blocked", "technician"), CheckTold("fuse", "open", "technician"))))
    'fuse=open@technician;vent=blocked@technician'
    """
    return ";".join(sorted({f"{seen.check}={seen.outcome}@{seen.by}" for seen in job.checks}))


def _yes(said: bool) -> str:
    return "yes" if said else "no"
