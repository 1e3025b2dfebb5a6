"""Simulated calls: drawn as the tables say, and the same for every policy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import Shape, made_model
from tubside.diagnosis.evidence import confusion
from tubside.diagnosis.facts import Reported
from tubside.diagnosis.hypotheses import Sets
from tubside.diagnosis.likelihood import first_table
from tubside.diagnosis.states import seen_table
from tubside.pack.fault_model import FaultModel
from tubside.pack.prior import main_shares
from tubside.trial.answering import NOTHING_LEARNED, Machine, Remembered, answer, treat
from tubside.trial.call import Call, draw_call, draw_set, drawable
from tubside.trial.chance import Chance

MODEL = made_model(Shape(causes=6, axis=True, leads=False, seed=3))
CALLS = 3000


def call(number: int, model: FaultModel = MODEL) -> tuple[Sets, Call, Chance]:
    """Return one call of this model: its causes, what was told, its random numbers."""
    chance = Chance(11, number)
    one = draw_set(drawable(model), chance)
    return one, draw_call(model, one, chance), chance


def four_errors(share: float) -> float:
    """Return four standard errors of a share over all calls."""
    return 4.0 * float(np.sqrt(share * (1.0 - share) / CALLS)) + 1e-9


def test_an_event_has_one_number() -> None:
    """Tests that a number depends on seed, call and event, and on nothing else."""
    chance = Chance(1, 2)
    before = chance.at("answer", 3)
    chance.at("something else")
    assert chance.at("answer", 3) == before
    others = {
        Chance(2, 2).at("answer", 3),
        Chance(1, 3).at("answer", 3),
        chance.at("answer", 4),
        chance.at("rerun", 3),
    }
    assert before not in others
    assert len(others) == 4


def test_numbers_are_uniform() -> None:
    """Tests that the numbers of many calls fill [0, 1) evenly, in tenths."""
    numbers = np.array([Chance(5, call).at("state", 1) for call in range(CALLS)])
    tenths = np.bincount((numbers * 10).astype(int), minlength=10) / CALLS
    assert np.abs(tenths - 0.1).max() < four_errors(0.1)


def test_a_pick_follows_its_weights() -> None:
    """Tests that indices come in the shares of their weights, and never one without weight."""
    weights = np.array([0.0, 3.0, 1.0, 0.0])
    found = [Chance(1, call).pick(weights, "x") for call in range(CALLS)]
    shares = np.bincount(found, minlength=4) / CALLS
    assert shares[[0, 3]].tolist() == [0.0, 0.0]
    assert abs(shares[1] - 0.75) < four_errors(0.75)


def test_calls_have_the_weights_of_the_pack() -> None:
    """Tests that causes, healthy calls and second faults come as often as the prior says."""
    drawn = drawable(MODEL)
    sets = [call(number)[0] for number in range(CALLS)]
    members = np.array([one.members[0] for one in sets])
    wanted = drawn.weights @ drawn.sets.members / drawn.weights.sum()
    shares = members.mean(axis=0)
    for share, want in zip(shares, wanted, strict=True):
        assert abs(share - want) < four_errors(float(want))
    _, several = main_shares(MODEL.prior)
    two = float((members.sum(axis=1) == 2).mean())
    assert abs(two - (several - drawn.left_out)) < four_errors(several)
    assert 0.0 < drawn.left_out < 0.01


def test_calls_are_told_as_the_tables_say() -> None:
    """Tests that conditions are reported as often as the model's own chances say."""
    expected = np.zeros(len(MODEL.complaint.leak))
    counts = np.zeros_like(expected)
    for number in range(CALLS):
        one, told, _ = call(number)
        expected += first_table(MODEL, one)[0][0] @ MODEL.complaint.said
        coded = told.facts[0].coded
        assert isinstance(coded, Reported)
        counts[coded.condition] += 1
    for want, got in zip(expected / CALLS, counts / CALLS, strict=True):
        assert abs(want - got) < four_errors(float(want))


def test_only_present_causes_raise_a_complaint() -> None:
    """Tests that what raised the complaint is there, and that nothing did on a sound machine."""
    for number in range(300):
        one, told, _ = call(number)
        assert not (told.raised & ~one.members[0]).any()
        if told.healthy >= 0:
            assert not told.raised.any()


def machine_with(cause: int, number: int) -> Machine:
    """Return a machine with one cause that raised its complaint."""
    members = np.arange(MODEL.n_causes) == cause
    one = Sets(members[None, :], np.array([-1]))
    chance = Chance(2, number)
    told = replace(draw_call(MODEL, one, chance), raised=members)
    return Machine(MODEL, told, chance, members)


def test_answers_err_as_often_as_the_pack_says() -> None:
    """Tests that what is said has the shares of the state seen through the observer's error."""
    model = MODEL
    check = next(n for n, c in enumerate(model.checks) if c.finding >= 0 and 0 in c.by)
    finding = model.findings[model.checks[check].finding]
    cause = int(finding.touched[0])
    said = [answer(machine_with(cause, number), check, 1, None) for number in range(CALLS)]
    heard = np.array([one for one in said if one != NOTHING_LEARNED])
    assert abs((len(said) - len(heard)) / CALLS - 0.01) < four_errors(0.01)
    row = seen_table(model, model.checks[check].finding, machine_with(cause, 0).left[None, :])[0]
    errors = confusion(len(row), model.checks[check].error[1], graded=finding.graded)
    for outcome, want in enumerate(row @ errors):
        assert abs((heard == outcome).mean() - want) < four_errors(float(want)) * 1.1


def test_a_look_at_the_same_state_repeats_itself() -> None:
    """Tests that a second answer repeats the first with the pack's chance at least."""
    check = next(n for n, c in enumerate(MODEL.checks) if c.finding >= 0)
    size = len(MODEL.findings[MODEL.checks[check].finding].healthy)
    before = Remembered(size - 1, 0)
    said = [answer(machine_with(0, number), check, 1, before) for number in range(CALLS)]
    same = float(np.mean([one == size - 1 for one in said]))
    assert same > MODEL.repeat_errs_same * 0.99 - four_errors(MODEL.repeat_errs_same)


@pytest.mark.parametrize("clears", [0.0, 0.4, 1.0])
def test_a_remedy_clears_as_often_as_it_says(clears: float) -> None:
    """Tests that a cause goes with the remedy's chance, and another never does."""
    chance = np.where(np.arange(MODEL.n_causes) == 2, clears, 0.0)
    after = [treat(machine_with(2, n), chance, "remedy", 0).machine for n in range(CALLS)]
    gone = float(np.mean([one.sound for one in after]))
    assert abs(gone - clears) < four_errors(clears)
    other = treat(machine_with(1, 0), chance, "remedy", 0).machine
    assert other.left[1]


def test_a_fault_that_is_left_shows_as_often_as_it_does() -> None:
    """Tests that the re-run fails with the chance that the cause shows on one run."""
    cause = int(np.argmin(MODEL.shows))
    nothing = np.zeros(MODEL.n_causes)
    reruns = [treat(machine_with(cause, n), nothing, "remedy", 0).rerun for n in range(CALLS)]
    want = 1.0 - (1.0 - float(MODEL.shows[cause])) * 0.995
    assert abs(float(np.mean([one == 0 for one in reruns])) - want) < four_errors(want)
