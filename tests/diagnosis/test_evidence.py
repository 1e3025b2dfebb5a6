"""Tests of combining all reports of one state before it is summed out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from made_models import Shape, made_model
from tubside.diagnosis.evidence import (
    FAILS,
    Answer,
    Evidence,
    FirstComplaint,
    Symptom,
    Treatment,
    answer_vectors,
    axis_vectors,
    confusion,
    looks,
    symptom_reports,
    touched_before,
)
from tubside.pack.fault_model import FaultModel

CUSTOMER, TECHNICIAN = 0, 1


@pytest.fixture(scope="module")
def model() -> FaultModel:
    """An invented model whose checks err by 0.1 (customer) and 0.02 (technician)."""
    return made_model(Shape(causes=5, findings=6, seed=2))


@given(
    size=st.integers(2, 7), error=st.floats(0.0, 0.5), graded=st.booleans(), state=st.integers(0, 6)
)
def test_rows_of_confusion(size: int, error: float, graded: bool, state: int) -> None:
    """Tests that each row is a distribution, right with 1 - error."""
    table = confusion(size, error, graded=graded)
    assert table.sum(axis=1) == pytest.approx(np.ones(size), abs=1e-14)
    assert table.min() >= 0.0
    assert table[state % size, state % size] == pytest.approx(1.0 - error, abs=1e-14)


def test_slips_of_a_grade_go_to_neighbours() -> None:
    """Tests four grades by hand: slips of one and two steps weigh 1/4 and 1/16."""
    table = confusion(4, 0.21, graded=True)
    assert table[0] == pytest.approx([0.79, 0.16, 0.04, 0.01])
    assert table[1] == pytest.approx([0.28 / 3, 0.79, 0.28 / 3, 0.07 / 3])
    assert confusion(4, 0.21, graded=False)[0] == pytest.approx([0.79, 0.07, 0.07, 0.07])


def test_two_observers_multiply(model: FaultModel) -> None:
    """Tests that a customer's and a technician's answers are independent given the state."""
    both = [Answer(0, 0, CUSTOMER, 0), Answer(0, 1, TECHNICIAN, 0)]
    assert answer_vectors(model, both, 2, graded=True) == pytest.approx([0.9 * 0.02, 0.1 * 0.98])


def test_new_look_echoes_the_last(model: FaultModel) -> None:
    """Tests a second look: the same answer with 0.7, else one as from a first look."""
    first = Answer(0, 0, CUSTOMER, 0)
    again = replace(first, again=True)
    found = answer_vectors(model, [first, again], 2, graded=True)
    assert found == pytest.approx([0.9 * (0.7 + 0.3 * 0.9), 0.1 * (0.7 + 0.3 * 0.1)])
    other = answer_vectors(model, [first, replace(again, outcome=1)], 2, graded=True)
    assert other == pytest.approx([0.9 * 0.3 * 0.1, 0.1 * 0.3 * 0.9])


def test_second_looks_have_all_outcomes(model: FaultModel) -> None:
    """Tests that over what a second look may say the chances sum to those of the first."""
    first = Answer(1, 1, TECHNICIAN, 0)
    looks_again = [replace(first, outcome=k, again=True) for k in range(3)]
    total = sum(answer_vectors(model, [first, look], 3, graded=True) for look in looks_again)
    assert total == pytest.approx(answer_vectors(model, [first], 3, graded=True), abs=1e-15)


def test_changed_mind_counts_as_a_new_look(model: FaultModel) -> None:
    """Tests that another answer by the same observer needs no mark to count."""
    said = [Answer(0, 0, CUSTOMER, 0), Answer(0, 1, CUSTOMER, 0)]
    marked = [said[0], replace(said[1], again=True)]
    assert np.array_equal(
        answer_vectors(model, said, 2, graded=True), answer_vectors(model, marked, 2, graded=True)
    )


def test_another_check_of_the_finding_is_a_new_look(model: FaultModel) -> None:
    """Tests that two ways to look at one finding count as two looks, each of them once."""
    two = replace(model, checks=(*model.checks, model.checks[0]))
    number = len(model.checks)
    said = [Answer(0, 0, 1, 0), Answer(number, 0, 1, 0)]
    found = answer_vectors(two, said, 2, graded=True)
    assert found == pytest.approx([0.98 * (0.7 + 0.3 * 0.98), 0.02 * (0.7 + 0.3 * 0.02)])
    repeated = answer_vectors(two, [*said, *said], 2, graded=True)
    assert np.array_equal(repeated, found)


def test_looks_are_parted_by_remedies_that_touch(model: FaultModel) -> None:
    """Tests that a remedy dates later answers only if it touches what the finding shows."""
    touched = int(model.findings[0].touched[0])
    other = next(i for i in range(5) if i not in model.findings[0].touched)
    answers = (Answer(0, 0, 0, 0), Answer(0, 1, 1, 1))
    for cause, segments in ((touched, [0, 1]), (other, [0])):
        evidence = Evidence(answers=answers, treatments=(Treatment(np.eye(5)[cause] * 0.9, FAILS),))
        found = looks(model, evidence)
        assert [look.segment for look in found] == segments
        assert touched_before(model, evidence, 0, 1) == segments[-1]
    assert found[0].likelihood == pytest.approx([0.9 * 0.02, 0.1 * 0.98])


def test_variants_gather_answers_and_what_is_settled(model: FaultModel) -> None:
    """Tests an axis: answers err like those of kinds, what is settled multiplies."""
    check = len(model.checks) - 1
    settled = ((0, np.array([1.0, 0.5, 0.0])),)
    evidence = Evidence(answers=(Answer(check, 0, CUSTOMER, 0),), settled=settled)
    assert axis_vectors(model, evidence)[0] == pytest.approx([0.9, 0.5 * 0.05, 0.0])


def complaint(*symptoms: Symptom, reported: tuple[int, ...] = ()) -> FirstComplaint:
    """Return a complaint of which only these reports are known."""
    return FirstComplaint(np.ones(6), reported=reported, symptoms=symptoms)


def test_reports_of_a_condition_are_combined(model: FaultModel) -> None:
    """Tests that two observers' reports of one condition become one, others stay apart."""
    found = symptom_reports(
        model,
        complaint(
            Symptom(3, 0.92, 0.06), Symptom(1, 0.08, 0.94), Symptom(3, 0.98, 0.02, observer=1)
        ),
    )
    assert np.array(sorted(found)) == pytest.approx(
        np.array([[1, 0.08, 0.94], [3, 0.92 * 0.98, 0.06 * 0.02]])
    )


def test_repeated_report_needs_a_new_look(model: FaultModel) -> None:
    """Tests that a repeat adds nothing, a new look echoes, a changed mind counts."""
    yes, no = Symptom(3, 0.92, 0.06), Symptom(3, 0.08, 0.94)
    assert symptom_reports(model, complaint(yes, yes)) == symptom_reports(model, complaint(yes))
    (again,) = symptom_reports(model, complaint(yes, replace(yes, again=True)))
    assert again[1:] == pytest.approx((0.92 * (0.7 + 0.3 * 0.92), 0.06 * (0.7 + 0.3 * 0.06)))
    (changed,) = symptom_reports(model, complaint(yes, no))
    assert changed[1:] == pytest.approx((0.92 * 0.3 * 0.08, 0.06 * 0.3 * 0.94))


def test_asking_after_what_was_named_adds_nothing(model: FaultModel) -> None:
    """Tests that a customer's yes to what the customer named is no second report."""
    yes = Symptom(3, 0.92, 0.06)
    assert symptom_reports(model, complaint(yes, reported=(2, 3))) == []
    assert len(symptom_reports(model, complaint(yes, reported=(2,)))) == 1
    assert len(symptom_reports(model, complaint(replace(yes, observer=1), reported=(3,)))) == 1


def test_not_sure_is_no_report(model: FaultModel) -> None:
    """Tests that equal chances if on and off leave nothing, not even a first answer."""
    unsure, yes = Symptom(3, 1.0, 1.0), Symptom(3, 0.92, 0.06)
    assert symptom_reports(model, complaint(unsure)) == []
    assert symptom_reports(model, complaint(unsure, yes)) == symptom_reports(model, complaint(yes))
