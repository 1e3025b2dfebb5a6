"""The plan of a job in words: what it costs, how it may go, and what is proven of it."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.next_step import Step
from tubside.diagnosis.plan.branches import Branch
from tubside.diagnosis.plan.choosing import Move
from tubside.diagnosis.plan.job_plan import EFFORT, JobPlan, Work, plan_job
from tubside.diagnosis.plan.staged import Staged, staged_job
from tubside.diagnosis.plan.turning import LARGEST, Turning
from tubside.diagnosis.plan.walk import FAILS, REFUSED
from tubside.diagnosis.reading_bins import binned
from tubside.service.advise import Advice
from tubside.service.explain import bin_words, outcome_words, told_step
from tubside.service.wording import dollars, figures, minutes, percent

SEED = 1
ALIKE = 1.0
"""A difference below this is about the same [dollars]."""
LEAST_FACTOR = 1.05
"""Told with one decimal, a smaller factor would read as none."""
WITHOUT_REPAIR = "end the job without repair"


@dataclass(frozen=True, slots=True)
class ToldBranch:
    """A step of the plan as it is read: after what, how likely, what to do, at which cost."""

    after: str
    chance: float
    do: str
    where: str
    cost: float
    branches: tuple[ToldBranch, ...]


@dataclass(frozen=True, slots=True)
class ToldPart:
    """A part kind for the visit: how often the plan fits it; load it, order it, or neither."""

    id: str
    title: str
    chance: float
    aboard: bool
    order: bool


@dataclass(frozen=True, slots=True)
class ToldPlan:
    """The plan as pages show it; chances 0 to 1, costs in the pack's money.

    ``proven`` is empty where the bound is too weak to be worth saying.
    """

    expected: float
    error: float
    exact: bool
    low: float
    high: float
    minutes: float
    minutes_low: float
    minutes_high: float
    by_phone: float
    this_visit: float
    lower: float | None
    gap: float | None
    proven: str
    holds: str
    runner_up: str
    walks: int
    on_site: bool
    tree: ToldBranch
    parts: tuple[ToldPart, ...]


def plan_of(advice: Advice, effort: int = EFFORT) -> ToldPlan | None:
    """Work out the plan; None when the job is over, after gas, or without any effort.

    ``effort`` is how many of its steps are decided before its cost is told: with the
    same facts and packs it always tells the same.
    """
    model = advice.known.model
    if effort <= 0 or "gas" in advice.dangers:
        return None  # after gas there is the hand-over and nothing to plan
    facts = (advice.evidence, advice.belief, advice.situation, advice.steps)
    plan = plan_job(model, *facts, Work(effort, SEED))
    return None if plan is None else _told(advice, plan)


def cost_words(plan: ToldPlan) -> list[str]:
    """What the job costs and takes to its end, and how it may end, in sentences."""
    sure = "exactly worked out" if plan.exact else f"an estimate, ± {dollars(plan.error)}"
    low, high = dollars(plan.low).removesuffix(" dollars"), dollars(plan.high)
    work_low, work = figures(round(plan.minutes_low)), minutes(round(plan.minutes_high))
    average = f"about {dollars(plan.expected)} on average ({sure})"
    work_range = f"between {work_low} and {work} in eight of ten"
    told = [
        f"From here to the end: {average}; between {low} and {high} in eight jobs of ten.",
        f"Work to the end: about {minutes(round(plan.minutes))}, {work_range}.",
    ]
    if not plan.on_site:
        told.append(f"Chance that the customer clears it by telephone: {percent(plan.by_phone)}.")
    visit = "on this visit" if plan.on_site else "on the first visit"
    told.append(f"Chance to finish {visit}, with what is aboard: {percent(plan.this_visit)}.")
    return told


def visit_words(plan: ToldPlan) -> list[str]:
    """What to load and what to order, likeliest first."""
    return [
        f"{part.title}: fitted in {percent(part.chance)} of such jobs, "
        + ("aboard" if part.aboard else "order it now" if part.order else "not aboard")
        for part in plan.parts
    ]


def _told(advice: Advice, plan: JobPlan) -> ToldPlan:
    proof = plan.proof
    said = proof.worth_saying
    staged = staged_job(advice.known.model, advice.evidence, advice.belief, advice.situation)
    return ToldPlan(
        expected=plan.expected,
        error=plan.error,
        exact=plan.exact,
        low=plan.cost_range[0],
        high=plan.cost_range[1],
        minutes=plan.minutes,
        minutes_low=plan.minutes_range[0],
        minutes_high=plan.minutes_range[1],
        by_phone=plan.by_phone,
        this_visit=plan.this_visit,
        lower=proof.lower if said else None,
        gap=proof.gap if said else None,
        proven=_proven(plan) if said else "",
        holds="" if plan.turns is None else _holds(advice, plan.turns),
        runner_up=_runner_up(advice, plan),
        walks=plan.walks,
        on_site=advice.situation.on_site,
        tree=_branch(advice, staged, plan.root, ""),
        parts=_parts(advice, plan),
    )


def _proven(plan: JobPlan) -> str:
    """What no plan can beat, as far as it is proven."""
    most = percent(plan.proof.gap)
    if plan.exact:
        return f"By this pack's numbers no plan is more than {most} cheaper."
    return (
        f"By this pack's numbers no plan costs less than {dollars(plan.proof.lower)}; so none is "
        f"more than about {most} cheaper than this one, whose own cost is an estimate."
    )


def _holds(advice: Advice, turns: Turning) -> str:
    """How wrong one weight, or the cost of the step, may be before the second is better."""
    second = _title(advice, turns.second)
    costs = f"or if it cost {dollars(turns.dearer)} more" if turns.dearer >= ALIKE else ""
    if turns.cause is None:
        most = f"This step stays before “{second}” if the weight of any one likely cause is wrong"
        return f"{most} by a factor of up to {LARGEST:.0f}" + (
            f"; it would change {costs[3:]}." if costs else "."
        )
    cause = advice.known.pack.causes[advice.known.model.names.causes[turns.cause]].title
    way = "likelier" if turns.up else "less likely"
    if turns.factor < LEAST_FACTOR:
        little = f"if {cause} were a little {way}, “{second}” would"
        return f"It hardly matters which comes first: {little}."
    told = (
        f"This step stays before “{second}” if the weight of any one likely cause is wrong by "
        f"a factor of up to {turns.factor:.1f}; it would change if {cause} were {way} by more"
    )
    return f"{told}, {costs}." if costs else f"{told}."


def _title(advice: Advice, step: Step) -> str:
    title = told_step(advice, step).title
    return title[:1].upper() + title[1:]


def _runner_up(advice: Advice, plan: JobPlan) -> str:
    """Why this and not that: the second step, and what the job costs more with it first."""
    if plan.runner_up is None:
        return ""
    title, more = _title(advice, plan.runner_up.step), plan.runner_up.dearer
    spread = plan.runner_up.error
    if abs(more) < max(ALIKE, 2.0 * spread):
        return f"“{title}” first costs about the same to the end; the two cannot be told apart."
    word = "more" if more > 0.0 else "less"
    return (
        f"“{title}” first costs about {dollars(abs(more))} {word} to the end (± {dollars(spread)})."
    )


def _branch(advice: Advice, staged: Staged, branch: Branch, after: str) -> ToldBranch:
    if branch.move is None:
        return ToldBranch(after, branch.chance, "", _where(branch), 0.0, ())
    answers = _answers(advice, staged, branch.move) if branch.after else ()
    below = tuple(
        _branch(advice, staged, one, _after(branch.move, answers, one.outcome))
        for one in branch.after
    )
    do = _do(advice, staged, branch)
    return ToldBranch(after, branch.chance, do, _where(branch), branch.cost, below)


def _where(branch: Branch) -> str:
    if branch.move is not None and branch.move.kind in {"visit", "order", "stop"}:
        return ""
    return "by telephone" if branch.place == 0 else "at the machine"


def _do(advice: Advice, staged: Staged, branch: Branch) -> str:
    """The step in words."""
    pack, names, move = advice.known.pack, advice.known.model.names, branch.move
    assert move is not None
    if move.kind == "look":
        return pack.checks[names.checks[staged.looks[move.index].check]].title
    if move.kind == "way":
        way = staged.ways[move.index]
        if way.kind == "refer":
            return pack.stops[names.stops[way.index]].title
        return pack.remedies[names.remedies[way.index]].title
    if move.kind == "order":
        parts = ", ".join(pack.parts[names.parts[part]].title for part in sorted(move.parts))
        return f"order: {parts}" if branch.place == 0 else f"order and come back with: {parts}"
    return "book a visit" if move.kind == "visit" else WITHOUT_REPAIR


def _answers(advice: Advice, staged: Staged, move: Move) -> tuple[str, ...]:
    """The answers of a look in words; of a reading, the bins that the plan was made with."""
    if move.kind != "look":
        return ()
    look, model = staged.looks[move.index], advice.known.model
    check = model.checks[look.check]
    if check.reading is None:
        return tuple(outcome_words(advice, model.names.checks[look.check]).values())
    found = binned(model, advice.evidence, staged.belief, check, look.place)
    return bin_words(check.reading, found)


def _after(move: Move, answers: tuple[str, ...], outcome: int) -> str:
    """An outcome in words."""
    if outcome == FAILS:
        return "the re-run fails again"
    if outcome == REFUSED:
        return "the customer would rather not"
    if move.kind != "look":
        return ""
    return answers[outcome] if outcome < len(answers) else "not sure, or could not look"


def _parts(advice: Advice, plan: JobPlan) -> tuple[ToldPart, ...]:
    names, pack = advice.known.model.names.parts, advice.known.pack
    return tuple(
        ToldPart(
            id=names[one.part],
            title=pack.parts[names[one.part]].title,
            chance=one.wanted,
            aboard=one.aboard,
            order=not one.aboard and one.ordered >= 0.5,
        )
        for one in plan.parts
    )
