"""Tests of the way from a job file to belief and ranked steps."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.diagnosis.facts import Fact, Settled
from tubside.diagnosis.situation import Situation
from tubside.errors import FactsDisagreeError, JobFileError
from tubside.pack.fault_model import CUSTOMER, TECHNICIAN, FaultModel
from tubside.pack.loading import LoadedPack
from tubside.pack.reading import PackSource
from tubside.service import advise as advising
from tubside.service.advise import Advice, advise, situation_of
from tubside.service.coding import coded_facts
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge, knowledge_of_model
from tubside.service.telling import as_data


@pytest.fixture(scope="module")
def known(small_pack: PackSource, small_model: FaultModel) -> Knowledge:
    """The small pack, no panel known."""
    return Knowledge(small_pack.pack, small_model, None)


def advice(known: Knowledge, *lines: str, size: int = 300) -> Advice:
    """Return the advice on a job of the small family."""
    return advise(parse_job("family: small\n" + "\n".join(lines)), known, size)


def situation(known: Knowledge, *lines: str) -> Situation:
    """Return what may be done in such a job."""
    return situation_of(parse_job("family: small\n" + "\n".join(lines)), known, ())


def test_causes_are_ranked_and_whole(known: Knowledge) -> None:
    """Tests that every cause and both ways of none are listed, the likeliest first."""
    told = advice(known, "reported: [wont_drain]")
    chances = [cause.probability for cause in told.causes]
    assert chances == sorted(chances, reverse=True)
    assert len(told.causes) == 12
    assert told.causes[0].id == "pump-object"
    assert {"nothing-wrong", "cleared-itself"} <= {cause.id for cause in told.causes}


def test_facts_are_weighed_in_their_order(known: Knowledge) -> None:
    """Tests that each fact of the file has its weight, call first, then what was found."""
    told = advice(
        known,
        "age_years: 6",
        "reported: [wont_drain]",
        "facts:",
        '  - {check: water-standing, outcome: "yes"}',
    )
    assert [w.fact.label for w in told.weighed] == [
        "reported: does not drain",
        "age: 6 years",
        "Is water standing in the drum? yes (customer)",
    ]


def test_finished_job_has_no_steps(known: Knowledge) -> None:
    """Tests that a re-run that works ends the steps, and coming back brings them again."""
    facts = ["reported: [wont_drain]", "facts:", "  - {remedy: clear-pump, outcome: works}"]
    done = advice(known, *facts)
    assert done.steps == ()
    assert done.belief.mended() > 0.5
    again = advice(known, *facts, "  - {came_back: true}")
    assert len(again.steps) > 3


def test_facts_that_disagree_are_named(known: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that facts which cannot all be true are refused, the fewest of them named."""
    source = parse_job("family: small\nreported: [wont_drain]\nage_years: 3\n")
    told = [
        Fact("a belt, for sure", Settled(0, np.array([1.0, 0.0]))),
        *coded_facts(source, known),
        Fact("no belt, for sure", Settled(0, np.array([0.0, 1.0]))),
    ]
    monkeypatch.setattr(advising, "coded_facts", lambda _source, _known: told)
    with pytest.raises(FactsDisagreeError) as caught:
        advise(source, known, 300)
    assert caught.value.facts == ("a belt, for sure", "no belt, for sure")
    assert "take back the one in doubt" in str(caught.value)


def test_who_did_it_is_who_it_is_coded_for(known: Knowledge) -> None:
    """Tests steps without a name: checks are the customer's, remedies the technician's."""
    there = situation(
        known,
        "facts:",
        '  - {check: water-standing, outcome: "yes"}',
        "  - {remedy: open-taps, outcome: still-fails}",
        "  - {remedy: clear-pump, outcome: refused, by: customer}",
    )
    names = known.model.names
    assert there.answered == {(names.checks.index("water-standing"), CUSTOMER)}
    assert there.tried == {
        (names.remedies.index("open-taps"), TECHNICIAN),
        (names.remedies.index("clear-pump"), CUSTOMER),
    }


def test_remedy_done_is_not_advised_again(known: Knowledge) -> None:
    """Tests that a remedy left without a name is not proposed to the technician again."""
    told = advice(
        known,
        "where: site",
        "reported: [no_water]",
        "facts:",
        "  - {remedy: open-taps, outcome: still-fails}",
    )
    names = known.model.names.remedies
    assert "open-taps" not in {names[s.index] for s in told.steps if s.kind == "remedy"}


def test_circumstance_counts_as_asked(known: Knowledge) -> None:
    """Tests that a yes/no of the file answers its check, so that it is not asked."""
    there = situation(known, "just_moved: false")
    assert there.answered == {(known.model.names.checks.index("moved-lately"), CUSTOMER)}


def test_covers_stay_open_on_this_visit_only(known: Knowledge) -> None:
    """Tests that a step behind a cover leaves it open on site, and says nothing by phone."""
    facts = ["facts:", "  - {check: belt-look, outcome: fine, by: technician}"]
    assert situation(known, "where: site", *facts).open_covers == {0}
    assert situation(known, *facts).open_covers == frozenset()


def test_parts_aboard_are_the_usual_and_what_the_file_says(known: Knowledge) -> None:
    """Tests what is carried, what was added, and what is missing today."""
    there = situation(known, "aboard: [motor]", "not_aboard: [belt]")
    names = known.model.names.parts
    aboard = dict(zip(names, there.aboard.tolist(), strict=True))
    assert aboard == {"inlet-valve": True, "drain-pump": True, "belt": False, "motor": True}


def test_unknown_part_is_refused_with_its_line(known: Knowledge) -> None:
    """Tests that a part kind the pack lacks is named with place and mend."""
    with pytest.raises(JobFileError, match=r"job\.yaml:2: there is no part kind 'moter'.*motor"):
        situation(known, "aboard: [moter]")


def test_what_hides_today_is_told(known: Knowledge) -> None:
    """Tests P(something is wrong that would not show): more where it comes and goes."""
    bunched = advice(known, "reported: [out_of_balance]", "how_often: sometimes").not_showing
    drained = advice(known, "reported: [wont_drain]", "how_often: every time").not_showing
    assert 0.0 < drained < bunched < 1.0


def test_advice_on_shipped_packs(shipped: LoadedPack) -> None:
    """Tests that every condition reported alone gives whole advice that JSON can hold."""
    known = Knowledge(shipped.pack, shipped.model, None)
    for condition in list(shipped.pack.conditions)[::5]:
        told = advise(parse_job(f"family: any\nreported: [{condition}]\n"), known, 300)
        assert told.steps
        data = as_data(told)
        assert isinstance(data["left_out"], float)
        assert np.isfinite([s.expected_cost for s in told.steps]).all()


def test_the_plate_and_what_was_told_can_disagree() -> None:
    """Tests that a drive told against the model's plate is named as a disagreement."""
    source = parse_job(
        "model: aldermoor-tern\nreported: [wont_drain]\nage_years: 4\nvariants: {drive: belt}\n"
    )
    with pytest.raises(FactsDisagreeError) as caught:
        advise(source, knowledge_of_model("aldermoor-tern"), 300)
    assert caught.value.facts == ("drive: floating-basket", "drive: belt")
