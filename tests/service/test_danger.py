"""Tests of danger reports: what is said first, and what is never asked after."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.pack.loading import LoadedPack
from tubside.pack.schema import DANGERS, CustomerStep, Pack
from tubside.service.advise import advise
from tubside.service.danger import SAY, customer_may, dangers, harmless, to_say
from tubside.service.job_file import JobFile, parse_job
from tubside.service.knowledge import Knowledge
from tubside.service.telling import as_data

STEP = CustomerStep(plug="either", taps="as-is", touches="nothing", water="none", litres=0)
QUESTION = msgspec.structs.replace(STEP, after_danger=True)


def known_of(loaded: LoadedPack) -> Knowledge:
    """Return what a job of this pack stands on, no panel known."""
    return Knowledge(loaded.pack, loaded.model, None)


def test_only_pure_questions_are_harmless() -> None:
    """Tests every way in which a step is more than a question."""
    assert harmless(QUESTION)
    assert not harmless(STEP)
    for change in (
        {"plug": "in"},
        {"plug": "out"},
        {"touches": "taps"},
        {"touches": "socket"},
        {"runs_machine": True},
    ):
        assert not harmless(msgspec.structs.replace(QUESTION, **change))


def test_what_customers_may_do() -> None:
    """Tests that without a danger every customer step is open, with one only questions."""
    steps = [STEP, QUESTION, None]
    assert customer_may(steps, []).tolist() == [True, True, False]
    assert customer_may(steps, ["smoke"]).tolist() == [False, True, False]


@pytest.mark.parametrize(
    "job",
    [
        {"danger": ["tripping"]},
        {"reported": ["wont_drain", "tripping"]},
        {"facts": [{"condition": "tripping", "outcome": "yes"}]},
        {"facts": [{"check": "when-trips", "outcome": "yes"}]},
        {"context": {"trips": True}},
    ],
)
def test_every_way_of_reporting_a_danger(any_small: Pack, job: dict[str, Any]) -> None:
    """Tests that a danger counts however it was told: asked, reported, found, circumstance."""
    told = msgspec.convert({"family": "small", **job}, JobFile)
    assert dangers(told, any_small) == ["tripping"]


@pytest.mark.parametrize(
    "job",
    [
        {"reported": ["wont_drain"]},
        {"facts": [{"condition": "tripping", "outcome": "no"}]},
        {"facts": [{"check": "when-trips", "outcome": "no"}]},
        {"context": {"trips": False}},
    ],
)
def test_no_danger_is_none(any_small: Pack, job: dict[str, Any]) -> None:
    """Tests that saying no to a danger reports none."""
    assert dangers(msgspec.convert({"family": "small", **job}, JobFile), any_small) == []


@pytest.fixture
def any_small(small_pack: Any) -> Pack:
    """The small pack, with a circumstance that answers the check of a danger."""
    pack: Pack = small_pack.pack
    trips = msgspec.structs.replace(pack.context["just_moved"], check="when-trips")
    return msgspec.structs.replace(pack, context={**pack.context, "trips": trips})


def test_dangers_stand_in_one_order(small_pack: Any) -> None:
    """Tests that several dangers are told in the fixed order, each with what to say."""
    job = msgspec.convert({"family": "small", "danger": list(DANGERS)[::-1]}, JobFile)
    assert dangers(job, small_pack.pack) == list(DANGERS)
    assert set(SAY) == set(DANGERS)


def test_gas_stands_alone() -> None:
    """Tests that beside gas no other danger is said: their words have something switched off."""
    assert to_say(DANGERS) == ["gas"]
    others = [danger for danger in DANGERS if danger != "gas"]
    assert to_say(others[::-1]) == others
    assert all("witch" in SAY[danger] or "breaker" in SAY[danger] for danger in others)


def test_nothing_is_asked_after_gas() -> None:
    """Tests that a question which any other danger allows is not asked after gas."""
    question = CustomerStep(
        plug="either", taps="as-is", touches="nothing", water="none", litres=0.0, after_danger=True
    )
    assert customer_may([question], ["shock"]).all()
    assert not customer_may([question], ["gas", "shock"]).any()


def ways_to_report(pack: Pack) -> list[dict[str, Any]]:
    """Return every way in which a job of this pack can report a danger."""
    ways: list[dict[str, Any]] = [{"danger": [danger]} for danger in DANGERS]
    for name, condition in pack.conditions.items():
        if condition.danger is not None:
            ways.append({"reported": [name]})
            ways.append({"facts": [{"condition": name, "outcome": "yes"}]})
    for name, check in pack.checks.items():
        outcomes = {} if check.finding is None else pack.findings[check.finding].danger
        ways += [{"facts": [{"check": name, "outcome": outcome}]} for outcome in outcomes]
    return ways


def fact_of(pack: Pack, draw: Any) -> dict[str, Any]:
    """Return a random line of facts."""
    kind = draw(st.sampled_from(["check", "check", "remedy", "condition"]))
    if kind == "remedy":
        outcome = draw(st.sampled_from(["still-fails", "not re-run", "not done"]))
        return {"remedy": draw(st.sampled_from(sorted(pack.remedies))), "outcome": outcome}
    if kind == "condition":
        name = draw(st.sampled_from(sorted(pack.conditions)))
        return {"condition": name, "outcome": draw(st.sampled_from(["yes", "no", "not sure"]))}
    told = [name for name, check in pack.checks.items() if check.reading is None]
    name = draw(st.sampled_from(sorted(told)))
    check = pack.checks[name]
    outcomes = (
        pack.findings[check.finding].outcomes
        if check.finding is not None
        else pack.variants[str(check.variant)].values
    )
    outcome = draw(st.sampled_from([*outcomes, "not sure"]))
    return {"check": name, "outcome": outcome, "by": draw(st.sampled_from(check.who))}


def random_job(pack: Pack, draw: Any) -> dict[str, Any]:
    """Return a job with a danger somewhere among its facts."""
    danger = draw(st.sampled_from(ways_to_report(pack)))
    facts = [fact_of(pack, draw) for _ in range(draw(st.integers(0, 3)))]
    facts = draw(st.permutations([*facts, *danger.get("facts", [])]))
    reported = draw(st.lists(st.sampled_from(sorted(pack.conditions)), max_size=2, unique=True))
    return {
        "family": "any",
        **danger,
        "reported": list(dict.fromkeys([*reported, *danger.get("reported", [])])),
        "facts": facts,
        "where": draw(st.sampled_from(["phone", "phone", "site"])),
    }


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_danger_comes_first(any_pack: LoadedPack, data: st.DataObject) -> None:
    """Tests, over random facts, that nothing risky is asked of a customer after a danger.

    The first step is to make it safe, and no step of the customer runs the machine,
    touches anything or needs the plug put in or pulled.
    """
    pack = any_pack.pack
    job = random_job(pack, data.draw)
    source = parse_job(msgspec.json.encode(job).decode())
    told = as_data(advise(source, known_of(any_pack), 150))
    steps: Any = told["steps"]
    assert steps[0]["id"].startswith("make-safe-")
    assert steps[0]["cautions"] == [SAY[steps[0]["id"].removeprefix("make-safe-")]]
    for step in steps:
        if step["who"] != "customer" or step["id"].startswith("make-safe-"):
            continue
        known = pack.checks | pack.remedies
        asked = known[step["id"]].customer_step
        assert asked is not None
        assert asked.plug == "either", step["id"]
        assert not asked.runs_machine, step["id"]
        assert asked.touches == "nothing", step["id"]


def test_questions_may_still_be_asked(any_pack: LoadedPack) -> None:
    """Tests that after a danger by phone, what remains are questions and a visit."""
    source = parse_job("family: any\ndanger: [shock]\n")
    steps: Any = as_data(advise(source, known_of(any_pack), 150))["steps"]
    kinds = {step["kind"] for step in steps}
    assert "visit" in kinds
    assert "remedy" not in kinds
