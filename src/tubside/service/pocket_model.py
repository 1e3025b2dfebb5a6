"""A compiled model as plain JSON for the phone, and back: the same arrays, no names lost.

Nothing is rounded. A matrix is a list of its rows, what is mostly empty a list of
``[place, number]``, and causes, checks and remedies keep their numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tubside.pack.fault_model import (
    Axis,
    Bools,
    Check,
    Complaint,
    Costs,
    FaultModel,
    Finding,
    Floats,
    Ints,
    Names,
    Prior,
    Reading,
    Remedy,
    Stop,
)

Json = dict[str, Any]
NAMES = ("causes", "conditions", "stages", "findings", "outcomes", "axes", "values", "checks")
MORE_NAMES = ("remedies", "stops", "parts", "covers")


def model_json(model: FaultModel, age_years: float | None) -> Json:
    """Everything of the model that belief and next step need, for a machine of this age.

    Readings are left out: what they may show stands beside the model, row by row.
    """
    complaint = model.complaint
    return {
        "digest": model.digest,
        "names": {name: _plain(getattr(model.names, name)) for name in (*NAMES, *MORE_NAMES)},
        "prior": _prior(model.prior),
        "age_factor": None if age_years is None else _aged(model, age_years),
        "complaint": {
            "q": complaint.q.tolist(),
            "leak": complaint.leak.tolist(),
            "said": complaint.said.tolist(),
            "healthy": complaint.healthy.tolist(),
            "stopping": _bits(complaint.stopping),
            "stage": complaint.stage.tolist(),
            "at_stage": complaint.at_stage.tolist(),
        },
        "shows": model.shows.tolist(),
        "healthy_rerun_fails": model.healthy_rerun_fails.tolist(),
        "healthy_how_often": model.healthy_how_often.tolist(),
        "findings": [_finding(finding) for finding in model.findings],
        "checks": [_check(check) for check in model.checks],
        "remedies": [_remedy(remedy) for remedy in model.remedies],
        "stops": [_stop(stop) for stop in model.stops],
        "part_price": model.part_price.tolist(),
        "part_carried": _bits(model.part_carried),
        "cover_minutes": model.cover_minutes.tolist(),
        "costs": {name: getattr(model.costs, name) for name in Costs.__slots__},
        "repeat_errs_same": model.repeat_errs_same,
        "stage_right": model.stage_right,
        "leads_to": [list(lead) for lead in model.leads_to],
        "gates": None if model.gates is None else _bits(model.gates),
        "observer_error": list(model.observer_error),
    }


def _plain(names: tuple[Any, ...]) -> list[Any]:
    return [list(one) if isinstance(one, tuple) else one for one in names]


def _bits(bools: Bools) -> list[int]:
    return [int(one) for one in bools]


def _aged(model: FaultModel, age_years: float) -> list[float]:
    year = int(min(max(age_years, 0.0), model.age_factor.shape[1] - 1))
    return [float(one) for one in model.age_factor[:, year]]


def _prior(prior: Prior) -> Json:
    return {
        "odds": prior.odds.tolist(),
        "healthy": prior.healthy.tolist(),
        "axes": [
            {
                "shares": axis.shares.tolist(),
                "members": axis.members.tolist(),
                "applies": [_bits(row) for row in axis.applies],
                "member_share": axis.member_share.tolist(),
            }
            for axis in prior.axes
        ],
        "leads": [list(lead) for lead in prior.leads],
    }


def _finding(finding: Finding) -> Json:
    return {
        "healthy": finding.healthy.tolist(),
        "touched": finding.touched.tolist(),
        "rows": finding.rows.tolist(),
        "graded": finding.graded,
        "needs_fault": finding.needs_fault,
    }


def _needs(needs: tuple[tuple[int, Bools], ...]) -> list[list[Any]]:
    return [[axis, _bits(allowed)] for axis, allowed in needs]


def _check(check: Check) -> Json:
    return {
        "finding": check.finding,
        "axis": check.axis,
        "minutes": check.minutes,
        "phone": check.phone,
        "site": check.site,
        "by": list(check.by),
        "error": list(check.error),
        "cover": check.cover,
        "needs": _needs(check.needs),
        "stage": check.stage,
        "reads": None if check.reading is None else check.reading.quantity,
    }


def sparse(numbers: Floats) -> list[list[float]]:
    """Every number but zeros, with its place."""
    return [[int(place), float(numbers[place])] for place in np.flatnonzero(numbers)]


def dense(pairs: list[list[float]], size: int) -> Floats:
    """The opposite of :func:`sparse`."""
    numbers = np.zeros(size)
    for place, number in pairs:
        numbers[int(place)] = number
    return numbers


def _remedy(remedy: Remedy) -> Json:
    return {
        "clears": [sparse(row) for row in remedy.clears],
        "minutes": remedy.minutes,
        "rerun_minutes": remedy.rerun_minutes,
        "phone": remedy.phone,
        "site": remedy.site,
        "by": list(remedy.by),
        "cover": remedy.cover,
        "parts": list(remedy.parts),
        "needs": _needs(remedy.needs),
    }


def _stop(stop: Stop) -> Json:
    years = stop.up_to_years if np.isfinite(stop.up_to_years) else None
    return {
        "kind": stop.kind,
        "cost": None if np.isnan(stop.cost) else stop.cost,
        "clears": np.flatnonzero(stop.clears).tolist(),
        "up_to_years": years,
    }


def model_from(told: Mapping[str, Any]) -> FaultModel:
    """The model back from its JSON, without its readings.

    The factor of the machine's age stands in one column, so any age means that one.
    """
    names = told["names"]
    count, prior = len(names["causes"]), prior_from(told["prior"])
    aged = told["age_factor"] or [1.0] * count
    tuples: dict[str, Any] = {
        name: tuple(tuple(x) if isinstance(x, list) else x for x in names[name])
        for name in (*NAMES, *MORE_NAMES)
    }
    return FaultModel(
        digest=told["digest"],
        names=Names(**tuples),
        prior=prior,
        complaint=_complaint_from(told["complaint"], count),
        shows=_floats(told["shows"]),
        healthy_rerun_fails=_floats(told["healthy_rerun_fails"]),
        healthy_how_often=_floats(told["healthy_how_often"]),
        age_factor=_floats(aged)[:, None],
        findings=tuple(_finding_from(one) for one in told["findings"]),
        checks=tuple(_check_from(one) for one in told["checks"]),
        remedies=tuple(_remedy_from(one, count) for one in told["remedies"]),
        stops=tuple(_stop_from(one, count) for one in told["stops"]),
        part_price=_floats(told["part_price"]),
        part_carried=np.array(told["part_carried"], dtype=bool),
        cover_minutes=_floats(told["cover_minutes"]),
        costs=Costs(**told["costs"]),
        repeat_errs_same=told["repeat_errs_same"],
        stage_right=told["stage_right"],
        leads_to=tuple((i, j, factor) for i, j, factor in told["leads_to"]),
        gates=None if told["gates"] is None else np.array(told["gates"], dtype=bool),
        observer_error=(told["observer_error"][0], told["observer_error"][1]),
    )


def _floats(numbers: Any) -> Floats:  # noqa: ANN401  # nested lists of any depth, as JSON has them
    return np.array(numbers, dtype=float)


def _ints(numbers: list[int]) -> Ints:
    return np.array(numbers, dtype=np.int64)


def prior_from(told: Mapping[str, Any]) -> Prior:
    """The prior back from its JSON."""
    axes = tuple(
        Axis(
            shares=_floats(axis["shares"]),
            members=_ints(axis["members"]),
            applies=np.array(axis["applies"], dtype=bool).reshape(-1, len(axis["shares"])),
            member_share=_floats(axis["member_share"]),
        )
        for axis in told["axes"]
    )
    leads = tuple((i, j, factor) for i, j, factor in told["leads"])
    return Prior(_floats(told["odds"]), _floats(told["healthy"]), axes, leads)


def _complaint_from(told: Mapping[str, Any], count: int) -> Complaint:
    conditions = len(told["leak"])
    unused = np.zeros((count, conditions))
    return Complaint(
        q=_floats(told["q"]),
        leak=_floats(told["leak"]),
        said=_floats(told["said"]),
        healthy=_floats(told["healthy"]),
        stopping=np.array(told["stopping"], dtype=bool),
        stage=_ints(told["stage"]),
        at_stage=_floats(told["at_stage"]),
        fit=unused,
        table=unused,
    )


def _finding_from(told: Mapping[str, Any]) -> Finding:
    rows = _floats(told["rows"]).reshape(-1, len(told["healthy"]))
    return Finding(
        healthy=_floats(told["healthy"]),
        touched=_ints(told["touched"]),
        rows=rows,
        graded=told["graded"],
        needs_fault=told["needs_fault"],
    )


def _needs_from(told: list[list[Any]]) -> tuple[tuple[int, Bools], ...]:
    return tuple((axis, np.array(allowed, dtype=bool)) for axis, allowed in told)


def _check_from(told: Mapping[str, Any]) -> Check:
    kept = {k: told[k] for k in ("finding", "axis", "minutes", "phone", "site", "cover", "stage")}
    by, error = tuple(told["by"]), (told["error"][0], told["error"][1])
    reads = None if told["reads"] is None else _named(told["reads"])
    return Check(**kept, by=by, error=error, needs=_needs_from(told["needs"]), reading=reads)


def _named(quantity: str) -> Reading:
    """A reading of which the quantity alone is known: the model has nothing to predict it."""
    return Reading(quantity, "", 1.0, 0.0, (0.0, 0.0), (0.0, 0.0), np.inf, needs_fault=False)


def _remedy_from(told: Mapping[str, Any], count: int) -> Remedy:
    kept = {k: told[k] for k in ("minutes", "rerun_minutes", "phone", "site", "cover")}
    return Remedy(
        **kept,
        clears=np.array([dense(row, count) for row in told["clears"]]),
        by=tuple(told["by"]),
        parts=tuple(told["parts"]),
        needs=_needs_from(told["needs"]),
    )


def _stop_from(told: Mapping[str, Any], count: int) -> Stop:
    clears = np.zeros(count, dtype=bool)
    clears[told["clears"]] = True
    years = np.inf if told["up_to_years"] is None else told["up_to_years"]
    cost = np.nan if told["cost"] is None else told["cost"]
    return Stop(told["kind"], float(cost), clears, float(years))
