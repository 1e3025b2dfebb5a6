"""One sentence of why for each step, and the words around it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tubside.diagnosis.next_step import Step
from tubside.diagnosis.options import said_table
from tubside.diagnosis.reading_bins import Binned, binned
from tubside.pack.fault_model import OBSERVERS, Reading
from tubside.pack.schema import Caution
from tubside.service.advise import Advice
from tubside.service.coding import outcomes_of
from tubside.service.expecting import expectation
from tubside.service.wording import dollars, figures, percent

MUCH = 0.05


@dataclass(frozen=True, slots=True)
class ToldReading:
    """A number to be read: its unit, where sound machines lie, where causes would put it.

    ``sheet`` is what the model's own sheet says of it, each with where it is from.
    """

    unit: str
    good: str
    expects: tuple[tuple[str, str], ...]
    sheet: tuple[str, ...] = ()


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
    reading: ToldReading | None = None


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
    model = advice.known.model
    check = model.checks[index]
    if check.reading is None:
        said = said_table(model, advice.evidence, advice.belief, check, advice.situation.observer)
        outcomes = outcomes_of(advice.known, model.names.checks[index])
    else:
        found = binned(model, advice.evidence, advice.belief, check, advice.situation.observer)
        said, outcomes = found.said, bin_words(check.reading, found)
    member = advice.belief.rows.now.astype(float)
    result = []
    for column, outcome in enumerate(outcomes):
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
        outcomes=tuple(outcome_words(advice, name).items()),
        why=_why_check(advice, step),
        cost=step.cost,
        reading=_told_reading(advice, name),
    )


def _told_reading(advice: Advice, check: str) -> ToldReading | None:
    """What to expect of a reading; None where the check reads no number."""
    leading = [(cause.id, cause.probability) for cause in advice.causes]
    observer = advice.situation.observer
    found = expectation(advice.known, advice.evidence, leading, check, observer)
    if found is None:
        return None
    expects = tuple((curve.title, found.words(curve)) for curve in found.curves[1:])
    return ToldReading(found.unit, found.good, expects, found.sheet)


def bin_words(reading: Reading, found: Binned) -> tuple[str, ...]:
    """The bins of a reading in words, in its unit."""
    edges = [figures((edge - reading.shift) / reading.slope) for edge in found.edges]
    if not edges:
        return ("any number", *(("no number at all",) if found.none else ()))
    between = [f"{low} to {high}" for low, high in pairwise(edges)]
    words = [f"under {edges[0]}", *between, f"over {edges[-1]}"]
    told = tuple(f"{word} {reading.unit}".strip() for word in words)
    return (*told, "no number at all") if found.none else told


def _why_check(advice: Advice, step: Step) -> str:
    """Where we stand, and the two answers that would move it most."""
    leading = advice.causes[0]
    views = [v for v in outlooks(advice, step.index) if v.chance > MUCH]
    views.sort(key=lambda v: -abs(v.leading_chance - leading.probability))
    words = outcome_words(advice, advice.known.model.names.checks[step.index])
    told = [
        f"'{words.get(v.outcome, v.outcome)}' ({percent(v.chance)}) would "
        + ("make that" if v.leading == leading.title else f"put {v.leading} first with")
        + f" {percent(v.leading_chance)}"
        for v in views[:2]
    ]
    return "; ".join([_now(advice), *told])


def outcome_words(advice: Advice, check: str) -> dict[str, str]:
    """Outcome id -> plain words of a check; none of a reading."""
    entry = advice.known.pack.checks[check]
    if entry.reading is not None:
        return {}
    if entry.finding is not None:
        return advice.known.pack.findings[entry.finding].outcomes
    values = advice.known.pack.variants[str(entry.variant)].values
    return {name: value.title for name, value in values.items()}


def _now(advice: Advice) -> str:
    first = advice.causes[0]
    return f"{first.title} stands at {percent(first.probability)}"


def _told_remedy(advice: Advice, step: Step) -> ToldStep:
    model, pack = advice.known.model, advice.known.pack
    name = model.names.remedies[step.index]
    remedy = pack.remedies[name]
    missing = [
        pack.parts[part].title
        for part in remedy.parts
        if not advice.situation.aboard[model.names.parts.index(part)]
    ]
    works, cost = percent(step.works), dollars(step.cost)
    why = f"ends the trouble {works} of the time for {cost}, re-run included"
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
        why=f"{_now(advice)}; going there costs {dollars(step.cost)} before any work",
        cost=step.cost,
    )


def _told_stop(advice: Advice, step: Step) -> ToldStep:
    name = advice.known.model.names.stops[step.index]
    stop = advice.known.pack.stops[name]
    if step.kind == "refer":
        theirs, cost = percent(step.works), dollars(step.cost)
        why = f"{theirs} that it is work for that trade; costs about {cost}"
    else:
        why = f"ends the job for {dollars(step.cost)}; {_now(advice)}"
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
