"""Practice: the same seed hides the same fault, steps answer, and the bill is fair."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.errors import UnknownNameError
from tubside.service.knowledge import knowledge_of_family
from tubside.service.practice import (
    Level,
    Practice,
    begin,
    follow,
    given_up,
    name_of,
    named_step,
    open_steps,
    title_of,
)
from tubside.service.practice_told import done_steps, review
from tubside.trial.job import Order
from tubside.trial.policies import Advised

KNOWN = knowledge_of_family("top_load")


def started(level: Level = 1, seed: int = 3) -> Practice:
    """Return a practice that has just begun."""
    return begin(KNOWN, level, seed)


def test_the_same_seed_hides_the_same_fault() -> None:
    """Tests that a practice depends on level and seed alone."""
    assert started().hidden == started().hidden
    assert len({started(seed=seed).hidden for seed in range(6)}) > 1


@pytest.mark.parametrize("level", [1, 2, 3])
def test_levels_hide_what_they_say(level: Level) -> None:
    """Tests that level 1 and 2 hide one fault that shows, and 3 something harder."""
    for seed in range(6):
        practice = started(level, seed)
        there = np.flatnonzero(practice.call.causes)
        assert len(there) >= 1
        if level < 3:
            assert len(there) == 1
            assert KNOWN.model.shows[there[0]] >= 0.9
        else:
            rare = (KNOWN.model.prior.odds > KNOWN.model.prior.odds[there].min()).sum() >= 8
            assert len(there) == 2 or KNOWN.model.shows[there[0]] < 0.9 or rare


def test_steps_in_a_link_lead_to_the_same_place() -> None:
    """Tests that steps followed one by one or together give the same job."""
    practice = started()
    first = name_of(KNOWN, open_steps(practice)[0])
    one = follow(follow(practice, [first]), ["visit"])
    both = follow(practice, [first, "visit"])
    assert one.job.cost == both.job.cost
    assert done_steps(one) == done_steps(both)
    assert [step.name for step in done_steps(both)] == [first, "visit"]


def test_a_step_that_cannot_be_done_is_refused() -> None:
    """Tests that an unknown step, and one done before, are refused with what there is."""
    practice = started()
    with pytest.raises(UnknownNameError, match="no step 'polish'"):
        named_step(practice, "polish")
    first = name_of(KNOWN, open_steps(practice)[0])
    with pytest.raises(UnknownNameError, match="can be done now"):
        follow(practice, [first, first])


def test_readings_come_as_numbers_with_units() -> None:
    """Tests that a check that measures answers with a number in the pack's unit."""
    there = follow(started(2, 4), ["visit"])
    number = next(
        step
        for step in open_steps(there)
        if step.kind == "check" and KNOWN.model.checks[step.index].reading is not None
    )
    reading = KNOWN.model.checks[number.index].reading
    assert reading is not None
    came = done_steps(follow(there, [name_of(KNOWN, number)]))[-1].came
    assert reading.unit in came or "reading" in came or "measured" in came


def test_giving_up_ends_with_the_bill() -> None:
    """Tests the review: what it was, the bill, and what giving up cost beyond the best step."""
    practice = follow(started(), ["visit"])
    practice = follow(practice, [name_of(KNOWN, given_up(practice))])
    assert practice.over
    assert open_steps(practice) == []
    told = review(practice)
    assert told.hidden == tuple(KNOWN.pack.causes[name].title for name in practice.hidden)
    assert told.cost > told.known_cost
    assert told.advised_cost > 0.0
    assert told.advised_steps
    assert told.steps[0].title == "drive there"
    assert told.steps[-1].dearer > 0.0
    assert all(step.dearer >= 0.0 for step in told.steps)


def test_following_the_advice_is_as_good_as_the_best() -> None:
    """Tests that the advised first step is not called dearer than itself."""
    practice = started(1, 5)
    step = Advised().choose(practice.job)
    practice = follow(practice, [name_of(KNOWN, step)])
    while not practice.over:
        practice = follow(practice, [name_of(KNOWN, given_up(practice))])
    assert review(practice).steps[0].dearer == pytest.approx(0.0, abs=0.5)


def test_an_order_is_called_by_its_parts() -> None:
    """Tests that parts ordered by the advised plan are told as such, not as a stop."""
    order = Order("order", 0, 0.0, 0.0, 0.0, parts=(1, 0))
    first, second = (KNOWN.pack.parts[KNOWN.model.names.parts[n]].title for n in (1, 0))
    assert title_of(KNOWN, order) == f"order: {first}, {second}"
    assert name_of(KNOWN, order) == "order"
