"""The plan in words, and kept beside the job until a fact changes it."""

from __future__ import annotations

import msgspec
import pytest

from tubside.diagnosis.plan.staged import narrowed, staged_job
from tubside.diagnosis.plan.turning import Turning
from tubside.pack.compiling import compile_pack
from tubside.pack.reading import PackSource
from tubside.service.advise import Advice, advise
from tubside.service.authors import Author
from tubside.service.explain import told_step
from tubside.service.job_file import parse_job
from tubside.service.jobs import job_view, new_job, record
from tubside.service.kept_plans import kept_plan, worked_out_plan
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.library import Library
from tubside.service.planning import (
    ToldBranch,
    ToldPlan,
    _holds,
    cost_words,
    plan_of,
    visit_words,
)
from tubside.service.records import Body, DangerTold, Machine, Reported
from tubside.store.opening import Store

EFFORT = 60


def advice_on(pack: PackSource, job: str) -> Advice:
    """Return the advice on a job file of the small pack."""
    small = Knowledge(pack.pack, compile_pack(pack.pack, "small"), None)
    return advise(parse_job(job), small, 200)


@pytest.fixture(scope="module")
def plan(small_pack: PackSource) -> ToldPlan:
    """Return the plan of a new call."""
    told = plan_of(advice_on(small_pack, "family: small\nreported: [wont_drain]\n"), EFFORT)
    assert told is not None
    return told


def every(branch: ToldBranch) -> list[ToldBranch]:
    """Return a branch and all below it."""
    return [branch, *(one for other in branch.branches for one in every(other))]


def test_numbers_of_a_plan_agree(plan: ToldPlan) -> None:
    """Tests that ranges hold their order, chances are chances, and a bound is below the cost."""
    assert 0.0 < plan.low <= plan.high
    assert plan.minutes_low <= plan.minutes <= plan.minutes_high
    assert plan.by_phone + plan.this_visit <= 1.0 + 1e-12
    assert plan.lower is None or plan.lower <= plan.expected + 1e-9
    assert (plan.lower is None) == (plan.gap is None) == (plan.proven == "")
    assert plan.exact == (plan.error == 0.0)


def test_branches_share_the_chance_above_them(plan: ToldPlan) -> None:
    """Tests that what lies below a step is never likelier than the step."""
    assert plan.tree.chance == pytest.approx(1.0)
    for branch in every(plan.tree):
        assert sum(one.chance for one in branch.branches) <= branch.chance + 1e-9
        assert all(one.do or not one.branches for one in branch.branches)


def test_plan_begins_with_the_step_advised(small_pack: PackSource, plan: ToldPlan) -> None:
    """Tests that the tree's first step is the first of the advice, by telephone."""
    advice = advice_on(small_pack, "family: small\nreported: [wont_drain]\n")
    title = told_step(advice, advice.steps[0]).title
    assert plan.tree.do.casefold() == title.casefold()
    assert not plan.on_site


def test_an_estimate_is_called_one(plan: ToldPlan) -> None:
    """Tests the words: estimate or exactly worked out, telephone, visit, parts."""
    words = " ".join(cost_words(plan))
    assert ("an estimate" in words) is not plan.exact
    assert "by telephone" in words
    assert "on the first visit" in words
    assert len(visit_words(plan)) == len(plan.parts)


def test_same_facts_same_plan(small_pack: PackSource, plan: ToldPlan) -> None:
    """Tests that a plan worked out again says the same to the letter."""
    again = plan_of(advice_on(small_pack, "family: small\nreported: [wont_drain]\n"), EFFORT)
    assert msgspec.json.encode(again) == msgspec.json.encode(plan)


def test_no_plan_without_effort_or_after_the_end(small_pack: PackSource) -> None:
    """Tests that nothing is worked out with no effort, nor once the machine runs."""
    job = "family: small\nreported: [wont_drain]\n"
    assert plan_of(advice_on(small_pack, job), 0) is None
    over = f"{job}facts:\n  - {{remedy: clear-pump, outcome: works, by: technician}}\n"
    assert plan_of(advice_on(small_pack, over), EFFORT) is None


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)  # a plan, not a store, is tested
def test_a_plan_is_kept_until_a_fact_changes_it(store: Store, author: Author) -> None:
    """Tests that it is there only after it was asked for, and gone with the next fact."""
    library = Library()
    call: list[Body] = [DangerTold(), Machine(family="top_load"), Reported(conditions=["no_water"])]
    job = new_job(store, author, call)
    view = job_view(store, library, job)
    assert kept_plan(store, view) is None
    worked = worked_out_plan(store, view, author.clock())
    assert worked is not None
    assert kept_plan(store, job_view(store, library, job)) == worked
    record(store, job, author, Machine(family="top_load", age_years=3))
    assert kept_plan(store, job_view(store, library, job)) is None


def test_the_heaviest_rows_read_in_the_same_bins() -> None:
    """Tests that looks, readings among them, say the same of a row over few rows and over all."""
    source = parse_job("family: top_load\nreported: [no_water]\nwhere: site\n")
    advice = advise(source, knowledge_of(source.job), 500)
    facts = (advice.evidence, advice.belief, advice.situation)
    whole = staged_job(advice.known.model, *facts)
    few = narrowed(whole, 40)
    rows = [whole.row_of[row.tobytes()] for row in few.member]
    readings = 0
    for number, look in enumerate(whole.looks):
        check = advice.known.model.checks[look.check]
        readings += check.reading is not None
        if look.finding >= 0 or check.reading is not None:
            assert few.said(number) == pytest.approx(whole.said(number)[rows], abs=1e-12)
    assert readings > 5


def test_a_reading_branches_by_its_numbers() -> None:
    """Tests that the answers of a reading in the tree are ranges of numbers, told apart."""
    job = (
        "family: front_load\nreported: [wont_drain]\nwhen: drain\nwhere: site\nfacts:\n"
        "  - {check: drain-sound, outcome: hums, by: technician}\n"
        "  - {check: strainer, outcome: clear, by: technician}\n"
    )
    source = parse_job(job)
    known = knowledge_of(source.job)
    told = plan_of(advise(source, known, 200), EFFORT)
    assert told is not None
    read = {check.title for check in known.pack.checks.values() if check.reading is not None}
    of_readings = [one for one in every(told.tree) if one.do in read and one.branches]
    assert of_readings
    for one in every(told.tree):
        answers = [below.after for below in one.branches]
        assert len(set(answers)) == len(answers)
    first = [below.after for below in of_readings[0].branches if "not sure" not in below.after]
    assert any(word in " ".join(first) for word in ("under ", " to ", "over "))


@pytest.mark.parametrize(
    ("factor", "told"), [(1.02, "hardly matters"), (1.8, "factor of up to 1.8")]
)
def test_a_factor_of_one_is_not_told(small_pack: PackSource, factor: float, told: str) -> None:
    """Tests that steps that are all but alike are called so, and titles begin with a capital."""
    advice = advice_on(small_pack, "family: small\nreported: [wont_drain]\n")
    for step in advice.steps:
        said = _holds(advice, Turning(step, factor, 0, up=True, dearer=0.5))
        assert told in said
        assert "up to 1.0" not in said
        quoted = said.split("“")[1].split("”")[0]
        assert quoted[0].isupper()
