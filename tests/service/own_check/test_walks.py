"""Every way a customer may go: only safe steps, and nothing at all after a danger."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tubside.pack.check_customer import RULES, whole_step
from tubside.pack.schema import DANGERS, Check, Remedy
from tubside.service.coding import outcomes_of
from tubside.service.danger import dangers
from tubside.service.job_file import FactLine, JobFile, JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.own_check import choosing
from tubside.service.own_check.choosing import (
    Ask,
    is_customers,
    may_follow,
    next_for_customer,
    plain_checks,
)
from tubside.strict_yaml.document import Document

LIBRARY = Library()
MOST = 10


def step_of(known: Knowledge, ask: Ask) -> Check | Remedy:
    """The pack's entry of a step."""
    return known.pack.checks[ask.id] if ask.kind == "check" else known.pack.remedies[ask.id]


def faults(step: Check | Remedy) -> list[str]:
    """What the pack's own rules find wrong in a step, taken as one for customers."""
    found = [what for _, what, _ in whole_step(step)]
    fields = step.customer_step
    if fields is not None:
        found += [what for rule in RULES for _, what, _ in rule(step, fields)]
    return found


def job_of(known: Knowledge, condition: str, lines: list[FactLine]) -> JobSource:
    """A job with these facts."""
    job = JobFile(family=known.pack.family, reported=[condition], facts=lines)
    return JobSource(job, Document({}, {}))


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_no_way_leads_to_an_unsafe_step(data: st.DataObject) -> None:
    """Tests walks with any trouble and any answers.

    Each step is safe by its fields, none comes after a danger, and none twice.
    """
    known = LIBRARY.family(data.draw(st.sampled_from(LIBRARY.families())))
    condition = data.draw(st.sampled_from(list(known.pack.conditions)))
    lines: list[FactLine] = []
    asked: set[str] = set()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "SETS", 40)
        patch.setattr(choosing, "AHEAD", (0, 20))
        for _ in range(MOST):
            source = job_of(known, condition, lines)
            found = next_for_customer(source, known)
            told = dangers(source.job, known.pack)
            assert (found.end == "stop") == bool(told)
            if found.ask is None:
                assert found.end in {"stop", "cleared", "visit"}
                return
            step = step_of(known, found.ask)
            assert faults(step) == []
            assert "customer" in step.who
            assert not (isinstance(step, Check) and step.reading is not None)
            assert found.ask.id not in asked
            asked.add(found.ask.id)
            lines = [*lines, data.draw(st.sampled_from(answers(known, found.ask)))]


def answers(known: Knowledge, ask: Ask) -> list[FactLine]:
    """Every answer to a step, dangers too."""
    if ask.kind == "remedy":
        outcomes = ("works", "still-fails", "not done")
        return [FactLine(remedy=ask.id, outcome=one, by="customer") for one in outcomes]
    told = (*outcomes_of(known, ask.id), "not sure")
    return [FactLine(check=ask.id, outcome=one, by="customer") for one in told]


@pytest.mark.parametrize("family", LIBRARY.families())
def test_every_step_that_can_be_asked_is_safe(family: str) -> None:
    """Tests the whole set of steps that any walk is chosen from, by the pack's rules."""
    known = LIBRARY.family(family)
    entries: list[Check | Remedy] = [*known.pack.checks.values(), *known.pack.remedies.values()]
    mine = [one for one in entries if is_customers(one)]
    assert len(mine) > 10
    assert [faults(one) for one in mine if faults(one)] == []
    assert any(not is_customers(one) for one in entries)


@pytest.mark.parametrize("family", LIBRARY.families())
def test_every_danger_stops_every_trouble(family: str) -> None:
    """Tests that with any danger told there is no next step, whatever else is told."""
    known = LIBRARY.family(family)
    steps = [Ask("check", n) for n in known.pack.checks]
    steps += [Ask("remedy", n) for n in known.pack.remedies]
    for danger in DANGERS:
        for condition in known.pack.conditions:
            job = JobFile(family=family, reported=[condition], danger=[danger])
            found = next_for_customer(JobSource(job, Document({}, {})), known)
            assert (found.ask, found.end) == (None, "stop")
        assert not any(may_follow(known, ask, [danger]) for ask in steps)


@pytest.mark.parametrize("family", LIBRARY.families())
def test_an_answer_that_tells_of_danger_stops(family: str) -> None:
    """Tests that each answer of a check that means a danger ends the check at once."""
    known = LIBRARY.family(family)
    quiet = next(n for n, c in known.pack.conditions.items() if c.danger is None)
    for name, check in known.pack.checks.items():
        finding = known.pack.findings.get(check.finding or "")
        for outcome in () if finding is None else finding.danger:
            line = FactLine(check=name, outcome=outcome, by="customer")
            found = next_for_customer(job_of(known, quiet, [line]), known)
            assert (found.ask, found.end) == (None, "stop")


def test_no_run_to_see_a_danger() -> None:
    """Tests that a check of a shop's own that runs the machine to see a danger is not asked."""
    known = LIBRARY.family("front_load")
    name, check = next(
        (name, one)
        for name, one in known.pack.checks.items()
        if one.finding and one.customer_step and one.customer_step.runs_machine and not one.reading
    )
    finding = known.pack.findings[str(check.finding)]
    outcome = next(iter(finding.outcomes))
    dangerous = msgspec.structs.replace(finding, danger={outcome: "smoke"})
    findings = {**known.pack.findings, str(check.finding): dangerous}
    pack = msgspec.structs.replace(known.pack, findings=findings)
    place = list(known.pack.checks).index(name)
    assert plain_checks(known)[place]
    assert not plain_checks(replace(known, pack=pack))[place]
