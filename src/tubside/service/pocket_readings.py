"""What readings still to come may show, for the phone: bins for each row of a belief.

The machines behind a reading are too many for a phone, so its bins are cut here and
their chances sent along. A phone may count one number of each tie, the readings that
share something of the machine; for a second one it would need the machines.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.reading_bins import binned
from tubside.diagnosis.reading_density import reading_log
from tubside.pack.fault_model import OBSERVERS, Check, FaultModel, Floats, Ints, Predicting
from tubside.service.explain import bin_words

Json = dict[str, Any]


def readings_json(model: FaultModel, evidence: Evidence, belief: Belief) -> Json:
    """The readings so far as logs for each row, and a table for each reading and observer."""
    indexes: list[list[int]] = []
    told: Json = {"log": None, "tables": [], "indexes": indexes}
    if model.predicting is None:
        return told
    if evidence.readings:
        log = reading_log(model, evidence, belief.rows)[:, None]
        told["log"] = _pooled(log, indexes)
    ties = _ties(model, model.predicting)
    before = {(m.observer, _quantity(model.checks[m.check])) for m in evidence.readings}
    for number, check in enumerate(model.checks):
        if check.reading is None:
            continue
        for observer in range(len(OBSERVERS)):
            if observer not in check.by and not observer:
                continue  # at the machine the technician reads what a customer may read
            found = binned(model, evidence, belief, check, observer)
            told["tables"].append(
                {
                    "check": number,
                    "observer": observer,
                    "edges": found.edges.tolist(),
                    "none": found.none,
                    "words": list(bin_words(check.reading, found)),
                    "tie": ties[check.reading.quantity],
                    "counts": (observer, check.reading.quantity) not in before,
                    "altered_by": _altered_by(model.predicting, check),
                    "said": _pooled(found.said, indexes),
                }
            )
    return told


def _quantity(check: Check) -> str:
    return "" if check.reading is None else check.reading.quantity


def _altered_by(predicting: Predicting, check: Check) -> list[int]:
    """Causes after whose clearing the bins are others."""
    assert check.reading is not None
    spoiling = {cause for cause, _ in check.reading.spoiled_by}
    return sorted(spoiling | set(predicting.touching(check.reading.quantity).tolist()))


def _pooled(rows: Floats, indexes: list[list[int]]) -> Json:
    """Equal rows once, and which of them each row is; equal lists of places are kept once."""
    _, first, inverse = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    order: Ints = np.argsort(first, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    index = place[inverse.ravel()].tolist()
    if index not in indexes:
        indexes.append(index)
    return {"rows": rows[first[order]].tolist(), "index": indexes.index(index)}


def pooled_rows(told: Json, indexes: Sequence[Sequence[int]]) -> Floats:
    """Every row again: (N, k)."""
    return np.array(told["rows"], dtype=float)[np.array(indexes[told["index"]], dtype=np.int64)]


def _ties(model: FaultModel, predicting: Predicting) -> dict[str, int]:
    """A number for each quantity, the same for those that share parameters, however far round."""
    parts: list[tuple[set[str], set[str]]] = []
    quantities = sorted({_quantity(check) for check in model.checks} - {""})
    for quantity in quantities:
        needs, members = set(predicting.needs(quantity)), {quantity}
        for part in [part for part in parts if part[0] & needs]:
            parts.remove(part)
            needs, members = needs | part[0], members | part[1]
        parts.append((needs, members))
    return {quantity: n for n, part in enumerate(parts) for quantity in sorted(part[1])}


def bin_told(table: Json, value: float, said: str) -> int | None:
    """The bin that holds all of what was read, None where none does.

    >>> table = {"edges": [2.0, 5.0], "none": False}
    >>> [bin_told(table, x, "") for x in (1.0, 2.0, 9.0)], bin_told(table, 3.0, "over 3 L")
    ([0, 1, 2], None)
    """
    edges: list[float] = table["edges"]
    if said == "no reading":
        return len(edges) + 1 if table["none"] else None
    if said.startswith("over "):
        return len(edges) if not edges or value >= edges[-1] else None
    if said.startswith("under "):
        return 0 if not edges or value <= edges[0] else None
    return sum(value >= edge for edge in edges)
