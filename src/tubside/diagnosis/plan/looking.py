"""All looks that are open at a stand, side by side in one table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.plan.staged import Staged
from tubside.diagnosis.plan.stand import Stand, look_cost, open_looks, said_now
from tubside.pack.fault_model import Floats, Ints


@dataclass(frozen=True, slots=True)
class LookTable:
    """``said`` holds P(said | row) of every look, one after the other."""

    numbers: Ints  # (L,)
    subject: Ints  # (L,)
    cover: Ints  # (L,)
    cost: Floats  # (L,)
    starts: Ints  # (L,) first column of each look
    size: Ints  # (L,) outcomes of each look
    said: Floats  # (N, columns)


def look_table(staged: Staged, stand: Stand) -> LookTable:
    """The table of the looks open at a stand; without any it has no column."""
    numbers = open_looks(staged, stand)
    tables = [said_now(staged, stand, n) for n in numbers]
    size = np.array([t.shape[1] for t in tables], dtype=np.int64)
    looks = [staged.looks[n] for n in numbers]
    nothing = np.zeros((len(staged.weight), 0))
    return LookTable(
        numbers=np.array(numbers, dtype=np.int64),
        subject=np.array([look.subject for look in looks], dtype=np.int64),
        cover=np.array([look.cover for look in looks], dtype=np.int64),
        cost=np.array([look_cost(staged, stand, look)[0] for look in looks]),
        starts=np.cumsum(size) - size,
        size=size,
        said=np.concatenate([nothing, *tables], axis=1),
    )
