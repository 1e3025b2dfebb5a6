"""The plan of a job, worked out when it is asked for and kept until a fact changes it."""

from __future__ import annotations

from datetime import datetime

import msgspec

from tubside.errors import FactsDisagreeError, JobFileError
from tubside.service.advise import advise
from tubside.service.planning import ToldPlan, plan_of
from tubside.service.viewing import told_key
from tubside.service.views import JobView
from tubside.store import beside
from tubside.store.opening import Store


def kept_plan(store: Store, view: JobView) -> ToldPlan | None:
    """The plan, if it was worked out from the facts as they are now."""
    key = _key(view)
    if key is None:
        return None
    with store.reading() as opened:
        text = beside.told(opened, key)
    return _unpacked(text)


def worked_out_plan(store: Store, view: JobView, now: datetime) -> ToldPlan | None:
    """The plan, worked out if need be; None where nothing is advised."""
    kept = kept_plan(store, view)
    key = _key(view)
    if kept is not None or key is None or view.source is None or view.known is None:
        return kept
    try:
        plan = plan_of(advise(view.source, view.known))
    except (FactsDisagreeError, JobFileError):
        return None
    if plan is not None:
        with store.writing() as opened:
            beside.keep_told(opened, key, msgspec.json.encode(plan).decode(), now)
    return plan


def _key(view: JobView) -> str | None:
    """Where the plan is kept: beside the advice that it belongs to."""
    if view.source is None or view.computed_from is None or view.advice is None:
        return None
    return f"{told_key(view.source.job, view.computed_from)}-plan"


def _unpacked(text: str | None) -> ToldPlan | None:
    """What was kept; None when there is nothing, or another program wrote it otherwise."""
    if text is None:
        return None
    try:
        return msgspec.json.decode(text, type=ToldPlan)
    except msgspec.DecodeError:
        return None
