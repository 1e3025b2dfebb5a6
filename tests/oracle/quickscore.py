"""A third way: independent causes by inclusion and exclusion over what was seen.

D. Heckerman, "A tractable inference algorithm for diagnosing multiple diseases",
UAI 1989, 174-181 (abstract read, algorithm from memory): with independent causes
and noisy-OR conditions the chance of positive conditions F and negative G is

    sum over parts F' of F of (-1)^|F'| * product over causes of
        (p_i * product over F' and G of (1 - q_ic) + 1 - p_i) * product of (1 - leak_c)
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain, combinations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def chance(
    prior: Floats, weights: Floats, leak: Floats, on: Sequence[int], dark: Sequence[int]
) -> float:
    """Return P(conditions ``on`` are on and ``dark`` are off)."""
    parts = chain.from_iterable(combinations(on, size) for size in range(len(on) + 1))
    total = 0.0
    for part in parts:
        chosen = [*part, *dark]
        kept = (1.0 - weights[:, chosen]).prod(axis=1)
        term = (prior * kept + 1.0 - prior).prod() * (1.0 - leak[chosen]).prod()
        total += (-1.0) ** len(part) * float(term)
    return total


def posteriors(
    prior: Floats, weights: Floats, leak: Floats, on: Sequence[int], dark: Sequence[int]
) -> Floats:
    """Return P(cause | conditions) for every cause: (n,)."""
    whole = chance(prior, weights, leak, on, dark)
    found = []
    for i, mine in enumerate(prior):
        certain = prior.copy()
        certain[i] = 1.0
        found.append(mine * chance(certain, weights, leak, on, dark) / whole)
    return np.array(found)
