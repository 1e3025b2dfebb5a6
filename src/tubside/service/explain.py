"""One sentence of why for each step, and the words around it."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.next_step import Step
from tubside.diagnosis.options import said_table
from tubside.pack.fault_model import OBSERVERS
from tubside.pack.schema import Caution
from tubside.service.advise import Advice
from tubside.service.coding import outcomes_of

MUCH = 0.05


@dataclass(frozen=True, slots=True)
class ToldStep:
    """A step as it is told: cautions first, then what to do, then why."""

    id: str
    title: str
    kind: str
    expected_cost: float
    minutes: float
    who: str
    where: str
    cautions: tuple[Caution, ...]
    do: str
    say: str | None
    outcomes: tuple[tuple[str, str], ...]
    why: str
    cost: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """One answer a check may get: how likely, and what is then most likely."""

    outcome: str
    chance: float
    leading: str
    leading_chance: float


def told_step(advice: Advice, step: Step) -> ToldStep:
    """Everything a person needs to do this step, cautions first."""
    match step.kind:
        case "check":
            return _told_check(advice, step)
        case "remedy":
            return _told_remedy(advice, step)
        case "visit":
            return _told_visit(advice, step)
        case _:
            return _told_stop(advice, step)


def outlooks(advice: Advice, index: int) -> list[Outlook]:
    """What each answer to a check would mean."""
    check = advice.known.model.checks[index]
    said = said_table(
        advice.known.model, advice.evidence, advice.belief, check, advice.situation.observer
    )
    member = advice.belief.rows.now.astype(float)
    result = []
    for column, outcome in enumerate(
        outcomes_of(advice.known, advice.known.model.names.checks[index])
    ):
        weight = advice.belief.probability * said[:, column]
        chance = float(weight.sum())
        after = (weight @ member) / max(chance, 1e-300)
        top = int(after.argmax())
        title = advice.known.pack.causes[advice.known.model.names.causes[top]].title
        result.append(Outlook(outcome, chance, title, float(after[top])))
    return result


def _told_check(advice: Advice, step: Step) -> ToldStep:
    model, pack = advice.known.model, advice.known.pack
    name = model.names.checks[step.index]
    check = pack.checks[name]
    words = (
        pack.findings[check.finding].outcomes
        if check.finding is not None
        else {v: value.title for v, value in pack.variants[str(check.variant)].values.items()}
    )
    return ToldStep(
        id=name,
        title=check.title,
        kind="check",
        expected_cost=step.expected_cost,
        minutes=step.minutes,
        who=OBSERVERS[advice.situation.observer],
        where=_place(advice),
        cautions=_cautions(advice, check.cautions),
        do=check.how,
        say=check.say if not advice.situation.on_site else None,
        outcomes=tuple(words.items()),
        why=_why_check(advice, step),
        cost=step.cost,
    )


def _why_check(advice: Advice, step: Step) -> str:
    leading = advice.causes[0]
    views = [v for v in outlooks(advice, step.index) if v.chance > MUCH]
    views.sort(key=lambda v: -abs(v.leading_chance - leading.probability))
    told = "; ".join(
        f"if '{v.outcome}' ({v.chance:.0%}) {v.leading} stands at {v.leading_chance:.0%}"
        for v in views[:2]
    )
    return f"{_now(advice)}; {told}" if told else _now(advice)


def _now(advice: Advice) -> str:
    first = advice.causes[0]
    return f"now {first.title} at {first.probability:.0%}"


def _told_remedy(advice: Advice, step: Step) -> ToldStep:
    model, pack = advice.known.model, advice.known.pack
    name = model.names.remedies[step.index]
    remedy = pack.remedies[name]
    missing = [
        pack.parts[part].title
        for part in remedy.parts
        if not advice.situation.aboard[model.names.parts.index(part)]
    ]
    why = f"ends the trouble {step.works:.0%} of the time for {step.cost:.0f}, re-run included"
    if missing and advice.situation.on_site:
        why += f"; {', '.join(missing)} is not aboard, so it needs a second trip"
    return ToldStep(
        id=name,
        title=remedy.title,
        kind="remedy",
        expected_cost=step.expected_cost,
        minutes=step.minutes,
        who=OBSERVERS[advice.situation.observer],
        where=_place(advice),
        cautions=_cautions(advice, remedy.cautions),
        do=remedy.how,
        say=remedy.say if not advice.situation.on_site else None,
        outcomes=(("works", "the re-run passes"), ("still-fails", "the re-run fails again")),
        why=why,
        cost=step.cost,
    )


def _told_visit(advice: Advice, step: Step) -> ToldStep:
    return ToldStep(
        id="book-visit",
        title="Book a visit",
        kind="visit",
        expected_cost=step.expected_cost,
        minutes=step.minutes,
        who="technician",
        where="site",
        cautions=(),
        do="Agree on the call-out fee and an arrival window, then go.",
        say=None,
        outcomes=(),
        why=f"{_now(advice)}; going there costs {step.cost:.0f} before any work",
        cost=step.cost,
    )


def _told_stop(advice: Advice, step: Step) -> ToldStep:
    name = advice.known.model.names.stops[step.index]
    stop = advice.known.pack.stops[name]
    if step.kind == "refer":
        why = f"{step.works:.0%} that it is work for that trade; costs about {step.cost:.0f}"
    else:
        why = f"ends the job for {step.cost:.0f}; {_now(advice)}"
    return ToldStep(
        id=name,
        title=stop.title,
        kind=step.kind,
        expected_cost=step.expected_cost,
        minutes=step.minutes,
        who="technician",
        where=_place(advice),
        cautions=(),
        do=stop.how,
        say=None,
        outcomes=(),
        why=why,
        cost=step.cost,
    )


def _place(advice: Advice) -> str:
    return "site" if advice.situation.on_site else "phone"


def _cautions(advice: Advice, ids: list[str]) -> tuple[Caution, ...]:
    return tuple(advice.known.pack.cautions[name] for name in ids)
