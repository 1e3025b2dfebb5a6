"""Units at the edge: what people write is read here, inside everything is SI."""

from __future__ import annotations

from tubside.quantities.doubt import Alternative, Expected, Question, doubts
from tubside.quantities.reading import Written, read_quantity, read_written
from tubside.quantities.showing import fitting_unit, show_quantity

__all__ = [
    "Alternative",
    "Expected",
    "Question",
    "Written",
    "doubts",
    "fitting_unit",
    "read_quantity",
    "read_written",
    "show_quantity",
]
