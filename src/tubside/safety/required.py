"""When the test after repair is required, and whether a job may close without it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal

from tubside.safety.appliance import Touched
from tubside.safety.profile_schema import Profile

Way = Literal["free", "released", "not-released", "waived", "blocked"]
"""How a job stands: no test required; released; not released, disabled and marked; closed
without a test for a stated reason; or blocked until one of these."""
Release = Literal["released", "not-released", "waived"]


def asks_for_test(touched: Collection[Touched]) -> bool:
    """Whether the work done asks for a test: any of the five things does.

    Common practice, no source, apart from the duty of a country. A plug wired wrongly after
    a repair has nearly killed: its polarity is always part of the test.

    Examples
    --------
    >>> asks_for_test(["cord-or-plug"]), asks_for_test([])
    (True, False)
    """
    return bool(touched)


def may_waive(profile: Profile) -> bool:
    """Whether a stated reason may close a job without the test: never where it is a duty.

    Examples
    --------
    >>> from tubside.safety.profiles import load_profile
    >>> [may_waive(load_profile(country).profile) for country in ("NZ", "US")]
    [False, True]
    """
    return profile.duty.test != "duty"


def way_to_close(
    profile: Profile, touched: Collection[Touched], release: Release | None, *, passed: bool
) -> Way:
    """How a job may close: a release counts only while the test still passes.

    Examples
    --------
    >>> from tubside.safety.profiles import load_profile
    >>> nz = load_profile("NZ").profile
    >>> way_to_close(nz, ["cover-opened"], "waived", passed=False)
    'blocked'
    >>> way_to_close(nz, ["cover-opened"], "not-released", passed=False)
    'not-released'
    """
    if release == "not-released":
        return "not-released"
    if not asks_for_test(touched):
        return "free"
    if release == "released" and passed:
        return "released"
    if release == "waived" and may_waive(profile):
        return "waived"
    return "blocked"
