"""What one lamp can be doing, and the words for it.

The words are the same in a panel file, in a job file and under a drawing:
``off``, ``steady``, ``flashing`` and ``3 blinks`` (a count between long gaps).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Sound = Literal["none", "notes", "pulses", "steady tone"]
SOUNDS: tuple[Sound, ...] = ("none", "notes", "pulses", "steady tone")

LIGHT_WORDS = "off, steady, flashing, or a count such as 3 blinks"

MOST_BLINKS = 12
"""The longest count that anybody is asked to tell (common practice, no source)."""

_COUNT = re.compile(r"([0-9]{1,2}) blinks?")


@dataclass(frozen=True, slots=True, order=True)
class Light:
    """One lamp's doing; ``count`` is the number of blinks between two long gaps."""

    kind: Literal["off", "steady", "flashing", "blinks"]
    count: int = 0

    @property
    def changes(self) -> bool:
        """Whether the lamp goes on and off by itself."""
        return self.kind in {"flashing", "blinks"}

    def __str__(self) -> str:
        if self.kind != "blinks":
            return self.kind
        return "1 blink" if self.count == 1 else f"{self.count} blinks"


OFF = Light("off")
STEADY = Light("steady")
FLASHING = Light("flashing")


def blinks(count: int) -> Light:
    """A lamp that blinks ``count`` times, stays dark for long, and begins again."""
    return Light("blinks", count)


def light_of(words: str) -> Light | None:
    """The light that ``words`` name, or None when they name none."""
    plain = " ".join(words.casefold().split())
    for light in (OFF, STEADY, FLASHING):
        if plain == light.kind:
            return light
    found = _COUNT.fullmatch(plain)
    if found is None or not 1 <= int(found[1]) <= MOST_BLINKS:
        return None
    return blinks(int(found[1]))
