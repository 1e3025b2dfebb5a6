"""From the facts of a job, in whatever order they came, to what they say together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

import msgspec
from msgspec.structs import replace

from tubside.service.coding import NOT_DONE
from tubside.service.job_file import Clip, FactLine, JobFile, JobSource
from tubside.service.job_file import Indication as ToldIndication
from tubside.service.recording_records import RecordingRead
from tubside.service.records import (
    AdviceShown,
    Body,
    CameBack,
    CheckDone,
    Closing,
    ConditionAsked,
    Consent,
    Context,
    DangerTold,
    Indication,
    Machine,
    PartsAboard,
    PersonNamed,
    Place,
    ReadingDone,
    RemedyDone,
    Reported,
    Retract,
    Visit,
    decoded,
)
from tubside.service.safety_records import SafetyReleased, TestTold
from tubside.service.views import Entry, Stage
from tubside.service.visit_records import Waiting
from tubside.store.causal import Event, Placed, in_order
from tubside.store.facts import FactRow
from tubside.store.job_rows import JobRow
from tubside.strict_yaml.document import Document
from tubside.strict_yaml.document import Path as PathIn
from tubside.strict_yaml.document import Place as PlaceIn

Kind = TypeVar("Kind")

SEEN = msgspec.json.Decoder(dict[str, int])


def line_of(rows: Sequence[FactRow]) -> tuple[Entry, ...]:
    """All facts in causal order, those taken back and those in doubt marked."""
    bodies = [decoded(row.body) for row in rows]
    placed = in_order([_event(row) for row in rows])
    dead = _retractions([(p.event.id, bodies[p.position]) for p in placed])
    doubtful = _doubtful(placed, bodies, dead)
    return tuple(
        Entry(
            id=row.id,
            device=row.device,
            at=row.at,
            body=bodies[p.position],
            computed_from=row.computed_from,
            retracted_by=dead.get(row.id),
            doubtful=row.id in doubtful,
        )
        for p in placed
        for row in (rows[p.position],)
    )


def seen_of(rows: Iterable[FactRow]) -> dict[str, int]:
    """Device -> highest number among these facts."""
    seen: dict[str, int] = {}
    for row in rows:
        seen[row.device] = max(row.sequence, seen.get(row.device, 0))
    return dict(sorted(seen.items()))


def counting(entries: Iterable[Entry]) -> list[Body]:
    """What is said by the facts that were not taken back and are not in doubt."""
    return [e.body for e in entries if e.retracted_by is None and not e.doubtful]


def latest(entries: Iterable[Entry], kind: type[Kind]) -> Kind | None:
    """The last fact of a kind that counts."""
    found = [body for body in counting(entries) if isinstance(body, kind)]
    return found[-1] if found else None


def stage_of(entries: Iterable[Entry]) -> Stage:
    """How far the job is: what was last said of visit, place and closing decides."""
    stage: Stage = "call"
    for body in counting(entries):
        match body:
            case Visit():
                stage = "visit booked" if body.status == "booked" else "waiting"
            case Waiting() if stage != "closed" and body.what is not None:
                stage = "waiting"
            case Place(where="site"):
                stage = "on site"
            case Place():
                stage = "waiting" if stage == "on site" else stage
            case Closing():
                stage = "closed"
            case CameBack() if stage == "closed":
                stage = "call"
    return stage


def waiting_of(entries: Iterable[Entry]) -> Waiting | None:
    """What a job waits for: the last word on it, unless a visit was booked or done since."""
    found: Waiting | None = None
    for body in counting(entries):
        match body:
            case Waiting():
                found = body if body.what is not None else None
            case Closing():
                found = None
            case Visit(status="booked" | "done"):
                found = None
    return found


def source_of(entries: Sequence[Entry]) -> JobSource:
    """The facts that count as a job file; a problem's line is the number of an entry."""
    sheet = _Sheet()
    for number, entry in enumerate(entries, 1):
        if entry.retracted_by is None and not entry.doubtful:
            sheet.write(entry.body, PlaceIn("fact", number))
    return JobSource(JobFile(**sheet.told), Document({}, sheet.places))


def row_of(job: str, rows: Sequence[FactRow]) -> JobRow:
    """What the list of jobs shows of this one."""
    entries = line_of(rows)
    told = source_of(entries).job
    stage, person = stage_of(entries), latest(entries, PersonNamed)
    advice, fee = latest(entries, AdviceShown), latest(entries, Consent)
    leading = max(advice.leading.items(), key=lambda x: x[1]) if advice and advice.leading else None
    trouble = {
        "reported": told.reported,
        "indication": told.indication,
        "recorded": told.clip is not None,
    }
    return JobRow(
        id=job,
        opened_at=min(row.at for row in rows),
        last_at=max(row.at for row in rows),
        stage=stage,
        closed=stage == "closed",
        family=told.family,
        model=told.model,
        trouble=msgspec.json.encode(trouble).decode(),
        danger=bool(told.danger),
        person=person.ref if person else None,
        leading=leading[0] if leading else None,
        chance=leading[1] if leading else None,
        fee=fee.amount_cents if fee and fee.agreed else None,
    )


def _event(row: FactRow) -> Event:
    return Event(row.id, row.device, row.sequence, row.at, SEEN.decode(row.seen), row.retracts)


def _retractions(placed: Sequence[tuple[str, Body]]) -> dict[str, str]:
    """Id -> id of what took it back; last to first, as a take-back may be taken back."""
    position = {name: place for place, (name, _) in enumerate(placed)}
    dead: dict[str, str] = {}
    for place, (name, body) in reversed(list(enumerate(placed))):
        if isinstance(body, Retract) and name not in dead:
            target = position.get(body.fact)
            if target is not None and target < place:
                dead.setdefault(body.fact, name)
    return dead


def _doubtful(placed: Sequence[Placed], bodies: Sequence[Body], dead: dict[str, str]) -> set[str]:
    alive = [(p, bodies[p.position]) for p in placed if p.event.id not in dead]
    done = [p for p, b in alive if isinstance(b, RemedyDone) and b.outcome not in NOT_DONE]
    tested = [p for p, b in alive if isinstance(b, TestTold)]
    doubted = [
        (p, done if isinstance(body, CheckDone | ReadingDone | CameBack) else [*done, *tested])
        for p, body in alive
        if isinstance(body, CheckDone | ReadingDone | CameBack | SafetyReleased)
    ]
    return {p.event.id for p, others in doubted if any(p.concurrent(other) for other in others)}


@dataclass(slots=True)
class _Sheet:
    """A job file being filled in, and which fact each part of it came from."""

    told: dict[str, Any] = field(default_factory=dict)
    places: dict[PathIn, PlaceIn] = field(default_factory=lambda: {(): PlaceIn("fact", 0)})

    def write(self, body: Body, place: PlaceIn) -> None:
        """Add what a fact says."""
        match body:
            case Machine():
                self._machine(body, place)
            case Reported():
                self._list("reported", body.conditions, place)
                self._set(place, when=body.when, reached=body.reached, how_often=body.how_often)
            case Indication():
                told = ToldIndication(lamps=body.lamps, sound=body.sound, display=body.display)
                self._set(place, indication=told)
            case RecordingRead():
                before = self.told.get("clip", Clip())
                self._set(place, clip=replace(before, **{body.of: body.likelihoods}))
            case DangerTold():
                self._list("danger", body.kinds, place)
            case Context():
                self._merge("context", {body.name: body.value}, place)
            case Place():
                self._set(place, where=body.where)
            case PartsAboard():
                self._parts(body, place)
            case CheckDone() | ReadingDone() | RemedyDone() | ConditionAsked() | CameBack():
                lines = self.told.setdefault("facts", [])
                self.places["facts", len(lines)] = place
                lines.append(_line(body))

    def _machine(self, body: Machine, place: PlaceIn) -> None:
        if body.family is not None and body.model is None:
            self.told.pop("model", None)  # some other machine of that family after all
        self._set(place, family=body.family, model=body.model, age_years=body.age_years)
        self._merge("variants", body.variants, place)

    def _set(self, place: PlaceIn, **values: object) -> None:
        for key, value in values.items():
            if value is not None:
                self.told[key] = value
                self.places[key,] = place

    def _merge(self, key: str, values: dict[str, Any], place: PlaceIn) -> None:
        for name, value in values.items():
            self.told.setdefault(key, {})[name] = value
            self.places[key, name] = place

    def _list(self, key: str, names: Sequence[str], place: PlaceIn) -> None:
        listed = self.told.setdefault(key, [])
        for name in names:
            if name not in listed:
                self.places[key, len(listed)] = place
                listed.append(name)

    def _parts(self, body: PartsAboard, place: PlaceIn) -> None:
        """The latest word on a part counts, so it leaves the other list."""
        for key, other in (("aboard", "not_aboard"), ("not_aboard", "aboard")):
            for part in getattr(body, key):
                if part in self.told.get(other, []):
                    self.told[other].remove(part)
                self._list(key, [part], place)


def _line(
    body: CheckDone | ReadingDone | RemedyDone | ConditionAsked | CameBack,
) -> FactLine:
    match body:
        case ReadingDone():
            return _reading_line(body)
        case CheckDone():
            return FactLine(check=body.check, outcome=body.outcome, by=body.by, again=body.again)
        case RemedyDone():
            return FactLine(remedy=body.remedy, outcome=body.outcome, by=body.by)
        case ConditionAsked():
            return FactLine(condition=body.condition, outcome=body.outcome, by=body.by)
        case CameBack():
            return FactLine(came_back=True)


def _reading_line(body: ReadingDone) -> FactLine:
    return FactLine(
        check=body.check,
        value=body.said,
        si=body.value,
        by=body.by,
        again=body.again,
        instrument=body.instrument,
        error_si=body.error,
    )
