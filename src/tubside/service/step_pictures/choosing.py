"""Which picture goes with which step: by its id, else by what it touches.

A step of a shop's own, whose id is not in the files, gets the picture of what it touches.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from tubside.pack.schema import CustomerStep
from tubside.service.step_pictures.strokes import HEIGHT, WIDTH, drawings, elements

MACHINES = {"front_load": "front", "top_load": "top", "dryer": "dryer", "dishwasher": "dish"}
"""Family -> the part that stands for its machine."""
TOUCHED = {
    "nothing": "look-answer",
    "taps": "taps",
    "lid": "door-clear",
    "load": "spread",
    "settings": "programme",
    "household": "household",
    "hose-nut": "inlet-sieve",
    "strainer": "strainer",
    "lint-filter": "lint-wipe",
    "tank": "tank",
    "hose-outside": "drain-hose",
    "socket": "plug-out",
}
"""What a step touches -> the picture of a step that has none of its own."""
GENERIC = ("look-answer", "household")
"""Pictures that show no one thing."""


@dataclass(frozen=True, slots=True)
class StepPicture:
    """A picture by its name: the words below it, and its drawing as an element of a page."""

    name: str
    caption: str
    svg: str


def picture_of(family: str, step: str, fields: CustomerStep) -> StepPicture:
    """The picture of a customer's step: its own, else that of what it touches."""
    own = _by_step().get(f"{family}:{step}") or _by_step().get(step)
    return drawn(own or TOUCHED[fields.touches], family)


def drawn(name: str, family: str = "") -> StepPicture:
    """The picture of that name, with the machine of a family in it."""
    drawing = drawings()[name]
    inside = "".join(elements(drawing.lines, MACHINES.get(family, "cab")))
    box = f'viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true" focusable="false"'
    return StepPicture(name, drawing.caption, f"<svg {box}>{inside}</svg>")


def captions() -> Iterator[str]:
    """Yield the words below every picture, for who translates them."""
    for drawing in drawings().values():
        yield drawing.caption


@cache
def _by_step() -> Mapping[str, str]:
    return {step: name for name, one in drawings().items() for step in one.steps}
