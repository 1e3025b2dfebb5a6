"""How often two indications are taken for each other, against plain enumeration."""

from __future__ import annotations

from itertools import combinations, product

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.panel import distance
from tubside.panel.distance import confusion, confusions, hard_to_tell
from tubside.panel.lights import FLASHING, OFF, SOUNDS, STEADY, Light, Sound, blinks
from tubside.panel.matching import Seen, likelihoods
from tubside.panel.misreading import RATES, Observer, lamp_row, sayable, sound_row
from tubside.panel.schema import Panel
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of


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


LIGHTS = st.sampled_from([OFF, STEADY, FLASHING, blinks(2), blinks(3), blinks(12)])
LOOK = st.tuples(LIGHTS, LIGHTS, st.sampled_from(SOUNDS))


@given(
    st.lists(LOOK, min_size=2, max_size=3, unique=True), st.sampled_from(["customer", "technician"])
)
@settings(max_examples=12, deadline=None)
def test_any_small_panel_by_enumeration(
    looks: list[tuple[Light, Light, Sound]], observer: Observer
) -> None:
    """Tests every pair of panels drawn at random against all that can be said of them.

    The observer names the likelier of two; ties are a toss. So the chance to be wrong is
    summed over every saying, with the rows of lamps and sounds multiplied here by hand.
    """
    panel = made(looks)
    rates = RATES[observer]
    words = sayable(counts=panel.counts)
    own = [
        np.einsum(
            "a,b,s->abs",
            lamp_row(first, rates, counts=panel.counts),
            lamp_row(second, rates, counts=panel.counts),
            sound_row(sound, rates),
        )
        for first, second, sound in looks
    ]
    assert own[0].shape == (len(words), len(words), len(SOUNDS))
    mixed = rates.another_message * sum(own) / len(own)
    rows = [(1 - rates.another_message) * row + mixed for row in own]
    for (n, one), (m, other) in combinations(enumerate(rows), 2):
        wrong = np.where(one > other, other, np.where(other > one, one, (one + other) / 2)) / 2
        found = confusion(panel, (f"look-{n}", f"look-{m}"), observer)
        assert found.exact
        assert found.chance == pytest.approx(float(wrong.sum()), abs=1e-12)


def made(looks: list[tuple[Light, Light, Sound]]) -> Panel:
    """A panel of two lamps that shows these."""
    sketch = Sketch(
        name="Small",
        family="front_load",
        lamps=(SketchLamp(label="a", x=0.2, y=0.5), SketchLamp(label="b", x=0.8, y=0.5)),
        indications=tuple(
            SketchIndication(lamps={"0": str(a), "1": str(b)}, conditions=[], sound=sound)
            for a, b, sound in looks
        ),
    )
    drawn = panel_of(sketch)
    shown = {f"look-{n}": it for n, it in enumerate(drawn.indications.values())}
    return msgspec.structs.replace(drawn, indications=shown)
