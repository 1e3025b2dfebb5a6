"""Tests of P(facts | hypothesis), against writing out which conditions are on."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tubside.diagnosis.evidence import Answer, Evidence, FirstComplaint, Symptom
from tubside.diagnosis.hypotheses import follow
from tubside.diagnosis.likelihood import (
    MENTIONED,
    NAMED_FIRST,
    complaint_terms,
    first_table,
    heard_of,
    log_likelihood,
    mentioned,
    told,
)
from tubside.diagnosis.states import seen_table
from tubside.pack.fault_model import Floats

MODEL = made_model(Shape(causes=4, conditions=6, findings=6, seed=3))
SETS = every_set(4)
STOPPING = MODEL.complaint.stopping
STAGE = MODEL.complaint.stage


def patterns(off: Floats, first: int) -> list[tuple[tuple[bool, ...], float]]:
    """Return what may be on given that ``first`` came first, with its chance."""
    found = []
    for later in product((False, True), repeat=len(off) - first - 1):
        on = (*([False] * first), True, *later)
        chance = np.prod([1 - off[k] if on[k] else off[k] for k in range(first + 1, len(off))])
        found.append((on, float(chance)))
    return found


def test_first_row_of_a_healthy_machine_is_its_own() -> None:
    """Tests that hypotheses without a cause have the pack's rows of complaints."""
    first, _ = first_table(MODEL, SETS)
    assert first[:2] == pytest.approx(MODEL.complaint.healthy)
    assert first.sum(axis=1) == pytest.approx(np.ones(len(SETS)), abs=1e-13)


def test_panel_shows_the_first_stop() -> None:
    """Tests that the panel speaks of the first stopping condition from the complaint on."""
    rng = np.random.default_rng(0)
    panel, nothing = rng.random(6), 0.3
    complaint = FirstComplaint(np.ones(6), panel=panel, panel_none=nothing)
    first, off = first_table(MODEL, SETS)
    terms = complaint_terms(MODEL, complaint, SETS) / first
    for row in range(0, len(SETS), 4):
        for condition in range(6):
            wanted = 0.0
            for on, chance in patterns(off[row], condition):
                stops = [k for k in range(6) if on[k] and STOPPING[k]]
                wanted += chance * (panel[stops[0]] if stops else nothing)
            assert terms[row, condition] == pytest.approx(wanted, abs=1e-13)


@pytest.mark.parametrize("symptom", range(6))
def test_symptom_is_heard_unless_its_stage_was_hidden(symptom: int) -> None:
    """Tests a report of one condition beside each first one: on, off, or never reached."""
    complaint = FirstComplaint(np.ones(6), symptoms=(Symptom(symptom, 0.9, 0.1),))
    first, off = first_table(MODEL, SETS)
    terms = complaint_terms(MODEL, complaint, SETS) / first
    for row in range(0, len(SETS), 4):
        for condition in range(6):
            hidden = STOPPING[condition] and STAGE[symptom] > STAGE[condition]
            wanted = 0.0
            for on, chance in patterns(off[row], condition):
                heard = on[symptom] and not hidden
                wanted += chance * (0.9 if heard else 0.1)
            assert terms[row, condition] == pytest.approx(wanted, abs=1e-13)


def test_one_condition_named_is_how_it_is_said() -> None:
    """Tests that naming one condition has the chances of the words, summing to one."""
    _, off = first_table(MODEL, SETS)
    rows = [
        np.broadcast_to(told(MODEL, FirstComplaint(np.ones(6), reported=(k,)), off), off.shape)
        for k in range(6)
    ]
    assert np.sum(rows, axis=0) == pytest.approx(np.ones_like(off), abs=1e-13)
    assert rows[2][0] == pytest.approx(MODEL.complaint.said[:, 2])


def test_of_several_named_one_came_first() -> None:
    """Tests three conditions named: each may be the first, the others beside it."""
    _, off = first_table(MODEL, SETS)
    said = MODEL.complaint.said
    found = told(MODEL, FirstComplaint(np.ones(6), reported=(4, 1, 5)), off)
    beside = {k: heard_of(MODEL, k, *mentioned(MODEL, k)).given(off) for k in (4, 1, 5)}
    wanted = NAMED_FIRST * said[:, 4] * beside[1] * beside[5]
    wanted += (1 - NAMED_FIRST) / 2 * said[:, 1] * beside[4] * beside[5]
    wanted += (1 - NAMED_FIRST) / 2 * said[:, 5] * beside[4] * beside[1]
    assert found == pytest.approx(wanted, abs=1e-15)


def test_mention_and_answer_on_a_condition_are_one_report() -> None:
    """Tests that a mention and what was asked multiply while the condition is on or off."""
    _, off = first_table(MODEL, SETS)
    asked = FirstComplaint(np.ones(6), reported=(1, 4), symptoms=(Symptom(4, 0.98, 0.02, 1),))
    if_on, if_off = mentioned(MODEL, 4)
    both = heard_of(MODEL, 4, if_on * 0.98, if_off * 0.02).given(off)
    beside = heard_of(MODEL, 1, *mentioned(MODEL, 1)).given(off)
    alone = heard_of(MODEL, 4, 0.98, np.full(6, 0.02)).given(off)
    said = MODEL.complaint.said
    wanted = NAMED_FIRST * said[:, 1] * both + (1 - NAMED_FIRST) * said[:, 4] * beside * alone
    assert told(MODEL, asked, off) == pytest.approx(wanted, abs=1e-15)


def test_mention_is_likelier_of_what_is_on() -> None:
    """Tests that a mention never leaves the range from off to on, and rises with being on."""
    _, off = first_table(MODEL, SETS)
    for condition in range(6):
        chance = heard_of(MODEL, condition, *mentioned(MODEL, condition)).given(off)
        assert chance.min() >= MENTIONED[1]
        assert chance.max() <= MENTIONED[0]
        assert chance[:, condition] == pytest.approx(np.full(len(SETS), MENTIONED[0]))


def test_facts_multiply() -> None:
    """Tests that looks and the complaint are independent given the set."""
    complaint = FirstComplaint(np.ones(6), reported=(3,))
    answers = (Answer(0, 1, 1, 0), Answer(2, 0, 0, 0))
    rows = follow(Evidence(), SETS)
    found = log_likelihood(MODEL, Evidence(complaint=complaint, answers=answers), rows)
    wanted = first_table(MODEL, SETS)[0] @ MODEL.complaint.said[:, 3]
    for finding, likelihood in ((0, [0.02, 0.98]), (2, [0.9, 1 / 30, 1 / 30, 1 / 30])):
        wanted = wanted * (seen_table(MODEL, finding, SETS.members) @ likelihood)
    assert np.exp(found) == pytest.approx(wanted, rel=1e-12)


def test_no_call_is_divided_without_a_complaint() -> None:
    """Tests that without complaint, remedy or how often nothing is said of the call."""
    rows = follow(Evidence(), SETS)
    assert np.array_equal(log_likelihood(MODEL, Evidence(), rows), np.zeros(len(SETS)))
