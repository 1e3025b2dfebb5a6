"""The shop's own closed jobs, one row each, as learning sees them.

Only what was told before anything was changed speaks of the cause: checks made after a remedy
are left out. A job that somebody came back to for the same trouble was closed too early: its
cause counts as not confirmed from then on, whether the return is closed yet or not. Shares of
a cause in doubt are those that were said when it was closed. A job closed, taken up again and
closed once more counts once, as it was closed last.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tubside.errors import TubsideError
from tubside.learning.history import CODE, MILLION, CheckTold, ClosedJob, Sure
from tubside.learning.tables import tables_of
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack
from tubside.service.after_records import ReturnOf
from tubside.service.coding import NOT_DONE, NOTHING_LEARNED
from tubside.service.job_file import JobFile
from tubside.service.learning.at_machine import minutes_at_machine
from tubside.service.learning.deciding import Deciding
from tubside.service.learning.part_prices import PartPrices, part_prices
from tubside.service.library import Library
from tubside.service.records import (
    AdviceShown,
    CheckDone,
    Closing,
    Place,
    RemedyDone,
    Visit,
)
from tubside.service.replay import counting, latest, line_of, source_of
from tubside.service.views import Entry
from tubside.store.closed_facts import closed_facts, open_facts
from tubside.store.opening import Store

OWN_SHOP = "own"
"""How this shop is called in its own rows."""
KINDS = (
    *("machine", "reported", "check", "reading", "remedy", "condition", "came-back", "place"),
    *("visit", "advice", "closing", "part-used", "return-of", "retract"),
)
LINKS = ("return-of", "retract")
LOOKED = frozenset({"seen", "measured"})
WORKED = "works"


@dataclass(frozen=True, slots=True)
class Family:
    """What the rows of one family are read with."""

    pack: Pack
    deciding: Deciding


@dataclass(frozen=True, slots=True)
class _Told:
    """A closed job before it is known who came back."""

    job: str
    entries: tuple[Entry, ...]
    said: JobFile
    family: str
    returns: str | None


def closed_jobs(store: Store, library: Library) -> tuple[ClosedJob, ...]:
    """Every closed job of a family that there is a pack for, by id."""
    with store.reading() as opened:
        prices = part_prices(opened)
        told = [_told(job, line_of(rows), library) for job, rows in closed_facts(opened, KINDS)]
        again = {_returns(line_of(rows)) for _, rows in open_facts(opened, LINKS)}
    jobs = [one for one in told if one is not None]
    again |= {one.returns for one in jobs}
    families = {name: _family(library, name) for name in {one.family for one in jobs}}
    return tuple(_row(one, families[one.family], prices, again) for one in jobs)


def _family(library: Library, name: str) -> Family:
    pack = library.family(name).pack
    return Family(pack, Deciding(tables_of(pack)))


def _told(job: str, entries: tuple[Entry, ...], library: Library) -> _Told | None:
    """A job as it was told; None where nobody closed it, or no pack is there for its machine."""
    said = source_of(entries).job
    family = said.family or _family_of_model(library, said.model)
    if family not in library.families() or latest(entries, Closing) is None:
        return None
    return _Told(job, entries, said, str(family), _returns(entries))


def _returns(entries: Sequence[Entry]) -> str | None:
    """The earlier job that this one is a return of."""
    link = latest(entries, ReturnOf)
    return None if link is None else link.job


def _family_of_model(library: Library, model: str | None) -> str | None:
    if model is None:
        return None
    try:
        return library.model(model).pack.family
    except TubsideError:
        return None


def _row(told: _Told, of: Family, prices: PartPrices, again: Collection[str | None]) -> ClosedJob:
    closing = latest(told.entries, Closing)
    assert closing is not None  # _told saw to it
    known = [name for name in closing.causes if name in of.pack.causes or name in HEALTHY_IDS]
    sure: Sure = closing.confirmed_by
    if told.job in again or not known:
        sure = "not-confirmed"
    doubtful = sure == "not-confirmed"
    checks = tuple(_checks(told.entries, of.pack))
    complaint = next((name for name in told.said.reported if name in of.pack.conditions), "")
    closed = [entry.at for entry in told.entries if entry.body is closing][-1]
    return ClosedJob(
        job=told.job,
        closed=closed.astimezone().date(),
        family=told.family,
        model=told.said.model if told.said.model and CODE.match(told.said.model) else "",
        shop=OWN_SHOP,
        complaint=complaint,
        age_years=told.said.age_years,
        causes=_in_doubt(told.entries, of.pack, known) if doubtful else _shared(known),
        several=None if doubtful else MILLION * (len(known) > 1),
        sure=sure,
        checks=checks,
        decided=of.deciding.decided(checks, known, complaint) if sure in LOOKED else frozenset(),
        remedies=_remedies(told.entries, of.pack),
        minutes=_known(minutes_at_machine(told.entries), of.pack),
        prices=prices.paid(told.entries, told.family),
        by_phone=_by_phone(told.entries),
        callback_of=told.returns or "",
    )


def _shared(causes: Sequence[str]) -> dict[str, int]:
    """Equal shares: which of several was the main one nobody said; a million in all.

    >>> _shared(["belt", "motor", "hose"])
    {'belt': 333334, 'motor': 333333, 'hose': 333333}
    """
    each, rest = divmod(MILLION, max(len(causes), 1))
    return {name: each + (rest if place == 0 else 0) for place, name in enumerate(causes)}


def _in_doubt(entries: Sequence[Entry], pack: Pack, guessed: Sequence[str]) -> dict[str, int]:
    """Shares as they were last said before closing; without any, what was guessed at closing."""
    advice = latest(entries, AdviceShown)
    if advice is None or not advice.leading:
        return _shared(guessed) if guessed else {}
    leading = {name: chance for name, chance in advice.leading.items() if name in pack.causes}
    whole = max(sum(leading.values()), 1.0)
    return {name: int(MILLION * chance / whole) for name, chance in leading.items()}


def _checks(entries: Sequence[Entry], pack: Pack) -> Iterator[CheckTold]:
    """What was told before the first remedy, the last word of each observer on each check."""
    found: dict[tuple[str, str], CheckTold] = {}
    for body in counting(entries):
        if isinstance(body, RemedyDone) and body.outcome not in NOT_DONE:
            break
        if not isinstance(body, CheckDone) or body.outcome in NOTHING_LEARNED:
            continue
        check = pack.checks.get(body.check)
        if check is None or check.finding is None or not CODE.match(body.outcome):
            continue
        if body.outcome in pack.findings[check.finding].outcomes:
            found[body.check, body.by] = CheckTold(body.check, body.outcome, body.by)
    yield from found.values()


def _remedies(entries: Sequence[Entry], pack: Pack) -> dict[str, bool]:
    """Remedies with a re-run; the last one counts."""
    return {
        body.remedy: body.outcome == WORKED
        for body in counting(entries)
        if isinstance(body, RemedyDone)
        and body.remedy in pack.remedies
        and body.outcome in {WORKED, "still-fails"}
    }


def _known(minutes: Mapping[str, int], pack: Pack) -> dict[str, int]:
    return {step: m for step, m in minutes.items() if step in pack.checks or step in pack.remedies}


def _by_phone(entries: Sequence[Entry]) -> bool:
    """Whether the customer cleared it: nobody was there, and the last remedy worked."""
    said = counting(entries)
    there = any(
        (isinstance(body, Place) and body.where == "site")
        or (isinstance(body, Visit) and body.status == "done")
        for body in said
    )
    remedies = [body for body in said if isinstance(body, RemedyDone)]
    return not there and bool(remedies) and remedies[-1].outcome == WORKED
