"""Regular groups of blinks, found in frames that each speak for or against a lit lamp."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tubside.recordings.blink_groups import Groups, best_groups
from tubside.recordings.rhythms import blink_counts


def frames(true: Groups, fps: float, seen: float, seed: int) -> tuple[NDArray[np.float64], ...]:
    """Return times and nats of a clip of eight seconds in which so many frames catch the lamp."""
    rng = np.random.default_rng(seed)
    t = np.arange(round(8 * fps)) / fps
    caught = rng.random(len(t)) < seen
    return t, np.where(caught, np.where(true.lit_at(t), 6.0, -6.0), 0.0)


@settings(max_examples=15, deadline=None)
@given(
    count=st.integers(2, 6),
    blink_s=st.floats(0.3, 0.7),
    gap_s=st.floats(1.0, 1.4),
    start_s=st.floats(0.0, 1.0),
    seen=st.sampled_from([1.0, 0.4]),
)
def test_groups_are_found(
    count: int, blink_s: float, gap_s: float, start_s: float, seen: float
) -> None:
    """Tests the count and times of groups of which only some frames catch anything."""
    true = Groups(0.0, count, blink_s, 0.5, (count - 0.5) * blink_s + gap_s, start_s)
    t, nats = frames(true, 30.0, seen, count)
    found = best_groups(t, nats)
    assert found is not None
    lit = true.lit_at(t)
    assert found.gain >= 0.8 * nats[lit].sum()
    assert (found.lit_at(t) == lit).mean() > 0.88
    if true.group_s < 2.6 and seen == 1.0:  # three groups, and every blink of them
        assert found.count == count
        assert found.blink_s == pytest.approx(blink_s, rel=0.05)
        assert found.group_s == pytest.approx(true.group_s, rel=0.02)
        counts = blink_counts(t, found.lit_at(t)).counts
        assert counts
        assert set(counts) == {count}


def test_groups_cost_too_much_where_there_are_none() -> None:
    """Tests a lamp without light, and one that lights at random and gains little by groups."""
    t = np.arange(240) / 30
    assert best_groups(t, np.full(240, -6.0)) is None
    random = np.where(np.random.default_rng(2).random(240) < 0.5, 6.0, -6.0)
    found = best_groups(t, random)
    assert found is None or found.gain < 0.35 * random[random > 0].sum()
