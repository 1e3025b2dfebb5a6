"""How often two indications are taken for each other, against plain enumeration."""

from __future__ import annotations

from itertools import combinations, product

import pytest

from tubside.panel import distance
from tubside.panel.distance import confusion, confusions, hard_to_tell
from tubside.panel.lights import SOUNDS
from tubside.panel.matching import Seen, likelihoods
from tubside.panel.misreading import sayable
from tubside.panel.schema import Panel


def test_agrees_with_the_rows(small: Panel) -> None:
    """Tests that the chance is half the overlap of the rows that matching gives."""
    words = sayable(counts=True)
    rows = [
        likelihoods(small, Seen({"a": a, "b": b}, sound), "customer")
        for a, b, sound in product(words, words, SOUNDS)
    ]
    for pair in combinations(small.indications, 2):
        overlap = sum(min(row[pair[0]], row[pair[1]]) for row in rows)
        found = confusion(small, pair, "customer")
        assert found.exact
        assert found.chance == pytest.approx(overlap / 2, abs=1e-12)


def test_worst_first_and_near_counts_are_worst(tern: Panel) -> None:
    """Tests the order of pairs, and that the worst differ by one blink."""
    found = confusions(tern, "customer")
    assert len(found) == 45
    chances = [pair.chance for pair in found]
    assert chances == sorted(chances, reverse=True)
    assert {found[0].first, found[0].second} == {"eight", "nine"}
    assert all(pair.chance >= 0.1 for pair in hard_to_tell(tern, "customer"))
    assert hard_to_tell(tern, "technician", 0.05) == []


def test_a_large_panel_errs_high(small: Panel, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that leaving lamps out for size never understates the chance, and says so."""
    exact = confusion(small, ("fill", "drain"), "customer")
    monkeypatch.setattr(distance, "LARGEST", 20)
    rough = confusion(small, ("fill", "drain"), "customer")
    assert not rough.exact
    assert rough.chance > exact.chance


def test_equal_rows_are_a_toss(small: Panel) -> None:
    """Tests that an indication compared with itself is named wrongly half the time."""
    assert confusion(small, ("fill", "fill"), "customer").chance == pytest.approx(0.5)
