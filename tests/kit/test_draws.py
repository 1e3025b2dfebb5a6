"""Tests of the draws of what jobs need."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.errors import KitError
from tubside.kit.draws import LEAST, drawn_needs, together
from tubside.service.advise import advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of


def test_every_need_comes_as_often_as_it_should() -> None:
    """Tests that needs are dealt out evenly, to within one scenario."""
    needs = together([[{0: 1}, {1: 1}, {}], [{0: 2}]], 2, 100, 5)
    counts = [(needs[0, :, part] > 0).sum() for part in (0, 1)]
    assert all(abs(count - 100 / 3) <= 1 for count in counts)
    assert (needs[1, :, 0] == 2).all()


def test_jobs_are_drawn_apart() -> None:
    """Tests that two alike jobs do not need the part in the same scenarios."""
    alike = [{0: 1}, {}]
    needs = together([alike, alike], 1, 400, 5)
    both = (needs.min(axis=0) > 0).mean()
    assert both == pytest.approx(0.25, abs=0.08)


def test_more_needs_than_scenarios() -> None:
    """Tests that each scenario takes another need when there are more of them."""
    needs = together([[{n: 1} for n in range(30)]], 30, 10, 5)
    assert needs.sum() == 10
    assert needs.max() == 1


def test_no_needs_are_refused() -> None:
    """Tests that a job without any set of parts is refused."""
    with pytest.raises(KitError, match="at least one set"):
        together([[]], 1, 10, 1)


def test_a_job_that_will_not_drain_may_need_the_pump() -> None:
    """Tests that the walks of a plan fit a pump now and then, and nothing that nobody wants."""
    source = parse_job("family: front_load\nreported: [wont_drain]\nwhere: phone\n")
    advice = advise(source, knowledge_of(source.job))
    facts = (advice.evidence, advice.belief, advice.situation)
    drawn = drawn_needs(advice.known.model, *facts)
    pump = advice.known.model.names.parts.index("drain-pump")
    share = np.mean([pump in need for need in drawn.needs])
    assert 0.02 < share < 0.8
    assert 0.0 < drawn.by_phone < 1.0
    assert drawn == drawn_needs(advice.known.model, *facts)
    assert len(drawn.needs) >= LEAST
