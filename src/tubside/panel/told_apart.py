"""Which indications a customer takes for one another, and what to ask to tell them apart.

The chance of taking one for the other is that of :mod:`tubside.panel.distance`. A
question is one lamp or the sound, looked at afresh and told once more: its row counts
a second time. A second look is taken to err by itself, which is kinder than the truth
for a customer who miscounts the same way again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from tubside.panel.display import display_row
from tubside.panel.distance import confusion, mistaken
from tubside.panel.lights import Light, Sound
from tubside.panel.misreading import (
    RATES,
    Floats,
    MisreadRates,
    Observer,
    lamp_row,
    sound_row,
)
from tubside.panel.schema import Panel

HARD = 0.1
"""From this chance on a pair is named as one that cannot be told apart (by judgement)."""


@dataclass(frozen=True, slots=True)
class Question:
    """What to look at again, a lamp's id where it is one, and the two answers."""

    at: Literal["lamp", "sound", "display"]
    lamp: str | None
    answers: tuple[str, str]
    words: str


@dataclass(frozen=True, slots=True)
class ToldApart:
    """One pair: how often one is taken for the other, before and after the question."""

    first: str
    second: str
    chance: float
    exact: bool
    question: Question
    after: float

    @property
    def hard(self) -> bool:
        """Whether a report of one cannot be trusted not to be the other."""
        return self.chance >= HARD


def told_apart(
    panel: Panel,
    observer: Observer = "customer",
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> list[ToldApart]:
    """Every pair of the panel's indications, the worst first, with its best question."""
    pairs = combinations(panel.indications, 2)
    found = [_told(panel, pair, observer, rates) for pair in pairs]
    return sorted(found, key=lambda told: (-told.chance, told.first, told.second))


def _told(
    panel: Panel,
    pair: tuple[str, str],
    observer: Observer,
    rates: Mapping[Observer, MisreadRates],
) -> ToldApart:
    """The question is the one after which the fewest are still mistaken."""
    slips = rates[observer]
    before = confusion(panel, pair, observer, rates)
    rows = {question: _rows(panel, pair, question, slips) for question in _questions(panel, pair)}
    ways = list(rows.values())
    after = {question: mistaken([asked, *ways], slips) for question, asked in rows.items()}
    best = min(after, key=lambda question: after[question][0])
    return ToldApart(*pair, before.chance, before.exact, best, after[best][0])


def _rows(
    panel: Panel, pair: tuple[str, str], question: Question, slips: MisreadRates
) -> tuple[Floats, Floats]:
    if question.at == "display":
        texts = [panel.indications[name].display for name in pair]
        return display_row(texts[0], panel, slips), display_row(texts[1], panel, slips)
    if question.lamp is None:
        here, there = (panel.indications[name].sound for name in pair)
        return sound_row(here, slips), sound_row(there, slips)
    lights = [panel.indications[name].light(question.lamp) for name in pair]
    first, second = (lamp_row(light, slips, counts=panel.counts) for light in lights)
    return first, second


def _questions(panel: Panel, pair: tuple[str, str]) -> list[Question]:
    """A question for each lamp that differs, and for sound and display where they do."""
    one, other = (panel.lights(name) for name in pair)
    found = [
        _about_lamp(lamp, panel.lamps[lamp].label, (one[lamp], other[lamp]))
        for lamp in panel.lamps
        if one[lamp] != other[lamp]
    ]
    here, there = (panel.indications[name].sound for name in pair)
    if here != there:
        found.append(_about_sound(here, there))
    texts = [panel.indications[name].display for name in pair]
    return [*found, *([_about_display(*texts)] if texts[0] != texts[1] else [])]


def _about_lamp(lamp: str, label: str, lights: tuple[Light, Light]) -> Question:
    first, second = (str(light) for light in lights)
    if all(light.kind == "blinks" for light in lights):
        words = f"Count the blinks of lamp {label} between two long gaps: {first}, or {second}?"
    else:
        words = f"Look at lamp {label} again for ten seconds: {first}, or {second}?"
    return Question("lamp", lamp, (first, second), words)


def _about_sound(here: Sound, there: Sound) -> Question:
    first, second = ("no sound" if sound == "none" else sound for sound in (here, there))
    words = f"Listen for a whole minute: {first}, or {second}?"
    return Question("sound", None, (first, second), words)


def _about_display(here: str | None, there: str | None) -> Question:
    first, second = (text or "something else" for text in (here, there))
    words = f"Read what stands on the display, sign by sign: {first}, or {second}?"
    return Question("display", None, (first, second), words)
