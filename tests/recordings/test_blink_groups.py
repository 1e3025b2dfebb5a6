"""Regular groups of blinks, found in frames that each speak for or against a lit lamp."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.recordings.blink_groups import Groups, best_groups
from tubside.recordings.rhythms import blink_counts


@pytest.mark.parametrize("seen", [1.0, 0.4])
@pytest.mark.parametrize(
    ("count", "blink_s", "group_s"),
    [(2, 0.45, 1.9), (3, 0.4, 2.2), (4, 0.36, 2.4), (6, 0.31, 2.9)],
)
def test_groups_are_found(count: int, blink_s: float, group_s: float, seen: float) -> None:
    """Tests the count and times of groups, also where only some frames catch the lamp."""
    true = Groups(0.0, count, blink_s, 0.5, group_s, 0.37)
    t = np.arange(240) / 30
    lit = true.lit_at(t)
    caught = np.random.default_rng(count).random(240) < seen
    nats = np.where(caught, np.where(lit, 6.0, -6.0), 0.0)
    found = best_groups(t, nats)
    assert found is not None
    assert found.gain >= 0.85 * nats[lit].sum()
    assert (found.lit_at(t) == lit).mean() > 0.88
    assert found.count == count
    assert found.blink_s == pytest.approx(blink_s, rel=0.06)
    assert found.group_s == pytest.approx(group_s, rel=0.03)
    assert set(blink_counts(t, found.lit_at(t)).counts) == {count}


def test_groups_cost_too_much_where_there_are_none() -> None:
    """Tests a lamp without light, and one that lights at random and gains little by groups."""
    t = np.arange(240) / 30
    assert best_groups(t, np.full(240, -6.0)) is None
    random = np.where(np.random.default_rng(2).random(240) < 0.5, 6.0, -6.0)
    found = best_groups(t, random)
    assert found is None or found.gain < 0.35 * random[random > 0].sum()
