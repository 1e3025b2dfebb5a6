"""The record of a job's safety test and the words of its label, from facts alone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from tubside.documents.parties import DocumentMachine, Party
from tubside.documents.safety_record import Instrument, SafetyRecord, SafetyResult
from tubside.safety.appliance import TOUCHED_WORDS
from tubside.safety.judging import OUTCOME_WORDS
from tubside.safety.profile_schema import KNOWN_WORDS
from tubside.safety.which_tests import TITLES
from tubside.service.heeded import heeded
from tubside.service.job_report import parts_used
from tubside.service.money.shop_party import shop_party
from tubside.service.safety import Row, SafetyView, told_of
from tubside.service.safety_records import SafetyReading, SafetyReleased
from tubside.service.unseen import serial_of
from tubside.service.views import JobView
from tubside.store.opening import Store

UNITS = {"ohm": "Ω", "Mohm": "MΩ", "mA": "mA"}
VERDICTS = {
    "released": "released",
    "not-released": "not released: disabled and marked",
    "waived": "closed without the test",
}
WHAT_NOW = (
    "Plug out, taps shut.",
    "Disabled so that nobody can plug it in again by mistake.",
    "Marked on plug and front.",
    "The customer was told, and has it in writing.",
)
STATEMENT = (
    "The appliance, as far as the work affects it, kept the limits above on the day of the test."
)


def number_of(view: JobView) -> str:
    """The number on label and record: the first letters of the job's reference."""
    return view.id[:8].upper()


def tester_of(view: JobView, found: SafetyView) -> tuple[str, str]:
    """Name and licence of who decided; "" where nobody did or the words were erased."""
    ref = None if found.release is None else found.release.by
    name, _, licence = ("" if ref is None else (view.words.get(ref) or "")).partition("\n")
    return name, licence


def label_of(view: JobView, found: SafetyView) -> tuple[str, ...]:
    """The lines of the label: never "safe" before a release that still stands."""
    name, _ = tester_of(view, found)
    day = "" if found.released_at is None else found.released_at.astimezone().strftime("%d %b %Y")
    number = f"Job {number_of(view)}"
    if found.way == "released":
        return ("TESTED AFTER REPAIR: PASSED", number, f"Date {day}", f"By {name}")
    if found.way == "not-released":
        return ("UNSAFE: DO NOT USE", number, f"Date {day}", f"By {name}", "Disabled and marked")
    return ("NOT TESTED: DO NOT USE", number, "Write the date and your name")


def record_of(store: Store, view: JobView, found: SafetyView, now: datetime) -> SafetyRecord:
    """Everything that the record says; on paper and on screen the same."""
    name, licence = tester_of(view, found)
    loaded, released = found.loaded, found.way == "released"
    profile = None if loaded is None else loaded.profile
    tested = (found.released_at or now).astimezone().strftime("%d %b %Y %H:%M")
    kept = _standing(found)
    standing = None if kept is None else kept.release
    return SafetyRecord(
        number=number_of(view),
        tested=tested,
        shop=shop_party(store),
        customer=_customer(view),
        machine=_machine(view),
        appliance_class=f"class {found.appliance.protection}" if found.appliance else "",
        country=profile.title if profile else "no country chosen",
        tester=name or "nobody yet",
        licence=licence,
        parts=tuple(parts_used(store, view)),
        job=number_of(view),
        reason=", ".join(TOUCHED_WORDS[one] for one in found.touched),
        duty=profile.duty.source.told() if profile and profile.duty.test == "duty" else "",
        cautions=tuple(one.told() for one in heeded(view)),
        instruments=_instruments(found),
        results=tuple(_result(row, _standing(found)) for row in found.rows),
        released=released,
        verdict=VERDICTS[standing] if standing else "not decided",
        what_now=WHAT_NOW if found.way == "not-released" else (),
        label=label_of(view, found),
        corrections=(*_corrections(found), *_decided_before(view, found)),
        notes=(STATEMENT,) if released else (),
        hash=loaded.digest if loaded else "",
    )


def _customer(view: JobView) -> Party:
    data = view.person.data if view.person else None
    return Party(name=data.name, street=data.address) if data else Party(name="not named")


def _machine(view: JobView) -> DocumentMachine:
    known = view.known
    if known is None:
        return DocumentMachine(kind="machine not named")
    model = known.panel.name if known.panel else ""
    return DocumentMachine(kind=known.pack.title, model=model, serial=serial_of(view.entries) or "")


def _instruments(found: SafetyView) -> tuple[Instrument, ...]:
    bodies = [row.entry.body for row in found.rows if row.entry is not None]
    made = [
        Instrument(name=body.instrument, calibrated=f"{body.calibrated} to {body.due}")
        for body in bodies
        if isinstance(body, SafetyReading)
    ]
    return tuple(dict.fromkeys(made))


def _standing(found: SafetyView) -> SafetyReleased | None:
    """The decision that still stands, with the verdicts and limits that were shown with it."""
    return None if found.stale else found.release


def _result(row: Row, kept: SafetyReleased | None) -> SafetyResult:
    """A test as it was decided on; what today's rules make of it stands beside where it differs."""
    now = _result_now(row)
    said = None if kept is None else kept.verdicts.get(row.item.id)
    if kept is None or said is None or row.verdict is None:
        return now
    limit, held = kept.limits.get(row.item.id), row.item.held
    same_limit = limit is None or held is None or math.isclose(limit, held.value)
    if said == row.verdict.outcome and same_limit:
        return now
    side = "" if held is None else f"{held.limit.side.replace('-', ' ')} "
    unit = "" if held is None else f" {UNITS[held.limit.unit]}"
    then = "" if limit is None else f"{side}{limit:.3g}{unit}"
    note = f"as decided; by today's rules {now.verdict}, limit {now.limit}".removesuffix(", limit ")
    return replace(now, verdict=OUTCOME_WORDS[said], limit=then, note=note)


def _decided_before(view: JobView, found: SafetyView) -> Iterator[str]:
    """Earlier decisions, with the verdicts that were shown: a later one never rewrites them."""
    for entry in view.entries:
        body = entry.body
        if not isinstance(body, SafetyReleased) or body is _standing(found):
            continue
        verdicts = ", ".join(
            f"{TITLES.get(name, name)} {OUTCOME_WORDS[one]}" for name, one in body.verdicts.items()
        )
        how = "taken back" if entry.retracted_by else "no longer stands"
        told = f" ({verdicts})" if verdicts else ""
        yield f"Decision, {entry.at:%d %b %Y %H:%M}: {VERDICTS[body.release]}{told}, {how}"


def _result_now(row: Row) -> SafetyResult:
    held, entry = row.item.held, row.entry
    unit = f" {UNITS[held.limit.unit]}" if held is not None and entry is not None else ""
    side = "" if held is None else held.limit.side.replace("-", " ")
    confirmed = None if held is None else held.confirmed
    standing = "" if held is None else KNOWN_WORDS[held.limit.source.known]
    if held is not None:
        standing += f"; the shop's copy: {confirmed.reference}" if confirmed else "; not confirmed"
    body = None if entry is None else entry.body
    return SafetyResult(
        test=row.item.title,
        value=f"{row.told}{unit}" if row.told else "",
        limit="" if held is None else f"{side} {held.value:.3g} {UNITS[held.limit.unit]}",
        verdict="not done" if row.verdict is None else OUTCOME_WORDS[row.verdict.outcome],
        source="" if held is None else held.limit.source.told(),
        standing=standing,
        instrument=body.instrument if isinstance(body, SafetyReading) else "",
        note="" if row.verdict is None else row.verdict.why,
    )


def _corrections(found: SafetyView) -> list[str]:
    return [
        f"{row.item.title}, {one.at:%d %b %Y %H:%M}: {told_of(one.body)}, "
        + ("taken back" if one.retracted_by else "replaced")
        for row in found.rows
        for one in row.earlier
    ]
