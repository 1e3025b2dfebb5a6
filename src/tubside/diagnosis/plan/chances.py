"""What each way clears at a stroke, and which missing parts are worth an order."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.plan.staged import Staged
from tubside.diagnosis.plan.stand import Stand, missing_parts
from tubside.pack.fault_model import Floats

LIKELY_ORDERS = 2
LEAST_ORDERED = 0.1


def clears_at_a_stroke(staged: Staged) -> Floats:
    """Chance that each way clears all that is wrong in each row: (N, ways), 0 if sound."""
    member = staged.member.astype(float)
    rates = np.array([way.clears for way in staged.ways])
    rates = rates.reshape(len(staged.ways), member.shape[1])
    with np.errstate(divide="ignore"):
        logs = np.maximum(np.log(rates), -60.0)
    clears = np.exp(member @ logs.T)
    clears[staged.sound] = 0.0
    return np.asarray(clears)


def likely_orders(staged: Staged, stand: Stand, chance: Floats) -> list[frozenset[int]]:
    """Sets of missing parts worth an order, from the chance that each way clears all (ways,)."""
    wanted: dict[frozenset[int], float] = dict.fromkeys(missing_parts(staged, stand), 0.0)
    for number, way in enumerate(staged.ways):
        parts = way.parts - stand.aboard
        if parts in wanted and number not in stand.used:
            wanted[parts] = max(wanted[parts], float(chance[number]))
    likely = [p for p in sorted(wanted, key=lambda p: -wanted[p]) if wanted[p] > LEAST_ORDERED]
    together: frozenset[int] = frozenset()
    result: list[frozenset[int]] = []
    for parts in likely[:LIKELY_ORDERS]:
        together |= parts
        result += [parts] if parts == together else [parts, together]
    return result
