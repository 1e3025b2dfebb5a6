"""The job as one staged problem: phone, then a visit, then perhaps a second trip.

Everything is laid out once over the rows of the belief: what can be looked at and
tried, by whom, where, for what, and what it does to each row. What has been done
so far is a :class:`~tubside.diagnosis.plan.stand.Stand`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from tubside.diagnosis.belief import Belief, heaviest_rows
from tubside.diagnosis.evidence import Evidence, confusion, looks, touched_before
from tubside.diagnosis.options import Options, open_options, said_table
from tubside.diagnosis.plan.rows import distinct_rows, with_parts
from tubside.diagnosis.situation import Situation, minute_cost, stop_cost
from tubside.diagnosis.states import seen_table, showing
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints

PHONE, SITE = 0, 1
REFUSED = (0.1, 0.0)
"""Chance that a customer / a technician does not do a remedy that is asked for
(common practice, no source); the minutes are spent all the same."""
EVERYWHERE = (PHONE, SITE)
OPENED_BY = 60
"""Rows that say how likely a step can be done at all on this machine."""


@dataclass(frozen=True, slots=True)
class StagedLook:
    """A check at one place; it ends with an answer with the chance ``usable``."""

    check: int
    place: int
    minutes: float  # without its cover
    cover: int
    finding: int  # -1: tells of no finding
    subject: int  # the finding or quantity it looks at, -1 for the variant
    usable: float
    told: Floats  # (k, k) P(said | state) of a finding


@dataclass(frozen=True, slots=True)
class Way:
    """A remedy at one place, or a referral from anywhere; the re-run is part of it."""

    kind: str  # remedy or refer
    index: int
    places: tuple[int, ...]
    minutes: float  # without its cover
    cover: int
    parts: frozenset[int]
    clears: Floats  # (n,)
    refused: float
    fee: float = 0.0


@dataclass(frozen=True, slots=True)
class Prices:
    """What places, parts and endings cost [dollars]; covers in minutes."""

    part: Floats
    restocking: float  # share of the price lost on a part that goes back
    minute: tuple[float, float]  # phone, site
    cover: Floats
    visit: float
    delay: float  # a first visit put off until ordered parts are there
    trip: float  # a second trip and the wait for the parts
    callback: float
    stop: float


@dataclass(frozen=True, slots=True)
class Staged:
    """The staged problem over N rows; a row without a member is a sound machine.

    ``said`` and ``state`` are worked out when they are first asked for.
    """

    belief: Belief
    member: Bools  # (N, n)
    sound: Bools  # (N,)
    row_shows: Floats  # (N,)
    shows: Floats  # (n,)
    looks: tuple[StagedLook, ...]
    ways: tuple[Way, ...]
    touched: Mapping[int, frozenset[int]]  # finding -> causes that alter it
    prices: Prices
    place: int
    aboard: frozenset[int]
    open_covers: frozenset[int]
    on_site: Options  # what is open at the machine, over a few rows
    tables: Tables
    row_of: Mapping[bytes, int]  # set of causes -> its row
    moves: dict[int, tuple[tuple[Ints, Ints, Floats], ...]] = field(default_factory=dict)

    @property
    def weight(self) -> Floats:
        """P(row) (N,)."""
        return self.belief.probability

    def said(self, number: int) -> Floats:
        """P(said | row), "not sure" last, while nothing more was heard of the finding."""
        return self.tables.said(self.looks[number])

    def state(self, finding: int) -> Floats:
        """P(state of the finding | row), with the answers so far: (N, k)."""
        return self.tables.state(finding)


@dataclass(frozen=True, slots=True)
class Tables:
    """What is said and seen, for each row; kept once worked out."""

    model: FaultModel
    evidence: Evidence
    belief: Belief
    whole: Tables | None = None  # where the bins of readings are cut, and which rows these are
    rows: Ints | None = None
    kept: dict[tuple[str, int, int], Floats] = field(default_factory=dict)

    def said(self, look: StagedLook) -> Floats:
        """P(said | row) of one look: (N, k + 1)."""
        key = ("said", look.check, look.place)
        if key not in self.kept:
            self.kept[key] = self._said(look)
        return self.kept[key]

    def _said(self, look: StagedLook) -> Floats:
        check = self.model.checks[look.check]
        if check.reading is not None and self.whole is not None:
            return np.asarray(self.whole.said(look)[self.rows])
        table = said_table(self.model, self.evidence, self.belief, check, look.place)
        return with_nothing_learned(table, look.usable)

    def state(self, finding: int) -> Floats:
        """P(state | row) of one finding: (N, k)."""
        key = ("state", finding, 0)
        if key not in self.kept:
            now = self.belief.rows.now
            self.kept[key] = _state(self.model, self.evidence, finding, now)
        return self.kept[key]


def with_nothing_learned(table: Floats, usable: float) -> Floats:
    """P(said | row) with a last column for "not sure" and "could not look"."""
    lost = np.full((len(table), 1), 1.0 - usable)
    return np.concatenate([table * usable, lost], axis=1)


def staged_job(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation
) -> Staged:
    """The staged problem of this job, over all that may be wrong now."""
    rows = distinct_rows(belief)
    site = replace(situation, on_site=True)
    spots = {SITE: site} if situation.on_site else {PHONE: situation, SITE: site}
    opened = {p: _options(model, evidence, rows, spot) for p, spot in spots.items()}
    looks = [look for place, options in opened.items() for look in _looks(model, options, place)]
    ways = [way for place, options in opened.items() for way in _ways(model, options, place)]
    findings = {look.finding for look in looks if look.finding >= 0}
    member = rows.rows.now
    return Staged(
        belief=rows,
        member=member,
        sound=np.asarray(~member.any(axis=1)),
        row_shows=showing(model, member),
        shows=model.shows,
        looks=tuple(looks),
        ways=(*ways, *_refers(opened[SITE])),
        touched={f: frozenset(model.findings[f].touched.tolist()) for f in findings},
        prices=_prices(model, situation),
        place=min(opened),
        aboard=frozenset(np.flatnonzero(situation.aboard).tolist()),
        open_covers=situation.open_covers,
        on_site=opened[SITE],
        tables=Tables(model, evidence, rows),
        row_of={row.tobytes(): number for number, row in enumerate(member)},
    )


def narrowed(staged: Staged, count: int) -> Staged:
    """The problem over its heaviest rows and all their parts, weights summing to one."""
    rows = with_parts(heaviest_rows(staged.belief, count))
    member = rows.rows.now
    model = staged.tables.model
    whole = np.array([staged.row_of[row.tobytes()] for row in member], dtype=np.int64)
    return replace(
        staged,
        belief=rows,
        member=member,
        sound=np.asarray(~member.any(axis=1)),
        row_shows=showing(model, member),
        tables=Tables(model, staged.tables.evidence, rows, staged.tables, whole),
        row_of={row.tobytes(): number for number, row in enumerate(member)},
        moves={},
    )


def _options(model: FaultModel, evidence: Evidence, rows: Belief, spot: Situation) -> Options:
    """What is open there, by the heaviest rows, every cover off: covers are priced apart."""
    covers = frozenset(range(len(model.cover_minutes)))
    few = heaviest_rows(rows, OPENED_BY)
    return open_options(model, evidence, few, replace(spot, open_covers=covers))


def _looks(model: FaultModel, options: Options, place: int) -> list[StagedLook]:
    result = []
    for option in options.checks:
        check = model.checks[option.index]
        told = np.zeros((0, 0))
        if check.finding >= 0:
            shape = model.findings[check.finding]
            told = confusion(len(shape.healthy), check.error[place], graded=shape.graded)
        result.append(
            StagedLook(
                option.index,
                place,
                option.minutes,
                check.cover,
                check.finding,  # none of a reading: its bins are its answers
                option.finding,
                1.0 - float(option.said[0, -1]),
                told,
            )
        )
    return result


def _ways(model: FaultModel, options: Options, place: int) -> list[Way]:
    result = []
    for option in options.remedies:
        remedy = model.remedies[option.index]
        if place == PHONE and remedy.parts:
            continue  # parts travel with the technician
        result.append(
            Way(
                kind="remedy",
                index=option.index,
                places=(place,),
                minutes=option.minutes,
                cover=remedy.cover,
                parts=frozenset(remedy.parts),
                clears=option.clears,
                refused=REFUSED[place],
            )
        )
    return result


def _refers(options: Options) -> list[Way]:
    nothing: frozenset[int] = frozenset()
    return [
        Way("refer", r.index, EVERYWHERE, 0.0, -1, nothing, r.clears, 0.0, r.cost)
        for r in options.refers
    ]


def _state(model: FaultModel, evidence: Evidence, finding: int, member: Bools) -> Floats:
    """P(state of a finding | row), with the answers that speak of it as it is now: (N, k)."""
    state = seen_table(model, finding, member)
    today = touched_before(model, evidence, finding, len(evidence.treatments))
    for look in looks(model, evidence):
        if look.finding == finding and look.segment == today:
            state = state * look.likelihood
    total = state.sum(axis=1, keepdims=True)
    flat = 1.0 / state.shape[1]
    return np.asarray(np.where(total > 0, state / np.maximum(total, 1e-300), flat))


def _prices(model: FaultModel, situation: Situation) -> Prices:
    costs = model.costs
    wait = max(costs.part_wait_days - costs.booking_days, 0.0)
    return Prices(
        part=model.part_price,
        restocking=costs.restocking_share,
        minute=(minute_cost(model, on_site=False), minute_cost(model, on_site=True)),
        cover=model.cover_minutes,
        visit=costs.visit,
        delay=costs.waiting_day * wait,
        trip=costs.second_visit + costs.waiting_day * costs.part_wait_days,
        callback=costs.callback,
        stop=stop_cost(model, situation.age_years),
    )
