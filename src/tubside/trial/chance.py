"""Common random numbers: the same event of the same call meets every policy alike."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b

import numpy as np

from tubside.pack.fault_model import Floats

Key = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Chance:
    """Numbers in [0, 1) by name: the same key gives the same number, in any order."""

    seed: int
    call: int

    def at(self, *key: str | int) -> float:
        """The number of one event.

        Examples
        --------
        >>> chance = Chance(seed=1, call=7)
        >>> chance.at("answer", 3) == chance.at("answer", 3)
        True
        """
        text = repr((self.seed, self.call, key)).encode()
        return int.from_bytes(blake2b(text, digest_size=8).digest()) / 2.0**64

    def pick(self, weights: Floats, *key: str | int) -> int:
        """An index drawn with these weights (k,), which need not sum to one."""
        steps = np.cumsum(weights)
        place = int(np.searchsorted(steps, self.at(*key) * steps[-1], side="right"))
        return min(place, int(np.flatnonzero(weights > 0.0)[-1]))

    def happens(self, probability: float, *key: str | int) -> bool:
        """Whether an event of this probability happens."""
        return self.at(*key) < probability

    def generator(self, *key: str | int) -> np.random.Generator:
        """A generator for events that need many numbers."""
        return np.random.default_rng(int(self.at(*key) * 2.0**63))
