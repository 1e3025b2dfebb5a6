"""Random jobs with facts told before and after a pocket was made, and what they come to."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from typing import Any

import msgspec
import numpy as np

from tubside.diagnosis.belief import finished
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.next_step import Step
from tubside.errors import FactsDisagreeError, JobFileError
from tubside.pack.fault_model import OBSERVERS, TECHNICIAN
from tubside.service.advise import situation_of
from tubside.service.coding import NOTHING_LEARNED, coded_facts, outcomes_of
from tubside.service.danger import dangers, left_after
from tubside.service.job_file import JobFile, JobSource
from tubside.service.knowledge import Knowledge, knowledge_of, knowledge_of_family
from tubside.service.measuring import shown_value
from tubside.service.panel_coding import NOTHING_SHOWN
from tubside.service.pocket import pocket_of
from tubside.service.pocket_readings import bin_told
from tubside.service.pocket_reckoning import Pocket, Reckoned, open_tables, reckon, steps
from tubside.service.recording_records import RecordingRead
from tubside.service.records import (
    Body,
    CameBack,
    CheckDone,
    ConditionAsked,
    DangerTold,
    Indication,
    Machine,
    PartsAboard,
    Payer,
    Place,
    ReadingDone,
    RemedyDone,
    Reported,
    encoded,
)
from tubside.service.replay import source_of
from tubside.service.views import Entry

FEW = 30
"""Sets that the quickest look is cut down to here; a phone takes more."""
FAMILIES = ("top-load", "front-load", "dryer", "dishwasher")
START = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)


@cache
def knowledge(family: str) -> Knowledge:
    """The pack of a family, read once."""
    return knowledge_of_family(family)


def source(bodies: Sequence[Body]) -> JobSource:
    """A job file of these facts."""
    entries = [
        Entry(f"fact-{n:04}", "server", START, body, None, None, doubtful=False)
        for n, body in enumerate(bodies)
    ]
    return source_of(entries)


@dataclass(slots=True)
class Case:
    """A pocket and what was told after it; ``vectors`` is what each number of facts comes to."""

    early: list[Body]
    told: dict[str, Any]
    later: list[Body]
    vectors: list[dict[str, Any]] = field(default_factory=list)

    def as_data(self) -> dict[str, Any]:
        """The same as plain JSON."""
        facts = [
            {"id": f"late-{n:04}", "body": msgspec.json.decode(encoded(body))}
            for n, body in enumerate(self.later)
        ]
        head = {"version": 1, "ready": True, "why": "", "job": "made-job", "computed_from": "made"}
        pocket = {**head, "safety": [], "seen": {}, **self.told}
        return {"pocket": pocket, "facts": facts, "vectors": self.vectors}


class Teller:
    """Tells random facts of jobs on machines of one family."""

    def __init__(self, family: str, dice: random.Random) -> None:
        self.family, self.dice = family, dice
        self.known = knowledge(family)
        self.names = self.known.model.names

    def call(self) -> list[Body]:
        """What is told at the call, and where the technician is."""
        dice = self.dice
        named = dice.sample(self.names.conditions, dice.choice((1, 1, 2)))
        often = dice.choice((None, "every-time", "sometimes", "once"))
        age = dice.choice((None, 0.5, 4.0, 11.0))
        return [
            Machine(family=self.family, age_years=age),
            Reported(conditions=named, how_often=often),  # type: ignore[arg-type]  # a known word
            Place(where=dice.choice(("phone", "site"))),
        ]

    def fact(self) -> Body:
        """One more fact of any kind that a phone may be told."""
        kinds = ("check",) * 9 + ("remedy",) * 4 + ("reading",) * 3 + ("asked",) * 3
        kind = self.dice.choice((*kinds, "place", "parts", "back", "payer", "danger"))
        return getattr(self, f"_{kind}")()  # type: ignore[no-any-return]  # one of those below

    def _check(self) -> Body:
        number = self.dice.randrange(len(self.names.checks))
        name, check = self.names.checks[number], self.known.model.checks[number]
        outcomes = (*outcomes_of(self.known, name), *NOTHING_LEARNED[:1])
        by = OBSERVERS[self.dice.choice((*check.by, TECHNICIAN))]
        outcome, again = self.dice.choice(outcomes), self.dice.random() < 0.4
        return CheckDone(check=name, outcome=outcome, by=by, again=again)  # type: ignore[arg-type]

    def _remedy(self) -> Body:
        number = self.dice.randrange(len(self.names.remedies))
        by = OBSERVERS[self.dice.choice(self.known.model.remedies[number].by)]
        outcome = self.dice.choice(("still-fails",) * 4 + ("works", "not re-run", "refused"))
        name = self.names.remedies[number]
        return RemedyDone(remedy=name, outcome=outcome, by=by)  # type: ignore[arg-type]

    def _reading(self) -> Body:
        found = [n for n, c in enumerate(self.known.model.checks) if c.reading is not None]
        if not found:
            return self._check()
        name = self.names.checks[self.dice.choice(found)]
        check = self.known.model.checks[self.names.checks.index(name)]
        assert check.reading is not None
        assert self.known.model.predicting is not None
        usual = self.known.model.predicting.usual(check.reading.quantity)
        value = usual.middle * self.dice.choice((0.3, 0.8, 1.0, 1.1, 2.5))
        said = shown_value(self.known, name, value)
        return ReadingDone(check=name, value=value, said=said, by="technician")

    def _asked(self) -> Body:
        name, outcome = self.dice.choice(self.names.conditions), self.dice.choice(("yes", "no"))
        return ConditionAsked(condition=name, outcome=outcome, by=self.dice.choice(OBSERVERS))  # type: ignore[arg-type]

    def _place(self) -> Body:
        return Place(where=self.dice.choice(("phone", "site")))

    def _parts(self) -> Body:
        some = self.dice.sample(self.names.parts, 3)
        return PartsAboard(aboard=some[:1], not_aboard=some[1:])

    def _back(self) -> Body:
        return CameBack()

    def _payer(self) -> Body:
        return Payer(who="customer")

    def _danger(self) -> Body:
        return DangerTold(kinds=["shock"] if self.dice.random() < 0.5 else [])


def cases(seed: int, count: int, later: int, size: int, every: int = 5) -> Iterator[Case]:
    """``count`` jobs over the four families, each with ``later`` facts after its pocket.

    Beliefs are worked out after each fact, steps after each ``every``-th, and in every
    other job one list of steps looks two ahead. Facts that a phone cannot count are told
    in the last job of each family alone.
    """
    dice = random.Random(seed)  # noqa: S311  # no secret
    for number in range(count):
        teller = Teller(FAMILIES[number % len(FAMILIES)], dice)
        case = None
        while case is None:
            case = _case(teller, size)
        pocket = Pocket.of(case.told)
        for told in range(later + 1):
            ahead = int((told + number) % every == 0)
            if ahead and told < every and number // len(FAMILIES) % 2 == 0:
                ahead = 2
            vector = _next(teller, pocket, case, told, ahead)
            while vector["waits"] and number < count - len(FAMILIES):
                vector = _next(teller, pocket, case, told, ahead)
            case.vectors.append(vector)
        yield case


def filmed(size: int) -> Case:
    """A job whose panel was told and filmed before the pocket was made, and filmed again after.

    The second reading is the last fact: the phone has no panel to read it against.
    """
    known = knowledge_of(JobFile(model="brackwater-wren"))
    panel = known.panel
    assert panel is not None
    shown = next(name for name, one in panel.indications.items() if one.conditions)
    names = [*panel.indications, NOTHING_SHOWN]
    values = {name: 1.0 if name == shown else 0.01 * (1 + n) for n, name in enumerate(names)}
    read = RecordingRead(refs=["clip-0001"], of="lamps", likelihoods=values)
    lamps = {lamp: str(light) for lamp, light in panel.lights(shown).items()}
    early: list[Body] = [
        Machine(family=panel.family, model=panel.model),
        Indication(lamps=lamps),
        read,
    ]
    asked = ConditionAsked(condition=known.model.names.conditions[1], outcome="yes")
    told = msgspec.json.decode(msgspec.json.encode(pocket_of(source(early), known, size)))
    case = Case(early, told, [asked, read])
    pocket = Pocket.of(told)
    case.vectors += [_vector(known, pocket, case, number, 1) for number in (0, 1)]
    return case


def _case(teller: Teller, size: int) -> Case | None:
    """A job that has a pocket; None where the facts drawn cannot all be true."""
    early = teller.call() + [teller.fact() for _ in range(teller.dice.randrange(5))]
    try:
        told = pocket_of(source(early), teller.known, size)
    except (FactsDisagreeError, JobFileError):
        return None
    return Case(early, msgspec.json.decode(msgspec.json.encode(told)), [])


def _next(teller: Teller, pocket: Pocket, case: Case, told: int, ahead: int) -> dict[str, Any]:
    """One more fact, in place of what was told last for the same vector, and what all come to."""
    if told:
        case.later[told - 1 :] = [teller.fact()]
    return _vector(teller.known, pocket, case, told, ahead)


def _vector(known: Knowledge, pocket: Pocket, case: Case, told: int, ahead: int) -> dict[str, Any]:
    """What the pocket and its first ``told`` later facts come to, by the arithmetic in Python."""
    job = source(case.early + case.later[:told])
    found = tuple(dangers(job.job, known.pack))
    result: dict[str, Any] = {
        "told": told,
        "stop": set(found) != set(case.told["dangers"]),
        "waits": False,
        "disagree": False,
    }
    bins = _bins(known, pocket, case, told)
    try:
        evidence = evidence_of(known.model, coded_facts(job, known))
    except JobFileError:
        bins = None
    if bins is None:
        return {**result, "waits": True}
    before = tuple(case.told["dangers"])
    try:
        reckoned = reckon(pocket, evidence, situation_of(job, known, before), bins)
    except FactsDisagreeError:
        return {**result, "disagree": True}
    return result | {"bins": len(bins)} | _numbers(known, reckoned, ahead)


def _bins(known: Knowledge, pocket: Pocket, case: Case, told: int) -> list[tuple[int, int]] | None:
    """The readings told later as bins; None where one of them cannot be counted."""
    bins: list[tuple[int, int]] = []
    tables = pocket.told["readings"]["tables"]
    for number, body in enumerate(case.later[:told]):
        if not isinstance(body, ReadingDone):
            continue
        job = source([b for b in case.early + case.later[:number] if not isinstance(b, CameBack)])
        evidence = evidence_of(known.model, coded_facts(job, known))
        check = known.model.names.checks.index(body.check)
        place = (check, OBSERVERS.index(body.by))
        fits = [
            n
            for n in open_tables(pocket, evidence, bins)
            if (tables[n]["check"], tables[n]["observer"]) == place and tables[n]["counts"]
        ]
        found = bin_told(tables[fits[0]], body.value, body.said) if fits else None
        if found is None:
            return None
        bins.append((fits[0], found))
    return bins


def _numbers(known: Knowledge, reckoned: Reckoned, ahead: int) -> dict[str, Any]:
    belief, done = reckoned.belief, finished(reckoned.evidence)
    told = tuple(reckoned.pocket.told["dangers"])

    def listed(found: list[Step]) -> list[list[Any]]:
        return [] if done else [_step(step) for step in left_after(found, known.pack, told)]

    return {
        "now": belief.now().tolist(),
        "at_call": belief.at_call().tolist(),
        "healthy": belief.healthy().tolist(),
        "mended": belief.mended(),
        "left_out": belief.left_out,
        "one": listed(steps(reckoned, (0, 0))) if ahead else None,
        "few": listed(steps(reckoned, (0, 0), FEW)) if ahead else None,
        "two": listed(steps(reckoned)) if ahead == 2 else None,
    }


def _step(step: Step) -> list[Any]:
    saves = step.saves if np.isfinite(step.saves) else None
    return [step.kind, step.index, step.expected_cost, step.cost, step.minutes, step.works, saves]
