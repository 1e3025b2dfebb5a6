"""The safety test of a job: what it needs, what was found, and whether the job may close."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from tubside.errors import SafetyError
from tubside.pack.schema import Danger
from tubside.safety.appliance import Appliance, Touched
from tubside.safety.judging import (
    OUTCOME_WORDS,
    Instrument,
    Measured,
    Verdict,
    judge,
    rcd_verdict,
)
from tubside.safety.limits import Confirmed
from tubside.safety.profiles import LoadedProfile
from tubside.safety.required import Way, may_waive, way_to_close
from tubside.safety.which_tests import Item, plan_for
from tubside.service.coding import NOT_DONE
from tubside.service.records import CheckDone, ReadingDone, RemedyDone
from tubside.service.replay import latest
from tubside.service.safety_records import (
    ApplianceTold,
    SafetyLook,
    SafetyRcd,
    SafetyReading,
    SafetyReleased,
    WaiverReason,
    WorkTouched,
)
from tubside.service.safety_settings import confirmed_limits, shop_profile
from tubside.service.views import Entry, JobView
from tubside.store.opening import Store

Found = SafetyLook | SafetyReading | SafetyRcd
RCD_TEST = "rcd"
BY_DANGER: Mapping[Danger, Touched] = {
    "shock": "shock-or-tripping",
    "tripping": "shock-or-tripping",
    "water-at-plug": "water-on-electrics",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One test of the plan: what was found, what it proves, and earlier words on it."""

    item: Item
    entry: Entry | None
    told: str
    verdict: Verdict | None
    earlier: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class SafetyView:
    """The safety test of a job as it stands.

    ``from_facts`` is what other facts tell of the work; ``touched`` that and what was told.
    ``way`` says how the job may close; "free" where no country is chosen, because then no
    duty is known: ``loaded`` is None, and the page says so.
    """

    loaded: LoadedProfile | None
    from_facts: tuple[Touched, ...]
    touched: tuple[Touched, ...]
    appliance: Appliance | None
    rows: tuple[Row, ...]
    passed: bool
    failed: bool
    release: SafetyReleased | None
    released_at: datetime | None
    stale: bool
    """Whether something that a test must follow was told after the decision, or elsewhere
    without either knowing of the other, as on a phone without signal."""
    way: Way


def safety_of(store: Store, view: JobView) -> SafetyView:
    """The safety test of a job, worked out from its facts and the shop's country."""
    loaded, shown = shop_profile(store), _from_facts(view)
    told = latest(view.entries, WorkTouched)
    touched = tuple(dict.fromkeys([*shown, *(told.what if told else ())]))
    appliance = _told_appliance(view)
    rows: tuple[Row, ...] = ()
    if loaded is not None and appliance is not None:
        confirmed = confirmed_limits(store, loaded.profile)
        rows = _rows(view.entries, loaded, appliance, touched, confirmed)
    passed = bool(rows) and all(r.verdict is not None and r.verdict.outcome == "pass" for r in rows)
    failed = any(r.verdict is not None and r.verdict.outcome == "fail" for r in rows)
    entry, stale = _release(view)
    release = entry.body if entry is not None and isinstance(entry.body, SafetyReleased) else None
    way: Way = "free"
    if loaded is not None:
        standing = None if release is None or stale else release.release
        # what was shown when it was decided counts: later rules do not rewrite it
        shown_passed = release is not None and set(release.verdicts.values()) == {"pass"}
        way = way_to_close(loaded.profile, touched, standing, passed=shown_passed)
    at = None if entry is None else entry.at
    return SafetyView(
        loaded, shown, touched, appliance, rows, passed, failed, release, at, stale, way
    )


def appliance_of(told: ApplianceTold | None) -> Appliance | None:
    """The appliance that a fact tells of."""
    if told is None:
        return None
    return Appliance(
        told.protection,
        told.heater_kw,
        told.cord_m,
        told.cord_mm2,
        told.electronic_switch,
        told.surge_parts,
        told.rcd,
    )


def _told_appliance(view: JobView) -> Appliance | None:
    """The last appliance told; none where a phone without signal told one that cannot be."""
    try:
        return appliance_of(latest(view.entries, ApplianceTold))
    except SafetyError:
        return None


def check_may_close(store: Store, view: JobView) -> None:
    """Refuse to close a job whose machine is neither proven safe nor marked unsafe.

    Raises
    ------
    SafetyError
        With what is left to do.
    """
    if safety_of(store, view).way == "blocked":
        msg = (
            "the safety test comes first: finish it and release the machine, or leave it "
            "disabled and marked, and say so on the page of the safety test"
        )
        raise SafetyError(msg)


def decision(
    found: SafetyView, release: str, reason: WaiverReason | None, by: str | None
) -> SafetyReleased:
    """The fact of a decision, with all that was shown when it was made.

    Raises
    ------
    SafetyError
        When the test does not allow it, or a reason is missing.
    """
    if found.loaded is None:
        msg = "choose the shop's country first: its rules decide"
        raise SafetyError(msg)
    profile = found.loaded.profile
    if release == "released" and not found.passed:
        msg = "the test has not passed; leave the machine disabled and marked"
        raise SafetyError(msg)
    if release == "waived" and (reason is None or not may_waive(profile)):
        msg = f"in {profile.title} no reason stands in for the test" if reason else "say why"
        raise SafetyError(msg)
    if by is None:
        msg = "write who tested or decided"
        raise SafetyError(msg)
    rows = found.rows
    return SafetyReleased(
        release=release,  # type: ignore[arg-type]  # an unknown word is refused when it is kept
        country=profile.country,
        profile=found.loaded.digest,
        verdicts={r.item.id: r.verdict.outcome for r in rows if r.verdict is not None},
        limits={r.item.id: r.item.held.value for r in rows if r.item.held is not None},
        reason=reason if release == "waived" else None,
        by=by,
    )


def _from_facts(view: JobView) -> tuple[Touched, ...]:
    """What the facts of the job tell of the work: covers opened, dangers reported."""
    found = [BY_DANGER[danger] for danger in view.dangers if danger in BY_DANGER]
    if any(_opened_a_cover(view, entry) for entry in view.entries):
        found.append("cover-opened")
    return tuple(dict.fromkeys(found))


def _opened_a_cover(view: JobView, entry: Entry) -> bool:
    """Whether a step behind a cover was done; one taken back never was."""
    if view.known is None or entry.retracted_by is not None:
        return False
    pack, body = view.known.pack, entry.body
    match body:
        case CheckDone() | ReadingDone():
            step = pack.checks.get(body.check)
            done = not (isinstance(body, CheckDone) and body.outcome in NOT_DONE)
        case RemedyDone():
            step = pack.remedies.get(body.remedy)  # type: ignore[assignment]  # both have a cover
            done = body.outcome not in NOT_DONE
        case _:
            return False
    return done and body.by == "technician" and step is not None and step.behind is not None


def _release(view: JobView) -> tuple[Entry | None, bool]:
    """The last decision, and whether work or a test was told after it."""
    alive = [entry for entry in view.entries if entry.retracted_by is None]
    places = [n for n, entry in enumerate(alive) if isinstance(entry.body, SafetyReleased)]
    if not places:
        return None, False
    later = (*get_args(Found), ApplianceTold, WorkTouched, RemedyDone)
    after = {entry.id for entry in view.entries[view.entries.index(alive[places[-1]]) :]}
    stale = any(
        isinstance(entry.body, kind) or _opened_a_cover(view, entry)
        for entry in alive[places[-1] + 1 :]
        for kind in later
    )
    undone = any(e.retracted_by in after and isinstance(e.body, later) for e in view.entries)
    last = alive[places[-1]]
    return last, stale or undone or last.doubtful


def _rows(
    entries: Sequence[Entry],
    loaded: LoadedProfile,
    appliance: Appliance,
    touched: Sequence[Touched],
    confirmed: dict[str, Confirmed],
) -> tuple[Row, ...]:
    plan = plan_for(loaded.profile, appliance, touched, confirmed)
    return tuple(_row(item, entries, loaded) for item in plan)


def _row(item: Item, entries: Sequence[Entry], loaded: LoadedProfile) -> Row:
    mine = [e for e in entries if isinstance(e.body, Found) and _test_of(e.body) == item.id]
    alive = [entry for entry in mine if entry.retracted_by is None]
    if not alive:
        return Row(item, None, "", None, tuple(mine))
    last = alive[-1]
    earlier = tuple(entry for entry in mine if entry is not last)
    return Row(item, last, told_of(last.body), _verdict(item, last, loaded), earlier)


def _test_of(body: Found) -> str:
    return RCD_TEST if isinstance(body, SafetyRcd) else body.test


def _verdict(item: Item, entry: Entry, loaded: LoadedProfile) -> Verdict | None:
    match entry.body:
        case SafetyLook(outcome=outcome):
            return Verdict(outcome, "looked at" if item.kind == "look" else "run")
        case SafetyRcd() as body if loaded.profile.rcd is not None:
            return rcd_verdict(
                loaded.profile.rcd,
                at_rated_ms=math.inf if body.no_trip else body.at_rated_ms,
                at_five_ms=body.at_five_ms,
                tripped_at_half=body.tripped_at_half,
            )
        case SafetyReading() as body:
            meter = Instrument(body.instrument, body.calibrated, body.due)
            made = Measured(body.value, body.uncertainty, meter, body.over_range)
            return judge(made, item.held, entry.at.astimezone().date())
        case _:
            return None


def told_of(body: object) -> str:
    """What a fact of the test says, in words; a reading without its unit."""
    match body:
        case SafetyLook():
            return OUTCOME_WORDS[body.outcome]
        case SafetyReading():
            over = "over " if body.over_range else ""
            return f"{over}{body.value:g} ± {body.uncertainty:g}"
        case SafetyRcd():
            times = [
                f"{name} {value:g} ms"
                for name, value in (
                    ("at rated", body.at_rated_ms),
                    ("at five times", body.at_five_ms),
                )
                if value is not None
            ]
            half = {True: ["trips at half"], False: ["holds at half"], None: []}
            none = ["does not trip"] if body.no_trip else []
            return ", ".join([*none, *times, *half[body.tripped_at_half]])
        case _:
            return ""
