"""A panel told over the telephone: places, labels, the picture, and a draft that can be kept."""

from __future__ import annotations

import msgspec
import pytest

from tubside.panel.lights import FLASHING, OFF, STEADY, blinks
from tubside.panel.quick_sketch import (
    LAYOUTS,
    MOST,
    Front,
    Layout,
    Look,
    indication_of,
    labels_of,
    picture,
    places,
    sketch_of,
    words,
)
from tubside.panel.sketch import panel_of
from tubside.panel.writing import panel_text
from tubside.service.model_file import checked_panel


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("lamps", [1, 2, 5, 7, MOST])
@pytest.mark.parametrize("display", [False, True])
def test_every_sketch_can_be_kept(layout: Layout, lamps: int, *, display: bool) -> None:
    """Tests that lamps of every layout lie apart and within the front, by the panel's checks."""
    look = Look((*[OFF] * (lamps - 1), blinks(3)), "pulses", "E4" if display else None)
    sketch = sketch_of(Front(layout, ("",) * lamps, display), "front_load", "Kestrel")
    shown = indication_of(look, ["wont_drain"])
    panel = panel_of(msgspec.structs.replace(sketch, indications=(shown,)))
    kept = checked_panel(panel_text(panel), "kestrel.yaml")
    assert len(kept.lamps) == lamps
    last = list(kept.lamps)[-1]
    (only,) = kept.indications.values()
    assert only.lamps == {last: "3 blinks"}
    assert (only.sound, only.display) == ("pulses", look.display)


def test_lamps_are_counted_as_people_read() -> None:
    """Tests that a ring begins at twelve o'clock and runs clockwise, and a column downwards."""
    ring = places("ring", 4)
    assert ring[0] == pytest.approx((0.5, 0.08))
    assert ring[1] == pytest.approx((0.92, 0.5))
    assert [y for _, y in places("column", 3)] == sorted(y for _, y in places("column", 3))
    assert {x for x, _ in places("column", 3)} == {0.5}


def test_labels_lead_to_one_lamp() -> None:
    """Tests that no label is given twice, not even a number that another lamp has."""
    told = labels_of(["2", "spin", "SPIN", "", "a label that is far too long"])
    assert told == ["1", "spin", "3", "4", "a label that"]


def test_the_picture_moves_and_says_what_was_told() -> None:
    """Tests that what was told blinks at once, and that a lamp not sure of is drawn as such."""
    look = Look((FLASHING, None, STEADY), "none")
    drawn = picture(Front("row", ("", "", "")), look)
    assert "<animate" in drawn
    assert 'data-lamp="2" data-light="not sure"' in drawn
    assert 'data-lamp="1" data-light="flashing"' in drawn
    told = words(Front("row", ("", "", "")), look)
    assert told == "lamp 1: flashing, lamp 2: not sure, lamp 3: steady, no sound"
