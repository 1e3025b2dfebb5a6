"""Tests of what a model's sheet says of an article, by the machine's serial number too."""

from __future__ import annotations

import msgspec
import pytest

from tubside.panel.schema import Fit
from tubside.service.library import Library
from tubside.service.parts.fitting import fit_chance

LIBRARY = Library()


def test_the_sheet_of_a_model_says_what_fits() -> None:
    """Tests that the sheet's article fits, and another of the kind becomes unsure."""
    wren = LIBRARY.model("brackwater-wren").panel
    assert wren is not None
    told = Fit(part="drain-pump", article="DP-1", known_from="plate")
    sheet = msgspec.structs.replace(wren, fits=[told])
    assert fit_chance([], sheet, "front_load", ("DP-1", "drain-pump")) > 0.95
    assert fit_chance([], sheet, "front_load", ("DP-9", "drain-pump")) == 0.5
    assert fit_chance([], sheet, "front_load", ("BL-1", "belt")) == 0.7


@pytest.mark.parametrize(
    ("serial", "chance"), [(None, 0.85), ("A-150", 0.99), ("A250", 0.0), ("77", 0.85)]
)
def test_the_serial_number_says_what_fits(serial: str | None, chance: float) -> None:
    """Tests an article for A100 to A200: inside, outside, not read, and not to be compared."""
    wren = LIBRARY.model("brackwater-wren").panel
    assert wren is not None
    told = Fit(
        part="drain-pump",
        article="DP-1",
        known_from="plate",
        serial_from="A100",
        serial_to="A200",
    )
    sheet = msgspec.structs.replace(wren, fits=[told])
    pump = ("DP-1", "drain-pump")
    assert fit_chance([], sheet, "front_load", pump, serial) == chance
