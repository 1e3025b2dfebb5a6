"""What each fact says, in the words of the pack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from tubside.service import records
from tubside.service.after_records import Disposed, ReturnOf, WarrantyGiven
from tubside.service.coding import outcomes_of
from tubside.service.knowledge import Knowledge
from tubside.service.money_records import QuoteAnswered, WorkStopped
from tubside.service.panel_records import KindTold, PanelSketched
from tubside.service.part_records import PartUsed
from tubside.service.parts.moving import place_words
from tubside.service.views import Entry, JobView
from tubside.service.visit_records import MachineMoved, MailTold, Waiting
from tubside.service.visits.mail_told import mail_words, overtaken
from tubside.web.pages.recording_words import RECORDING_SAYS
from tubside.web.pages.safety_words import SAFETY_SAYS
from tubside.web.pages.visit import moved_words, visit_words, wait_words

DANGER_WORDS = {
    "gas": "A smell of gas",
    "shock": "A tingle or shock",
    "burning": "A burning smell",
    "smoke": "Smoke",
    "tripping": "It trips the breaker",
    "water-at-plug": "Water near the plug",
}
PAYER_WORDS = {
    "customer": "The customer pays",
    "maker-warranty": "Under the maker's warranty",
    "insurer": "An insurer pays",
    "landlord": "The landlord pays",
    "recalled": "The machine is recalled",
    "shop": "The shop pays, under its own warranty",
}
PAYER_CHIPS = {
    "customer": "customer",
    "maker-warranty": "maker's warranty",
    "insurer": "insurer",
    "landlord": "landlord",
    "recalled": "it is recalled",
}
PAYER_NOTES = {
    "customer": "",
    "maker-warranty": "Write down what is found and hand it back before anything is opened.",
    "insurer": "Ask for the number of the claim, and what may be done without asking again.",
    "landlord": "Get the landlord's word before a visit is booked.",
    "recalled": "It stays switched off until what the recall says is done.",
    "shop": "Neither work nor part is charged. Rights by law stand above any warranty.",
}
"""What follows for the job from who pays (common practice, no source)."""
PHOTO_WORDS = {
    "rating-plate": "the rating plate",
    "panel": "the panel",
    "machine": "the machine",
    "part": "a part",
    "other": "something else",
}
PHOTO_WHEN = {None: "", "before": ", before the work", "after": ", after the work"}
DOES_WORDS = {
    "washes": "washes clothes",
    "dries": "dries clothes",
    "dishes": "washes dishes",
    "not-sure": "not sure",
}
OPENING_WORDS = {
    "top": "through a lid on top",
    "front": "through a round door in front",
    "not-sure": "not sure",
}
OBSERVER_WORDS = {"customer": "told by the customer", "technician": "looked at by the technician"}
CONFIRMED_WORDS = {
    "re-run": "the re-run passed",
    "seen": "the fault was seen",
    "measured": "it was measured",
    "remedy-worked": "only the remedy speaks for it",
    "not-confirmed": "it was not confirmed",
}
SLIP_WORDS = {
    "wrong-tap": "wrong tap",
    "misheard": "misheard",
    "looked-again": "looked again",
    "other": "another reason",
}
QUIET = (records.AdviceShown, records.CautionRead, records.Retract)


@dataclass(frozen=True, slots=True)
class Peg:
    """One fact as it hangs on the line."""

    id: str
    number: int
    at: datetime
    what: str
    by: str
    taken_back: bool
    reason: str
    doubtful: bool


def pegs(view: JobView) -> list[Peg]:
    """The facts that people told, in order, taken-back ones included."""
    old = overtaken(view.entries)
    told = [e for e in view.entries if not isinstance(e.body, QUIET) and e.id not in old]
    return [_peg(view, entry, number) for number, entry in enumerate(told, start=1)]


def _peg(view: JobView, entry: Entry, number: int) -> Peg:
    return Peg(
        entry.id,
        number,
        entry.at,
        fact_words(view, entry.body),
        OBSERVER_WORDS.get(getattr(entry.body, "by", ""), ""),
        entry.retracted_by is not None,
        _reason(view, entry),
        entry.doubtful,
    )


def _reason(view: JobView, entry: Entry) -> str:
    """Why a fact was taken back, by the fact that did."""
    taken = (e.body for e in view.entries if e.id == entry.retracted_by)
    return next((body.reason for body in taken if isinstance(body, records.Retract)), "")


def fact_words(view: JobView, body: records.Body) -> str:
    """One fact in a few words."""
    if isinstance(body, records.WordsKept):
        said = view.words.get(body.ref)
        return f"“{said}”" if said else "Words, erased since"
    in_pack = _IN_PACK.get(type(body))
    if in_pack is not None and view.known is not None:
        return in_pack(view.known, body)
    plain = _PLAIN.get(type(body))
    return plain(body) if plain is not None else records.kind_of(body)


def outcome_words(known: Knowledge, check: str, outcome: str) -> str:
    """The plain words of an outcome, or the outcome itself where the pack has none."""
    entry = known.pack.checks.get(check)
    if entry is None or outcome not in outcomes_of(known, check):
        return outcome
    if entry.finding is not None:
        return known.pack.findings[entry.finding].outcomes[outcome]
    return known.pack.variants[str(entry.variant)].values[outcome].title


def _check(known: Knowledge, body: records.CheckDone) -> str:
    entry = known.pack.checks.get(body.check)
    title = entry.title if entry is not None else body.check
    colon = "" if title.endswith("?") else ":"
    return f"{title}{colon} {outcome_words(known, body.check, body.outcome)}"


def _reading(known: Knowledge, body: records.ReadingDone) -> str:
    entry = known.pack.checks.get(body.check)
    return f"{entry.title if entry is not None else body.check}: {body.said}"


def _remedy(known: Knowledge, body: records.RemedyDone) -> str:
    entry = known.pack.remedies.get(body.remedy)
    words = {"works": "the re-run passed", "still-fails": "still fails"}
    title = entry.title if entry is not None else body.remedy
    return f"{title}: {words.get(body.outcome, body.outcome)}"


def _asked(known: Knowledge, body: records.ConditionAsked) -> str:
    entry = known.pack.conditions.get(body.condition)
    return f"{entry.title if entry is not None else body.condition}: {body.outcome}"


def _reported(known: Knowledge, body: records.Reported) -> str:
    titles = [known.pack.conditions[c].title for c in body.conditions if c in known.pack.conditions]
    parts = [", ".join(titles)] if titles else []
    if body.when:
        stage = known.pack.stages.get(body.when)
        parts.append(f"when: {stage.title if stage is not None else body.when}")
    if body.how_often:
        parts.append(body.how_often.replace("-", " "))
    return _capital("; ".join(parts) or "Trouble told")


def _closing(known: Knowledge, body: records.Closing) -> str:
    causes = known.pack.causes
    titles = [causes[c].title if c in causes else c for c in body.causes] or ["nothing found"]
    return f"Closed: {', '.join(titles)}; {CONFIRMED_WORDS[body.confirmed_by]}"


def _machine(body: records.Machine) -> str:
    name = (body.model or body.family or "").replace("-", " ").replace("_", " ")
    parts = [name.title() if body.model else name] if name else []
    if body.plate and not body.model:
        parts.append(f"named {body.plate}")
    if body.serial:
        parts.append(f"serial number {body.serial}")
    if body.age_years is not None:
        parts.append(f"{body.age_years:g} years old")
    parts += [f"{axis} {value}" for axis, value in body.variants.items()]
    return "Machine: " + (", ".join(parts) or "as before")


def _danger(body: records.DangerTold) -> str:
    return ", ".join(DANGER_WORDS[kind] for kind in body.kinds) or "Asked: no danger"


def _indication(body: records.Indication) -> str:
    lamps = [f"{lamp} {light}" for lamp, light in body.lamps.items()]
    display = [f"display {body.display}"] if body.display else []
    return "Panel: " + ", ".join([*lamps, *([body.sound] if body.sound else []), *display])


def _kind(body: KindTold) -> str:
    opening = f"; clothes go in {OPENING_WORDS[body.opening]}" if body.does == "washes" else ""
    return f"What it does: {DOES_WORDS[body.does]}{opening}".replace("in not sure", "in: not sure")


def _sketch(body: PanelSketched) -> str:
    lit = [f"lamp {n}: {light}" for n, light in enumerate(body.lamps, 1) if light != "off"]
    heard = [body.sound] if body.sound and body.sound != "none" else []
    read = [f"display {body.display}"] if body.display else []
    of = "one lamp" if len(body.lamps) == 1 else f"{len(body.lamps)} lamps"
    return f"Panel sketched, {of}: " + ", ".join([*(lit or ["none lit"]), *heard, *read])


def _consent(body: records.Consent) -> str:
    agreed = "agreed to" if body.agreed else "did not agree to"
    return f"Customer {agreed} the call-out fee of {body.amount_cents / 100:.2f}"


WAY_WORDS = {
    "recycled": "taken for recycling",
    "left-with-customer": "left with the customer",
    "back-to-supplier": "sent back to the supplier",
    "passed-on": "passed on to be used",
    "kept-for-parts": "kept for its parts",
}
THING_WORDS = {"machine": "The old machine", "parts": "The old parts"}


def _payer(body: records.Payer) -> str:
    excess = body.excess_cents
    return PAYER_WORDS[body.who] + (f"; excess {excess / 100:.2f}" if excess else "")


_PLAIN: dict[type[records.Body], Callable[..., str]] = {
    records.Machine: _machine,
    records.DangerTold: _danger,
    records.Indication: _indication,
    KindTold: _kind,
    PanelSketched: _sketch,
    records.Consent: _consent,
    records.Payer: _payer,
    records.Context: lambda body: f"{body.name.replace('_', ' ')}: {'yes' if body.value else 'no'}",
    records.CameBack: lambda _: "The trouble came back",
    records.Place: lambda body: "At the machine" if body.where == "site" else "On the phone",
    records.Visit: visit_words,
    Waiting: wait_words,
    MachineMoved: moved_words,
    MailTold: mail_words,
    records.PartsAboard: lambda _: "Parts aboard noted",
    records.PersonNamed: lambda _: "Name and address taken",
    records.PhotoKept: lambda body: f"Photo of {PHOTO_WORDS[body.of]}{PHOTO_WHEN[body.when]}",
    PartUsed: lambda body: (
        f"Part used: {body.units} of {body.part}, from {place_words(body.place)}"
    ),
    ReturnOf: lambda _: "A return for an earlier job",
    WarrantyGiven: lambda body: (
        f"Warranty: {body.labour_days} days on work, {body.part_days} days on parts"
    ),
    QuoteAnswered: lambda body: (
        f"Quote {'agreed to' if body.agreed else 'not agreed to'}, "
        f"up to {body.amount_cents / 100:.2f}"
    ),
    WorkStopped: lambda _: "Work stopped, with a note",
    Disposed: lambda body: f"{THING_WORDS[body.what]}: {WAY_WORDS[body.way]}",
    **RECORDING_SAYS,
    **SAFETY_SAYS,
}
_IN_PACK: dict[type[records.Body], Callable[..., str]] = {
    records.CheckDone: _check,
    records.ReadingDone: _reading,
    records.RemedyDone: _remedy,
    records.ConditionAsked: _asked,
    records.Reported: _reported,
    records.Closing: _closing,
}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
