"""Jobs that were closed, as on a phone without signal, before their machine was proven safe.

A closing that was told stays a fact; what it lacks is shown until the machine is released or
left disabled and marked.
"""

from __future__ import annotations

from collections.abc import Sequence

from tubside.service.library import Library
from tubside.service.safety import safety_of
from tubside.service.safety_settings import shop_profile
from tubside.service.viewing import view_of
from tubside.service.views import JobView
from tubside.store.opening import Store

WORDS = "Closed without its safety test"


def closed_unproven(store: Store, view: JobView) -> bool:
    """Whether a job is closed although its safety test still comes first."""
    return view.stage == "closed" and safety_of(store, view).way == "blocked"


def unproven_among(store: Store, library: Library, jobs: Sequence[str]) -> frozenset[str]:
    """Those of some jobs of which that is so; none where no country was chosen."""
    if shop_profile(store) is None:
        return frozenset()
    views = (view_of(store, library, job, advised=False) for job in jobs)
    return frozenset(view.id for view in views if closed_unproven(store, view))
