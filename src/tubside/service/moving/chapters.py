"""What to film for customers, chapter by chapter: what to show, what to say, what can hurt.

One chapter for each indication of each model, the troubles met most often first. Its
steps are those that the pack calls safe for customers, checked by their fields; they
come in the order of chance cleared per minute, each after the look that tells whether it
is needed. Where an indication may mean danger there are none: it ends in stop and ring.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from tubside.errors import ModelError
from tubside.pack.check_customer import RULES, whole_step
from tubside.pack.schema import Check, Danger, Finding, Pack, Remedy
from tubside.panel.moving.loop import loop_of
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short
from tubside.service.danger import SAY
from tubside.service.knowledge import Knowledge
from tubside.service.moving.showing import meaning

MOST_STEPS = 5
"""Remedies in one chapter: more are not watched to the end (common practice, no source)."""
LEAST_CLEARED = 0.01
"""A remedy that clears fewer calls than this share is left to the telephone."""


@dataclass(frozen=True, slots=True)
class Take:
    """One thing to film: to look at or to do, its cautions as (harm, what to do), the words."""

    kind: Literal["look", "do"]
    title: str
    say: str
    cautions: tuple[tuple[str, str], ...]
    minutes: float
    cleared: float = 0.0


@dataclass(frozen=True, slots=True)
class Chapter:
    """One indication of one model.

    ``share`` is how many of the family's calls begin with what it means; ``hold_s`` how
    long to hold the picture, two rounds of it; ``stop`` the words where it may mean danger.
    """

    model: str
    indication: str
    machine: str
    means: str
    looks: str
    share: float
    hold_s: float
    stop: str | None
    takes: tuple[Take, ...]


def chapters_of(known: Mapping[str, Knowledge]) -> list[Chapter]:
    """The chapters of models by id, by how often each is met.

    Raises
    ------
    ModelError
        When none of the models has a panel.
    """
    found = [
        _chapter(name, one.panel, one.pack, indication)
        for name, one in known.items()
        if one.panel is not None
        for indication in one.panel.indications
    ]
    if not found:
        msg = "there is no model to film; teach one first, or name another family"
        raise ModelError(msg)
    return sorted(found, key=lambda one: -one.share)


def stop_words(pack: Pack) -> list[str]:
    """What to say before all chapters: each danger; gas where the pack knows of it."""
    named = {condition.danger for condition in pack.conditions.values()}
    named |= {danger for finding in pack.findings.values() for danger in finding.danger.values()}
    gas = "gas" in named or "gas" in pack.cautions
    return [f"{_danger(danger)}: {SAY[danger]}" for danger in SAY if gas or danger != "gas"]


def _chapter(name: str, panel: Panel, pack: Pack, indication: str) -> Chapter:
    shown = panel.indications[indication]
    dangers = [pack.conditions[one].danger for one in shown.conditions]
    harm = next((danger for danger in dangers if danger is not None), None)
    causes = _causes(panel, pack, shown.conditions)
    weights = {one: pack.causes[one].weight for one in pack.causes}
    weights |= {one: healthy.weight for one, healthy in pack.healthy.items()}
    return Chapter(
        model=name,
        indication=indication,
        machine=panel.name,
        means=meaning(panel, pack, indication),
        looks=in_short(panel, panel.lights(indication)),
        share=sum(causes.values()) / sum(weights.values()),
        hold_s=2 * loop_of(panel, indication).length_s,
        stop=None if harm is None else f"{_danger(harm)}: {SAY[harm]}",
        takes=() if harm is not None else tuple(_takes(panel, pack, causes)),
    )


def _causes(panel: Panel, pack: Pack, conditions: Sequence[str]) -> dict[str, float]:
    """Cause -> how many of 1000 calls begin with one of the conditions because of it."""
    return {
        name: cause.weight * told
        for name, cause in pack.causes.items()
        if _fits(panel, cause.variants)
        and (told := sum(cause.reported_as.get(one, 0.0) for one in conditions)) > 0
    }


def _takes(panel: Panel, pack: Pack, causes: Mapping[str, float]) -> Iterator[Take]:
    """Yield the steps of a chapter: each remedy after the look that tells whether it is needed."""
    whole = sum(causes.values())
    worth: list[tuple[float, float, Remedy]] = []
    for remedy in pack.remedies.values():
        if not (_fits(panel, remedy.needs) and for_customers(remedy)):
            continue
        cleared = sum(
            causes.get(one, 0.0) * (clears.customer or 0.0) for one, clears in remedy.clears.items()
        )
        if whole > 0 and cleared / whole >= LEAST_CLEARED:
            minutes = max(remedy.minutes + remedy.rerun_minutes, 0.5)
            worth.append((cleared / whole / minutes, cleared / whole, remedy))
    worth.sort(key=lambda one: -one[0])
    looked: set[str] = set()
    for _, cleared, remedy in worth[:MOST_STEPS]:
        look = _look(panel, pack, remedy, causes)
        if look is not None and look.title not in looked:
            looked.add(look.title)
            yield _take("look", pack, look)
        yield _take("do", pack, remedy, cleared)


def _look(panel: Panel, pack: Pack, remedy: Remedy, causes: Mapping[str, float]) -> Check | None:
    """The customer's check that best tells whether a remedy's main cause is there."""
    cleared = [one for one in remedy.clears if one in causes]
    main = max(cleared, key=lambda one: causes[one] * (remedy.clears[one].customer or 0.0))
    told: list[tuple[float, Check]] = []
    for check in pack.checks.values():
        finding = pack.findings.get(check.finding or "")
        if finding is None or main not in finding.causes or not _fits(panel, check.needs):
            continue
        if for_customers(check):
            told.append((_tells(finding, main) / max(check.minutes, 0.5), check))
    return max(told, key=lambda one: one[0])[1] if told else None


def _tells(finding: Finding, cause: str) -> float:
    """Distance of what is seen with a cause from what a healthy machine shows, 0 to 1."""
    pairs = zip(finding.causes[cause], finding.healthy, strict=True)
    return sum(abs(ill - well) for ill, well in pairs) / 2


def for_customers(step: Check | Remedy) -> bool:
    """Whether a step may be shown to customers, by its fields and not by its words."""
    fields = step.customer_step
    if "customer" not in step.who or fields is None or any(whole_step(step)):
        return False
    return not any(fault for rule in RULES for fault in rule(step, fields))


def _fits(panel: Panel, needs: Mapping[str, list[str]]) -> bool:
    """Whether the model may be built so; an unknown construction may."""
    built = panel.plate.variants
    return all(built.get(axis) is None or built[axis] in values for axis, values in needs.items())


def _take(
    kind: Literal["look", "do"], pack: Pack, step: Check | Remedy, cleared: float = 0.0
) -> Take:
    cautions = tuple((pack.cautions[one].harm, pack.cautions[one].do) for one in step.cautions)
    return Take(kind, step.title, (step.say or "").strip(), cautions, step.minutes, cleared)


def _danger(danger: Danger) -> str:
    return danger.replace("-", " ").capitalize()
