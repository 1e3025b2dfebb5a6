"""What stands on a display: told, weighed, and told apart."""

from __future__ import annotations

from itertools import product

import msgspec
import pytest

from tubside.panel.checking import PackNames, problems
from tubside.panel.display import display_row, place_of, texts_of
from tubside.panel.distance import confusion
from tubside.panel.drawing import indication_svg
from tubside.panel.lights import SOUNDS
from tubside.panel.matching import Seen, condition_likelihoods, likelihoods
from tubside.panel.misreading import RATES, sayable
from tubside.panel.schema import Panel
from tubside.panel.told_apart import told_apart


@pytest.fixture
def coded(small: Panel) -> Panel:
    """The small panel, where two indications differ by their display alone."""
    shown = dict(small.indications)
    shown["fill"] = msgspec.structs.replace(shown["fill"], display="E 18")
    twin = {"conditions": ["suds"], "display": "E 20"}
    shown["foam"] = msgspec.structs.replace(shown["fill"], **twin)
    return msgspec.structs.replace(small, indications=shown)


@pytest.mark.parametrize("shown", ["E 18", "e-20", None, "never taught"])
def test_rows_sum_to_one(coded: Panel, shown: str | None) -> None:
    """Tests that all that can be told of a display has a chance, and together one."""
    for rates in RATES.values():
        row = display_row(shown, coded, rates)
        assert len(row) == len(texts_of(coded)) + 1
        assert row.min() > 0
        assert row.sum() == pytest.approx(1)


def test_all_that_can_be_told_sums_to_one(coded: Panel) -> None:
    """Tests by enumeration that the display is one more thing told, misread by itself."""
    totals = dict.fromkeys(coded.indications, 0.0)
    words = sayable(counts=True)
    for a, b, sound, text in product(words, words, SOUNDS, ("E18", "E20", "other")):
        seen = Seen({"a": a, "b": b}, sound, text)
        for name, value in likelihoods(coded, seen, "customer").items():
            totals[name] += value
    assert list(totals.values()) == pytest.approx([1.0] * len(totals))


def test_the_text_decides(coded: Panel) -> None:
    """Tests that a code alone leads to what it means, however it is spelt."""
    for said, condition in (("e18", "no_water"), ("E-20", "suds")):
        found = condition_likelihoods(
            coded, Seen(display=said), "customer", ["no_water", "suds", "wont_drain"]
        )
        assert max(found, key=lambda name: found[name]) == condition
    assert place_of("E 21", coded) == 2
    nothing = likelihoods(coded, Seen(), "customer")
    assert list(nothing.values()) == pytest.approx([1.0] * len(nothing))


def test_told_apart_by_the_display(coded: Panel) -> None:
    """Tests the chance against the rows by hand, and the question that is asked."""
    slips = RATES["customer"]
    found = confusion(coded, ("fill", "foam"), "customer")
    wrong = slips.display_wrong
    overlap = wrong / 2 + wrong / 2 + wrong / 2
    by_hand = ((1 - slips.another_message) * overlap + slips.another_message) / 2
    assert found.chance == pytest.approx(by_hand)
    pair = next(it for it in told_apart(coded) if {it.first, it.second} == {"fill", "foam"})
    assert pair.question.at == "display"
    assert "E 18, or E 20" in pair.question.words
    assert pair.after < pair.chance


def test_checked(coded: Panel) -> None:
    """Tests that texts make indications differ, spelling does not, and a display is drawn."""
    names = PackNames({c for it in coded.indications.values() for c in it.conditions})
    assert list(problems(coded, names)) == []
    same = msgspec.structs.replace(coded.indications["foam"], display="e-18")
    twins = msgspec.structs.replace(coded, indications={**coded.indications, "foam": same})
    assert any("looks and sounds the same" in wrong.what for wrong in problems(twins, names))
    bare = msgspec.structs.replace(coded, drawing=msgspec.structs.replace(coded.drawing, shapes=[]))
    assert any("the front has none" in wrong.what for wrong in problems(bare, names))


def test_drawn(coded: Panel) -> None:
    """Tests that the text stands in the picture and in its title."""
    svg = indication_svg(coded, "foam")
    assert svg.count("E 20") >= 2
    assert "E 20" not in indication_svg(coded, "drain")
