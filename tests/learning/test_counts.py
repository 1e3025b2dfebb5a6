"""Tests of counting closed jobs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from tubside.learning.counts import Counts, Key, counted, merged
from tubside.learning.history import MILLION, CheckTold, ClosedJob

PUMP = ClosedJob(
    job="j1",
    closed=date(2026, 3, 2),
    family="top_load",
    model="aldermoor-tern",
    complaint="wont_drain",
    age_years=7.5,
    causes={"pump-worn": 750_000, "pump-blocked": 250_000},
    several=80_000,
    sure="measured",
    checks=(
        CheckTold("pump-sound", "hums", "technician"),
        CheckTold("pump-ohms", "open", "technician"),
    ),
    decided=frozenset({"pump-ohms"}),
    remedies={"new-pump": True},
    minutes={"new-pump": 25},
    prices={"drain-pump": 4500},
)
SMALL = st.builds(
    ClosedJob,
    job=st.just("j"),
    closed=st.just(date(2026, 3, 2)),
    family=st.sampled_from(["dryer", "top_load"]),
    causes=st.sampled_from([{"a": MILLION}, {"a": 333_333, "b": 666_667}, {"b": 1}]),
    sure=st.sampled_from(["seen", "not-confirmed"]),
    several=st.integers(0, MILLION),
)


def key(what: str, of: str = "", told: str = "", value: str = "", sure: str = "") -> Key:
    """Return a key of the job above."""
    return Key("", "top_load", "aldermoor-tern", what, of, told, value, sure)


def test_one_job_by_hand() -> None:
    """Tests the counts of one job: shares divide, and the deciding check is not counted."""
    found = counted([PUMP]).by_key
    assert found[key("jobs")] == MILLION
    assert found[key("cause", "wont_drain", value="pump-worn")] == 750_000
    assert found[key("sure", "pump-blocked", value="measured")] == 250_000
    assert found[key("outcome", "pump-sound", "pump-worn", "hums@technician", "measured")] == 750000
    assert found[key("cure", "new-pump", "pump-worn", "yes", "measured")] == 750_000
    assert found[key("minutes", "new-pump", value="25")] == MILLION
    assert found[key("price", "drain-pump", value="4500")] == MILLION
    assert found[key("age", "pump-worn", value="7")] == 750_000
    assert found[key("several", value="yes")] == 80_000
    assert found[key("month", "pump-worn", value="2026-03")] == 750_000
    assert not [one for one in found if one.of == "pump-ohms"]
    assert not [one for one in found if one.what == "unsure"]


def test_a_job_in_doubt_keeps_what_was_told() -> None:
    """Tests that a job without a sure cause is counted by what was told of it."""
    doubt = ClosedJob(
        job="j",
        closed=date(2026, 3, 2),
        family="dryer",
        complaint="no_heat",
        checks=(CheckTold("vent", "blocked", "customer"),),
    )
    kept = Key("", "dryer", "", "unsure", "no_heat", "vent=blocked@customer")
    assert counted([doubt]).by_key[kept] == MILLION


def test_a_job_in_doubt_says_nothing_of_second_faults() -> None:
    """Tests that only jobs whose cause was made sure count for second faults."""
    found = counted([PUMP, replace(PUMP, sure="not-confirmed")]).by_key
    assert found[key("several", value="yes")] == 80_000
    assert found[key("several", value="no")] == 920_000


def test_what_is_not_told_is_not_counted() -> None:
    """Tests that a list that tells neither visits nor second faults speaks of neither."""
    untold = counted([replace(PUMP, several=None, by_phone=None)]).by_key
    assert {one.what for one in untold} & {"several", "phone", "callback"} == set()
    told = {one.what for one in counted([PUMP]).by_key}
    assert told >= {"several", "phone", "callback"}


@given(st.lists(SMALL, max_size=12), st.integers(0, 12))
def test_counts_add(jobs: list[ClosedJob], cut: int) -> None:
    """Tests that any two batches add up to the whole, exactly, in either order."""
    first, second = counted(jobs[:cut]), counted(jobs[cut:])
    assert first + second == second + first == counted(jobs)
    assert merged([]) == Counts({})


def test_shares_in_doubt_stand_by_themselves() -> None:
    """Tests that the shares of jobs in doubt can be taken out of the causes again."""
    doubtful = replace(PUMP, sure="not-confirmed")
    found = counted([PUMP, doubtful]).by_key
    assert found[key("cause", "wont_drain", value="pump-worn")] == 1_500_000
    assert found[key("doubt", "wont_drain", value="pump-worn")] == 750_000
    assert found[key("doubt", "wont_drain", value="pump-blocked")] == 250_000
