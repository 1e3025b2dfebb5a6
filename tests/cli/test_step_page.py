"""A reading as the terminal shows it: what the number is reckoned with stands before it."""

from __future__ import annotations

import pytest
from rich.console import Console

from tubside.cli.look import POOR, RICH, Marks
from tubside.cli.step_page import next_step
from tubside.service.explain import ToldReading, ToldStep

SAID = "heater element 26 Ω from your service sheet, p. 12"


def page(marks: Marks, *sheet: str) -> str:
    """The step as text on one line."""
    step = ToldStep(
        id="heater-ohms",
        title="Heater",
        kind="check",
        expected_cost=60.0,
        minutes=3.0,
        who="technician",
        where="site",
        cautions=(),
        do="Measure it.",
        say=None,
        outcomes=(),
        why="it tells most",
        cost=5.0,
        reading=ToldReading("Ω", "25 to 27 Ω", (("heater open", "no number at all"),), sheet),
    )
    console = Console(width=100)
    with console.capture() as caught:
        console.print(next_step(marks, step))
    return " ".join(caught.get().replace("│", " ").replace("|", " ").split())


@pytest.mark.parametrize("marks", [RICH, POOR])
def test_the_sheet_is_named_before_the_number(marks: Marks) -> None:
    """Tests each value with its source and page, before where the number is expected."""
    text = page(marks, SAID, "rated voltage 230 V from the type plate")
    first, second = (f"Reckoned with {marks.words(SAID)}.", "Reckoned with rated voltage 230 V")
    assert text.index(first) < text.index(second) < text.index("as it should be")


def test_nothing_is_said_without_a_sheet() -> None:
    """Tests that a family's own numbers are not called anybody's sheet."""
    assert "Reckoned" not in page(RICH)
