"""Belief and next step from a pocket alone, as the phone reckons them.

The same arithmetic as everywhere else, over the sets and the model that the pocket
holds; only readings to come are looked up in its tables, as the machines behind them
stay at home. The phone's module is held to these numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tubside.diagnosis.ahead import AHEAD_ROWS, AHEAD_STEPS, enough_rows, narrowed, two_step
from tubside.diagnosis.belief import Belief, heaviest_rows, normalised
from tubside.diagnosis.evidence import Answer, Evidence, FirstComplaint, Symptom, Treatment
from tubside.diagnosis.hypotheses import Sets, follow, log_prior, prior_now
from tubside.diagnosis.leaf import PhonePlan
from tubside.diagnosis.likelihood import first_believed, log_likelihood
from tubside.diagnosis.next_step import (
    Place,
    Step,
    by_cost,
    endings,
    least_bit_price,
    one_step,
)
from tubside.diagnosis.options import CheckOption, Options, looked_at, open_options, runs
from tubside.diagnosis.situation import (
    CANNOT_LOOK,
    LEAST_APPLIES,
    Situation,
    applies,
    check_minutes,
    may_check,
    minute_cost,
    values_believed,
)
from tubside.pack.fault_model import TECHNICIAN, FaultModel, Floats
from tubside.service.pocket_model import dense, model_from
from tubside.service.pocket_readings import pooled_rows

Bin = tuple[int, int]
"""A reading told on the phone: number of its table, and the bin."""


@dataclass(frozen=True, slots=True)
class Pocket:
    """A pocket read back."""

    told: Mapping[str, Any]
    model: FaultModel
    sets: Sets
    evidence: Evidence
    situation: Situation

    @classmethod
    def of(cls, told: Mapping[str, Any]) -> Pocket:
        """Read the JSON of :func:`tubside.service.pocket.pocket_of`."""
        model = model_from(told["model"])
        members = np.zeros((len(told["sets"]["members"]), model.n_causes), dtype=bool)
        for row, causes in zip(members, told["sets"]["members"], strict=True):
            row[causes] = True
        sets = Sets(members, np.array(told["sets"]["healthy"], dtype=np.int64))
        return cls(told, model, sets, _evidence(told, model), _situation(told))


@dataclass(frozen=True, slots=True)
class Reckoned:
    """Where a job stands by its pocket, facts after it worked in.

    The ``owner`` of each row of the belief is the row of the pocket that it came from.
    """

    pocket: Pocket
    evidence: Evidence
    situation: Situation
    bins: tuple[Bin, ...]
    belief: Belief


def reckon(
    pocket: Pocket,
    evidence: Evidence | None = None,
    situation: Situation | None = None,
    bins: Sequence[Bin] = (),
) -> Reckoned:
    """Belief from the pocket and what was told after it.

    Parameters
    ----------
    evidence, situation
        With the later facts, those of the pocket included; None where there are none.
        Readings are not looked for here: those before are in the pocket, later ones in ``bins``.

    Raises
    ------
    FactsDisagreeError
        When no set of the pocket allows all the facts.
    """
    evidence = replace(evidence or pocket.evidence, readings=())
    before, rows = follow(pocket.evidence, pocket.sets), follow(evidence, pocket.sets)
    later = evidence.treatments[len(pocket.evidence.treatments) :]
    parent = follow(Evidence(treatments=later), Sets(before.now, before.sets.healthy)).owner
    prior, scale = prior_now(pocket.model, evidence)
    joint = log_prior(prior, scale, pocket.sets)[rows.owner]
    joint = joint + log_likelihood(pocket.model, evidence, rows)
    joint = joint + _readings_log(pocket, bins, len(before.owner))[parent]
    probability, log_evidence = normalised(joint)
    left = _left_out(pocket, evidence, log_evidence)
    belief = Belief(replace(rows, owner=parent), probability, log_evidence, left)
    return Reckoned(pocket, evidence, situation or pocket.situation, tuple(bins), belief)


def _readings_log(pocket: Pocket, bins: Sequence[Bin], count: int) -> Floats:
    """log P(what was read | row of the pocket): (N,)."""
    readings = pocket.told["readings"]
    total = np.zeros(count)
    if readings["log"] is not None:
        total = total + pooled_rows(readings["log"], readings["indexes"])[:, 0]
    with np.errstate(divide="ignore"):
        for table, place in bins:
            said = pooled_rows(readings["tables"][table]["said"], readings["indexes"])
            total = total + np.log(said[:, place])
    return total


def _left_out(pocket: Pocket, evidence: Evidence, log_evidence: float) -> float:
    """Bound on the sets left out: later facts can make them no likelier than certain.

    Where what was said at the call was told anew there is no such bound, and it is 1.
    """
    before, after = pocket.evidence, evidence
    named = () if before.complaint is None else before.complaint.reported
    now = () if after.complaint is None else after.complaint.reported
    told_anew = bool(named) and named != now
    told_anew |= before.how_often is not None and before.how_often != after.how_often
    share = float(pocket.told["left_out"])
    if told_anew or share >= 1.0:
        return 1.0
    left = share / (1.0 - share) * np.exp(float(pocket.told["log_evidence"]) - log_evidence)
    return float(left / (1.0 + left))


def steps(
    reckoned: Reckoned,
    ahead: tuple[int, int] = (AHEAD_STEPS, AHEAD_ROWS),
    most: int | None = None,
) -> list[Step]:
    """Every step by expected cost; the best ``ahead[0]`` looked at two ahead (0: one step).

    ``most``: look at this many of the likeliest rows alone, as a phone does at once after a load.
    """
    count, rows = ahead
    whole = reckoned.belief
    cut = most is not None and len(whole.probability) > most
    belief = heaviest_rows(whole, most) if most is not None and cut else enough_rows(whole)
    heaviest = heaviest_rows(belief, AHEAD_ROWS)
    where = _place(reckoned, belief, heaviest)
    found = one_step(where, belief.probability)
    found += endings(reckoned.pocket.model, reckoned.situation)
    found.sort(key=by_cost)
    if not count:
        return found
    small = narrowed(where, belief, rows)
    front = [two_step(small, heaviest.probability, step) for step in found[:count] if step.pays]
    front.sort(key=by_cost)
    later = [step for step in found[count:] if step.pays]
    return [*front, *later, *(step for step in found if not step.pays)]


def _place(reckoned: Reckoned, belief: Belief, heaviest: Belief) -> Place:
    """All that is open, as :func:`tubside.diagnosis.next_step.place` lays it out."""
    situation = reckoned.situation
    here, phone = _options(reckoned, belief, situation), None
    if not situation.on_site:
        site = _options(reckoned, heaviest, replace(situation, on_site=True))
        phone = PhonePlan.of(here, site, least_bit_price(site, heaviest.probability))
    return Place(here, phone, reckoned.pocket.model.costs.callback)


def _options(reckoned: Reckoned, belief: Belief, situation: Situation) -> Options:
    """The steps open, those that read a number taken from the tables."""
    options = open_options(reckoned.pocket.model, reckoned.evidence, belief, situation)
    read = _readings(reckoned, belief, situation)
    checks = sorted((*options.checks, *read), key=lambda check: check.index)
    return replace(options, checks=tuple(checks))


def _readings(reckoned: Reckoned, belief: Belief, situation: Situation) -> list[CheckOption]:
    model, evidence, readings = (
        reckoned.pocket.model,
        reckoned.evidence,
        reckoned.pocket.told["readings"],
    )
    seen_as, observer = looked_at(model), situation.observer
    saw = {seen_as[check] for check, who in situation.answered if who == TECHNICIAN}
    values = values_believed(model, evidence, belief)
    first = first_believed(model, evidence, belief.rows, belief.probability)
    found = []
    for number in open_tables(reckoned.pocket, evidence, reckoned.bins):
        table = readings["tables"][number]
        index, check = table["check"], model.checks[table["check"]]
        chance = float(applies(values, check.needs)) * runs(model, first, check.stage)
        if table["observer"] != observer or seen_as[index] in saw or chance < LEAST_APPLIES:
            continue
        if not may_check(situation, index, check):
            continue
        said = pooled_rows(table["said"], readings["indexes"])[belief.rows.owner]
        usable = chance * (1.0 - CANNOT_LOOK[observer])
        shown = np.concatenate([said * usable, np.full((len(said), 1), 1.0 - usable)], axis=1)
        minutes = check_minutes(model, check, situation)
        cost = minutes * minute_cost(model, on_site=situation.on_site)
        found.append(CheckOption(index, cost, minutes, seen_as[index], shown))
    return found


def open_tables(pocket: Pocket, evidence: Evidence, bins: Sequence[Bin]) -> list[int]:
    """Tables that still hold: no reading of their tie told, none of their causes treated."""
    tables = pocket.told["readings"]["tables"]
    ties = {tables[number]["tie"] for number, _ in bins}
    treated = np.zeros(pocket.model.n_causes, dtype=bool)
    for treatment in evidence.treatments[len(pocket.evidence.treatments) :]:
        treated |= treatment.clears > 0.0
    return [
        number
        for number, table in enumerate(tables)
        if table["tie"] not in ties and not treated[table["altered_by"]].any()
    ]


def _evidence(told: Mapping[str, Any], model: FaultModel) -> Evidence:
    known = told["evidence"]
    return Evidence(
        complaint=None if known["complaint"] is None else _complaint(known["complaint"]),
        how_often=known["how_often"],
        age_years=known["age_years"],
        answers=tuple(
            Answer(c, o, who, e, bool(again)) for c, o, who, e, again in known["answers"]
        ),
        settled=tuple((axis, np.array(vector)) for axis, vector in known["settled"]),
        treatments=tuple(
            Treatment(dense(clears, model.n_causes), rerun) for clears, rerun in known["treatments"]
        ),
    )


def _complaint(told: Mapping[str, Any]) -> FirstComplaint:
    return FirstComplaint(
        words=np.array(told["words"]),
        reported=tuple(told["reported"]),
        panel=None if told["panel"] is None else np.array(told["panel"]),
        panel_none=told["panel_none"],
        symptoms=tuple(
            Symptom(condition, on, off, who, bool(again))
            for condition, on, off, who, again in told["symptoms"]
        ),
    )


def _situation(told: Mapping[str, Any]) -> Situation:
    known = told["situation"]
    return Situation(
        on_site=known["on_site"],
        aboard=np.array(known["aboard"], dtype=bool),
        open_covers=frozenset(known["covers"]) if known["on_site"] else frozenset(),
        answered=frozenset((check, who) for check, who in known["answered"]),
        tried=frozenset((remedy, who) for remedy, who in known["tried"]),
        customer_checks=np.array(known["customer_checks"], dtype=bool),
        customer_remedies=np.array(known["customer_remedies"], dtype=bool),
        age_years=told["evidence"]["age_years"],
    )
