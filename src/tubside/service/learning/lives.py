"""How long machines live, from the shop's own jobs: those that went, and those that lived on.

A machine went at its age when a job tells that it was recycled or kept for parts; otherwise it
had not gone at the age of its last job. Each machine counts once: earlier jobs of a return, and
of the same serial number, are left out. A machine is seen only because something was wrong with
it, which makes lives too short; one that was replaced later without a call counts as living on,
which makes them too long. No number of jobs mends either.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.errors import HistoryError
from tubside.learning.lifetimes import WeibullFit, by_maximum_likelihood
from tubside.service.after_records import Disposed, ReturnOf
from tubside.service.library import Library
from tubside.service.replay import counting, latest, line_of, source_of
from tubside.service.unseen import serial_of
from tubside.service.views import Entry
from tubside.store.closed_facts import closed_facts
from tubside.store.opening import Store

FEWEST = 20
"""Machines that went before a life is told: with shape 2.3 its scale is then known to about
10 % either way (asymptotic variance of ln scale, 1.109 / (n shape^2): Meeker & Escobar, 1998,
chapter 8, from memory)."""
GONE = frozenset({"recycled", "kept-for-parts"})
KINDS = ("machine", "disposed", "return-of", "retract")


@dataclass(frozen=True, slots=True)
class OwnLife:
    """A life fitted to the shop's machines: how many went, and how many lived on."""

    fit: WeibullFit
    gone: int
    living: int

    @property
    def words(self) -> str:
        """What it rests on."""
        return (
            f"our own jobs: {self.gone} machines that went, {self.living} that lived on "
            "(Weibull, maximum likelihood)"
        )


@dataclass(frozen=True, slots=True)
class _Seen:
    """One machine at one job."""

    job: str
    age: float
    gone: bool
    serial: str | None
    earlier: str | None


def own_life(store: Store, library: Library, family: str) -> OwnLife | None:
    """The life of a family by the shop's closed jobs; None where too few machines went."""
    with store.reading() as opened:
        if sum(1 for _ in closed_facts(opened, ("disposed",))) < FEWEST:
            return None  # seldom so many: the other jobs are not read for nothing
        told = [
            _seen(job, line_of(rows), library, family) for job, rows in closed_facts(opened, KINDS)
        ]
    machines = _once([one for one in told if one is not None])
    gone = np.array([one.age for one in machines if one.gone])
    living = np.array([one.age for one in machines if not one.gone])
    if len(gone) < FEWEST:
        return None
    try:
        fit = by_maximum_likelihood(gone, living)
    except HistoryError:
        return None  # all went at one age
    return OwnLife(fit, len(gone), len(living))


def _seen(job: str, entries: tuple[Entry, ...], library: Library, family: str) -> _Seen | None:
    said = source_of(entries).job
    if not said.age_years or _family(library, said.family, said.model) != family:
        return None
    went = any(
        isinstance(body, Disposed) and body.what == "machine" and body.way in GONE
        for body in counting(entries)
    )
    again = latest(entries, ReturnOf)
    return _Seen(job, said.age_years, went, serial_of(entries), again.job if again else None)


def _family(library: Library, family: str | None, model: str | None) -> str | None:
    if family is not None or model is None:
        return family
    return library.model(model).pack.family if model in library.models() else None


def _once(told: list[_Seen]) -> list[_Seen]:
    """The last word on each machine: a return takes the place of the job it returns to."""
    replaced = {one.earlier for one in told}
    last: dict[str, _Seen] = {}
    for one in told:
        if one.job in replaced:
            continue
        name = one.serial or one.job
        if name not in last or (one.gone, one.age) > (last[name].gone, last[name].age):
            last[name] = one
    return list(last.values())
