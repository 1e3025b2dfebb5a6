"""What the facts of a job say together does not depend on how they came."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stores import Ticking
from tubside.service.authors import Written
from tubside.service.data_folder import open_data
from tubside.service.jobs import record_written
from tubside.service.records import (
    Body,
    CameBack,
    CheckDone,
    Closing,
    Context,
    DangerTold,
    Indication,
    Machine,
    PartsAboard,
    Place,
    RemedyDone,
    Reported,
    Retract,
    Visit,
)
from tubside.service.replay import line_of, row_of, seen_of, source_of, stage_of
from tubside.service.writing import made_elsewhere
from tubside.store import facts as kept
from tubside.store import job_rows
from tubside.store.facts import FactRow

JOB = "job-00001"
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
BODIES: list[Body] = [
    Machine(family="top_load"),
    Machine(model="aldermoor-tern", age_years=9),
    Machine(variants={"drive": "belt"}),
    Reported(conditions=["wont_spin", "noisy"], when="drain"),
    Reported(conditions=["noisy"], how_often="once"),
    Indication(lamps={"pause": "3 blinks"}),
    DangerTold(),
    DangerTold(kinds=["smoke", "shock"]),
    Context(name="just_moved", value=True),
    CheckDone(check="foam", outcome="some", by="customer"),
    CheckDone(check="foam", outcome="none", by="technician", again=True),
    RemedyDone(remedy="clear-pump", outcome="works", by="technician"),
    RemedyDone(remedy="clear-pump", outcome="not done", by="technician"),
    CameBack(),
    Place(where="site"),
    Place(where="phone"),
    PartsAboard(aboard=["pump"], not_aboard=["belt"]),
    PartsAboard(aboard=["belt"]),
    Visit(status="booked", arrive_from=NOON, arrive_until=NOON + timedelta(hours=2)),
    Closing(causes=["pump-object"], confirmed_by="seen"),
]
Fact = tuple[Written, Body]


@st.composite
def two_phones(draw: st.DrawFn) -> list[Fact]:
    """Draw what two phones wrote of one job, now and then seeing what the other had."""
    facts: list[Fact] = []
    numbers, seen = {"a": 0, "b": 0}, {"a": 0, "b": 0}
    for count in range(draw(st.integers(1, 12))):
        device = draw(st.sampled_from("ab"))
        other = "ba"["ab".index(device)]
        if draw(st.booleans()):
            seen[device] = numbers[other]
        ids = [w.id for w, _ in facts if w.device == device or w.sequence <= seen[device]]
        takes_back = bool(ids) and draw(st.integers(0, 3)) == 0
        numbers[device] += 1
        body = Retract(fact=draw(st.sampled_from(ids))) if takes_back else None
        at = NOON + timedelta(minutes=draw(st.integers(-20, 20)))
        told = {other: seen[device]} if seen[device] else {}
        written = Written(f"fact-{count:04}", device, numbers[device], at, told)
        facts.append((written, body or draw(st.sampled_from(BODIES))))
    return facts


def rows_of(facts: list[Fact]) -> list[FactRow]:
    """Return the rows of facts, as they are kept."""
    return list(made_elsewhere(JOB, facts, NOON))


def on(
    device: str, *bodies: Body, seen: dict[str, int] | None = None, start: int = 1
) -> list[Fact]:
    """Return facts that one device wrote, a minute apart."""
    return [
        (
            Written(f"{device}-fact-{n}", device, n, NOON + timedelta(minutes=n), seen or {}),
            body,
        )
        for n, body in enumerate(bodies, start)
    ]


@given(two_phones(), st.integers())
def test_a_union_gives_equal_views(facts: list[Fact], luck: int) -> None:
    """Tests that two phones' facts, in any order, say the same."""
    rows = rows_of(facts)
    shuffled = random.Random(luck).sample(rows, len(rows))  # noqa: S311  # no secret
    assert line_of(shuffled) == line_of(rows)
    assert source_of(line_of(shuffled)) == source_of(line_of(rows))
    assert row_of(JOB, shuffled) == row_of(JOB, rows)
    assert seen_of(shuffled) == seen_of(rows)


@settings(max_examples=15, deadline=None)
@given(two_phones(), st.integers())
def test_a_union_by_way_of_the_store(
    tmp_path_factory: pytest.TempPathFactory, facts: list[Fact], luck: int
) -> None:
    """Tests that facts sent in batches, twice and in disorder, leave the same rows."""
    clock, found = Ticking(), []
    for order in (facts, random.Random(luck).sample(facts, len(facts))):  # noqa: S311
        store = open_data(tmp_path_factory.mktemp("data"), clock)
        for start in range(0, len(order), 3):
            record_written(store, JOB, order[start : start + 4], NOON)
        record_written(store, JOB, order, NOON)
        with store.reading() as opened:
            row = job_rows.listed(opened, closed=False, limit=9, after=None)
            row += job_rows.listed(opened, closed=True, limit=9, after=None)
            found.append((line_of(kept.of_job(opened, JOB)), row))
        store.close()
    assert found[0] == found[1]
    assert len(found[0][0]) == len(facts)


def test_a_take_back_and_its_take_back() -> None:
    """Tests that a fact taken back does not count, and counts again when that is taken back."""
    facts = on("a", Machine(age_years=9), Retract(fact="a-fact-1", reason="misheard"))
    assert source_of(line_of(rows_of(facts))).job.age_years is None
    facts += on("a", Retract(fact="a-fact-2"), start=3)
    entries = line_of(rows_of(facts))
    assert source_of(entries).job.age_years == 9
    assert [e.retracted_by for e in entries] == [None, "a-fact-3", None]


def test_a_check_beside_a_remedy_is_doubtful() -> None:
    """Tests that a check does not count when nobody knows if a remedy came before it."""
    look = CheckDone(check="foam", outcome="some", by="customer")
    mend = RemedyDone(remedy="clear-pump", outcome="works", by="technician")
    beside = line_of(rows_of(on("a", look) + on("b", mend)))
    assert [e.doubtful for e in beside if e.body == look] == [True]
    assert [line.check for line in source_of(beside).job.facts] == [None]
    after = line_of(rows_of(on("a", look) + on("b", mend, seen={"a": 1})))
    assert not any(e.doubtful for e in after)
    assert [line.check for line in source_of(after).job.facts] == ["foam", None]


def test_a_remedy_not_done_makes_nothing_doubtful() -> None:
    """Tests that a remedy that was refused, or taken back, leaves a check in force."""
    look = CheckDone(check="foam", outcome="some", by="customer")
    refused = RemedyDone(remedy="clear-pump", outcome="refused", by="customer")
    mend = RemedyDone(remedy="clear-pump", outcome="works", by="technician")
    assert not any(e.doubtful for e in line_of(rows_of(on("a", look) + on("b", refused))))
    undone = on("a", look) + on("b", mend, Retract(fact="b-fact-1"))
    assert not any(e.doubtful for e in line_of(rows_of(undone)))


def test_the_latest_word_counts() -> None:
    """Tests what adds up (dangers, complaints, variants) and what is replaced."""
    facts = on("a", *BODIES[:9], *BODIES[16:18])
    job = source_of(line_of(rows_of(facts))).job
    assert (job.family, job.model, job.age_years) == ("top_load", "aldermoor-tern", 9)
    assert job.reported == ["wont_spin", "noisy"]
    assert (job.when, job.how_often) == ("drain", "once")
    assert sorted(job.danger) == ["shock", "smoke"]
    assert (job.aboard, job.not_aboard) == (["pump", "belt"], [])


def test_another_family_ends_the_model() -> None:
    """Tests that naming a family alone leaves a model named before behind."""
    facts = on("a", Machine(model="aldermoor-tern"), Machine(family="front_load"))
    job = source_of(line_of(rows_of(facts))).job
    assert (job.family, job.model) == ("front_load", None)


def test_a_problem_points_to_its_fact() -> None:
    """Tests that each part of a job tells which fact it came from."""
    facts = on("a", DangerTold(), Machine(family="top_load"), *BODIES[3:5], BODIES[9])
    document = source_of(line_of(rows_of(facts))).document
    assert document.place(("family",)).line == 2
    assert document.place(("reported", 1)).line == 3
    assert document.place(("how_often",)).line == 4
    assert document.place(("facts", 0, "outcome")).line == 5


@pytest.mark.parametrize(
    ("bodies", "stage"),
    [
        ([], "call"),
        ([Visit(status="wanted")], "waiting"),
        ([Visit(status="booked")], "visit booked"),
        ([Visit(status="booked"), Visit(status="cancelled")], "waiting"),
        ([Visit(status="booked"), Place(where="site")], "on site"),
        ([Place(where="site"), Place(where="phone")], "waiting"),
        ([Place(where="phone")], "call"),
        ([Place(where="site"), BODIES[-1]], "closed"),
        ([BODIES[-1], CameBack()], "call"),
    ],
)
def test_stages(bodies: list[Body], stage: str) -> None:
    """Tests how far each job is."""
    assert stage_of(line_of(rows_of(on("a", DangerTold(), *bodies)))) == stage
