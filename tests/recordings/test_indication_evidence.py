"""A read clip as evidence for a panel's indications, against sums done by hand."""

from __future__ import annotations

from math import log, pi, sqrt
from pathlib import Path

import pytest

from tubside.errors import UnknownNameError
from tubside.pack.reading import read_pack
from tubside.panel.reading import parse_panel, read_panel
from tubside.panel.schema import Panel
from tubside.recordings.indication_evidence import (
    condition_likelihoods_of_clip,
    indication_likelihoods,
)
from tubside.recordings.lamps_read import ReadLamp, ReadPanel

PACKS = Path(__file__).parents[2] / "packs"

TWO_LAMPS = """\
model: two-lamps
name: Two Lamps
family: top_load
about: Two lamps.
plate: {}
sources:
  own: {kind: invented, text: Only for tests.}
drawing:
  front: {width: 200, height: 100}
  shapes: []
lamps:
  a: {label: left, x: 100, y: 50, size: 14}
  b: {label: right, x: 160, y: 50, size: 14}
sounds: {}
indications:
  both: {conditions: [no_water], lamps: {a: steady, b: flashing}, sound: none, note: x, source: own,
         period_s: 1.0}
  three: {conditions: [suds], lamps: {a: 3 blinks}, sound: none, note: x, source: own,
          period_s: 0.9, gap_s: 3.0}
  dark: {conditions: [no_power], lamps: {}, sound: none, note: x, source: own}
"""


def lamp(off: float, steady: float, flashing: float, **more: object) -> ReadLamp:
    """Return a lamp of these likelihoods, its state the likeliest."""
    chance = {"off": off, "steady": steady, "flashing": flashing}
    state = max(chance, key=lambda name: chance[name]) if max(chance.values()) > 0.9 else "unknown"
    return ReadLamp(state, chance, **more)  # type: ignore[arg-type]  # fields by name


@pytest.fixture
def two() -> Panel:
    """Return a panel of two lamps."""
    return parse_panel(TWO_LAMPS, "two-lamps.yaml", ["no_water", "suds", "no_power"])


def panel_of(model: str, family: str) -> Panel:
    """Return a panel of the demo."""
    conditions = read_pack(PACKS / family).pack.conditions
    return read_panel(PACKS / family / "models" / f"{model}.yaml", conditions)


def test_hand_worked_numbers(two: Panel) -> None:
    """Tests the three indications against products written out.

    a: 0.02, 0.9, 0.08; b: 0.01, 0.04, 0.95, read as an even flash of 1.0 s. Own shares:
    both  0.9 x 0.95 x 0.97 x (0.8 / (0.1 sqrt(2 pi)) + 0.2 / ln 20);
    three 0.08 x 0.01 / ln 20: a is not read as flashing, so nothing is known of its count;
    dark  0.02 x 0.01 / ln 20. A hundredth of each is the mean of the three.
    """
    read = ReadPanel({"a": lamp(0.02, 0.9, 0.08), "b": lamp(0.01, 0.04, 0.95, period_s=1.0)}, ())
    both = 0.9 * 0.95 * 0.97 * (0.8 / (0.1 * sqrt(2 * pi)) + 0.2 / log(20))
    three, dark = 0.08 * 0.01 / log(20), 0.02 * 0.01 / log(20)
    mean = (both + three + dark) / 3
    expected = {
        "both": 0.99 * both + 0.01 * mean,
        "three": 0.99 * three + 0.01 * mean,
        "dark": 0.99 * dark + 0.01 * mean,
    }
    assert indication_likelihoods(read, two) == pytest.approx(expected, rel=1e-12)


def test_a_count_speaks_for_its_own_indication() -> None:
    """Tests that four blinks read on the one-lamp panel mean no water, 30 to 1 or better."""
    tern = panel_of("aldermoor-tern", "top_load")
    read = ReadPanel({"pause": lamp(0, 0, 1, counts=(4, 4), period_s=0.9)}, ())
    told = indication_likelihoods(read, tern)
    assert max(told, key=lambda name: told[name]) == "four"
    assert told["four"] > 30 * max(value for name, value in told.items() if name != "four")


def test_conditions_get_what_their_indications_got() -> None:
    """Tests that a clip of the six dots points to the same condition as a person's words."""
    wren = panel_of("brackwater-wren", "front_load")
    lights = wren.lights("one-five")
    one = {"off": (1, 0, 0), "steady": (0, 1, 0), "flashing": (0, 0, 1)}
    read = ReadPanel(
        {name: lamp(*one[str(light)], period_s=1.1) for name, light in lights.items()}, ()
    )
    names = ["wont_drain", "no_water", "suds", "nothing shown"]
    by_clip = condition_likelihoods_of_clip(read, wren, names)
    assert max(by_clip, key=lambda name: by_clip[name]) == "wont_drain"
    assert by_clip["wont_drain"] > 20 * by_clip["nothing shown"]


def test_a_clip_that_tells_nothing_moves_nothing(two: Panel) -> None:
    """Tests that equal likelihoods leave all indications and conditions equal."""
    third = 1 / 3
    read = ReadPanel({"a": lamp(third, third, third), "b": lamp(third, third, third)}, ())
    assert len({round(x, 12) for x in indication_likelihoods(read, two).values()}) == 1
    by_clip = condition_likelihoods_of_clip(read, two, ["no_water", "suds", "nothing shown"])
    assert len({round(x, 12) for x in by_clip.values()}) == 1


def test_a_lamp_of_another_panel_is_refused(two: Panel) -> None:
    """Tests that a lamp that the panel does not have is named."""
    with pytest.raises(UnknownNameError, match="no lamp z"):
        indication_likelihoods(ReadPanel({"z": lamp(1, 0, 0)}, ()), two)
