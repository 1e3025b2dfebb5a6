"""Pairs told apart and the question that helps most, against plain enumeration."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product

import pytest

from tubside.panel.lights import SOUNDS
from tubside.panel.matching import Seen, likelihoods
from tubside.panel.misreading import RATES, lamp_row, sayable, sound_row
from tubside.panel.schema import Panel
from tubside.panel.told_apart import HARD, told_apart

SLIPS = RATES["customer"]


def rows_of(panel: Panel, name: str) -> list[Sequence[float]]:
    """P(said | indication) of each lamp and of the sound, one by one."""
    lights = panel.lights(name)
    lamps = [[*lamp_row(lights[lamp], SLIPS, counts=panel.counts)] for lamp in panel.lamps]
    return [*lamps, [*sound_row(panel.indications[name].sound, SLIPS)]]


def enumerated(panel: Panel, pair: tuple[str, str], asked: int) -> float:
    """The chance with one lamp or the sound told twice, over all that can be said."""
    both = [rows_of(panel, name) for name in pair]
    sayings = [range(len(row)) for row in both[0]] + [range(len(both[0][asked]))]
    overlap = 0.0
    for said in product(*sayings):
        chances = []
        for rows in both:
            value = rows[asked][said[-1]]
            for row, word in zip(rows, said[:-1], strict=True):
                value *= row[word]
            chances.append(value)
        overlap += min(chances)
    kept = 1 - SLIPS.another_message
    return (kept * overlap + SLIPS.another_message) / 2


def test_before_the_question(small: Panel) -> None:
    """Tests the chance of each pair against all that matching can be told."""
    words = sayable(counts=True)
    rows = [
        likelihoods(small, Seen({"a": a, "b": b}, sound), "customer")
        for a, b, sound in product(words, words, SOUNDS)
    ]
    found = {(told.first, told.second): told for told in told_apart(small)}
    assert set(found) == set(combinations(small.indications, 2))
    for pair, told in found.items():
        overlap = sum(min(row[pair[0]], row[pair[1]]) for row in rows)
        assert told.exact
        assert told.chance == pytest.approx(overlap / 2, abs=1e-12)
        assert told.hard == (told.chance >= HARD)


def test_the_best_question(small: Panel) -> None:
    """Tests that no other lamp or sound, asked again, would leave fewer mistaken."""
    places = [*small.lamps, None]
    for told in told_apart(small)[:2]:
        after = [enumerated(small, (told.first, told.second), n) for n in range(len(places))]
        assert told.after == pytest.approx(min(after), abs=1e-12)
        assert after[places.index(told.question.lamp)] == pytest.approx(min(after), abs=1e-12)
        assert told.after < told.chance


def test_counts_are_counted_again(tern: Panel) -> None:
    """Tests that near counts come first, with a question that names both."""
    worst = told_apart(tern)[0]
    assert {worst.first, worst.second} == {"eight", "nine"}
    assert worst.hard
    assert worst.question.lamp == "pause"
    assert worst.question.words.startswith("Count the blinks of lamp pause")
    assert "8 blinks, or 9 blinks" in worst.question.words


def test_lamps_are_looked_at_again(wren: Panel) -> None:
    """Tests the words for a lamp that does not count, and that six dots are told apart."""
    for told in told_apart(wren):
        assert not told.hard
        if told.question.lamp is not None:
            assert told.question.words.startswith("Look at lamp")
        else:
            assert told.question.words.startswith("Listen")
