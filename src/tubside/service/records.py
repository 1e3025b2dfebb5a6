"""What one fact of a job may say: one struct a kind, coded values only.

Words, pictures, recordings and names stand elsewhere by a random reference, erasable.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal, get_args

import msgspec
from msgspec import Meta

from tubside.errors import FactError
from tubside.pack.schema import Danger, Observer
from tubside.service.after_records import AfterBody
from tubside.service.money_records import MoneyBody
from tubside.service.panel_records import PanelBody, PlateCode, SerialCode
from tubside.service.part_records import PartUsed
from tubside.service.recording_records import RecordingBody
from tubside.service.safety_records import SafetyBody
from tubside.service.visit_records import OnSite, Trouble, VisitStatus, WaitingBody

Code = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
"""An id, an outcome or a lamp's words as the pack or the panel spell them."""
Ref = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
"""A random reference: of a fact, a person, words or a photo."""
Codes = Annotated[list[Code], Meta(max_length=60)]
Moment = Annotated[datetime, Meta(tz=True)]
Cents = Annotated[int, Meta(ge=0, le=100_000_000)]
Chance = Annotated[float, Meta(ge=0, le=1)]

Payers = Literal["customer", "maker-warranty", "insurer", "landlord", "recalled", "shop"]
ConfirmedBy = Literal["re-run", "seen", "measured", "remedy-worked", "not-confirmed"]
OftenWord = Literal["every-time", "sometimes", "once"]
Slip = Literal["wrong-tap", "misheard", "looked-again", "other"]  # why a fact is taken back


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused, and what is absent was not asked."""


class Machine(_Record, frozen=True, kw_only=True, tag_field="kind", tag="machine"):
    """Which machine it is; later ones add to earlier ones, field by field.

    ``plate`` is the name on the type plate of a model that nobody has taught.
    """

    family: Code | None = None
    model: Code | None = None
    plate: PlateCode | None = None
    serial: SerialCode | None = None
    age_years: Annotated[float, Meta(ge=0, le=80)] | None = None
    variants: dict[Code, Code] = {}


class Reported(_Record, frozen=True, kw_only=True, tag_field="kind", tag="reported"):
    """The trouble in plain words: condition ids, the first complaint first."""

    conditions: Codes = []
    when: Code | None = None
    reached: Code | None = None
    how_often: OftenWord | None = None


class Indication(_Record, frozen=True, kw_only=True, tag_field="kind", tag="indication"):
    """What the panel showed: lamp id -> words; the latest one counts."""

    lamps: dict[Code, Code] = {}
    sound: Code | None = None
    display: Annotated[str, Meta(max_length=24, pattern=r"\A[^\x00-\x1f\x7f]*\Z")] | None = None


class DangerTold(_Record, frozen=True, kw_only=True, tag_field="kind", tag="danger"):
    """Answer to the safety questions; no kinds: asked, and there was none."""

    kinds: Annotated[list[Danger], Meta(max_length=6)] = []


class Payer(_Record, frozen=True, kw_only=True, tag_field="kind", tag="payer"):
    """Who pays, but for the customer's excess; ``words`` refers to a claim number or the like."""

    who: Payers
    words: Ref | None = None
    excess_cents: Cents | None = None


class Consent(_Record, frozen=True, kw_only=True, tag_field="kind", tag="consent"):
    """What the customer agreed to pay, or did not [cents]."""

    to: Literal["call-out-fee", "repair"] = "call-out-fee"
    amount_cents: Cents
    agreed: bool


class Context(_Record, frozen=True, kw_only=True, tag_field="kind", tag="context"):
    """A circumstance of the pack: just moved, freezing, and the like."""

    name: Code
    value: bool


class CheckDone(_Record, frozen=True, kw_only=True, tag_field="kind", tag="check"):
    """A check's outcome; "not sure" and "could not look" teach nothing."""

    check: Code
    outcome: Code
    by: Observer
    again: bool = False


class ReadingDone(_Record, frozen=True, kw_only=True, tag_field="kind", tag="reading"):
    """What a check measured [SI], the words in which it was told, its standard deviation [SI]."""

    check: Code
    value: float
    said: Code
    by: Observer
    again: bool = False
    instrument: Code | None = None
    error: Annotated[float, Meta(gt=0)] | None = None


class RemedyDone(_Record, frozen=True, kw_only=True, tag_field="kind", tag="remedy"):
    """A remedy and its re-run: works, still-fails, not re-run, not done, could not, refused."""

    remedy: Code
    outcome: Code
    by: Observer


class ConditionAsked(_Record, frozen=True, kw_only=True, tag_field="kind", tag="condition"):
    """Asked after one condition: yes, no, not sure, could not look."""

    condition: Code
    outcome: Code
    by: Observer = "customer"


class CameBack(_Record, frozen=True, kw_only=True, tag_field="kind", tag="came-back"):
    """The trouble is there again after a remedy."""


class Place(_Record, frozen=True, kw_only=True, tag_field="kind", tag="place"):
    """Where the technician is: on the phone, or at the machine."""

    where: Literal["phone", "site"]


class Visit(_Record, frozen=True, kw_only=True, tag_field="kind", tag="visit"):
    """A trip agreed on, its window (UTC) and how it ended; ``words``: how to get in."""

    status: VisitStatus
    arrive_from: Moment | None = None
    arrive_until: Moment | None = None
    technician: Code | None = None
    on_site: OnSite | None = None
    skills: Annotated[list[Code], Meta(max_length=10)] = []
    people: Annotated[int, Meta(ge=1, le=4)] = 1
    words: Ref | None = None
    reason: Trouble | None = None


class PartsAboard(_Record, frozen=True, kw_only=True, tag_field="kind", tag="parts-aboard"):
    """Part kinds that are on the van, or are not, against what it usually carries."""

    aboard: Codes = []
    not_aboard: Codes = []


class CautionRead(_Record, frozen=True, kw_only=True, tag_field="kind", tag="caution"):
    """A caution was read and acknowledged before a step; ``by`` is the account that did."""

    caution: Code
    step: Code
    by: Code | None = None


class AdviceShown(_Record, frozen=True, kw_only=True, tag_field="kind", tag="advice"):
    """What was advised: step ids by rank, and the leading causes with their chances."""

    steps: Codes = []
    first: Code | None = None
    leading: dict[Code, Chance] = {}


class Closing(_Record, frozen=True, kw_only=True, tag_field="kind", tag="closing"):
    """The end of a job: what it was, and how that was made sure."""

    causes: Codes = []
    confirmed_by: ConfirmedBy
    words: Ref | None = None


class PersonNamed(_Record, frozen=True, kw_only=True, tag_field="kind", tag="person"):
    """Whose job it is, by reference; the latest one counts."""

    ref: Ref


class WordsKept(_Record, frozen=True, kw_only=True, tag_field="kind", tag="words"):
    """Words kept beside the facts, and what they are about."""

    ref: Ref
    about: Literal["trouble", "machine", "step", "closing", "other"] = "other"


class PhotoKept(_Record, frozen=True, kw_only=True, tag_field="kind", tag="photo"):
    """A photo kept beside the facts, and what it shows."""

    ref: Ref
    of: Literal["rating-plate", "panel", "machine", "part", "other"] = "other"
    when: Literal["before", "after"] | None = None  # None: by the first remedy on the line


class Retract(_Record, frozen=True, kw_only=True, tag_field="kind", tag="retract"):
    """Takes one fact back; taking back a take-back brings the fact to life again."""

    fact: Ref
    reason: Slip = "other"


Body = (
    Machine
    | Reported
    | Indication
    | DangerTold
    | Payer
    | Consent
    | Context
    | CheckDone
    | ReadingDone
    | RemedyDone
    | ConditionAsked
    | CameBack
    | Place
    | Visit
    | PartsAboard
    | CautionRead
    | AdviceShown
    | Closing
    | PersonNamed
    | WordsKept
    | PhotoKept
    | Retract
    | PanelBody
    | PartUsed
    | AfterBody
    | MoneyBody
    | WaitingBody
    | RecordingBody
    | SafetyBody
)
KINDS: tuple[str, ...] = tuple(str(kind.__struct_config__.tag) for kind in get_args(Body))
"""Every kind of fact, by the name it is stored under."""

_DECODER: msgspec.json.Decoder[Body] = msgspec.json.Decoder(Body)


def kind_of(body: Body) -> str:
    """The name a body's kind is stored under."""
    return str(body.__struct_config__.tag)


def encoded(body: Body) -> str:
    """The body as canonical JSON: equal bodies give equal texts.

    Raises
    ------
    FactError
        When the body holds what its kind does not allow.
    """
    try:
        text = msgspec.json.encode(body, order="sorted").decode()
    except (ValueError, TypeError, UnicodeError) as wrong:
        raise _refused(wrong) from None
    if decoded(text) != body:
        msg = "this fact cannot be kept: it holds a number that is none"
        raise FactError(msg)
    return text


def decoded(text: str | bytes) -> Body:
    """The body that a JSON text holds, checked strictly.

    Raises
    ------
    FactError
        Naming the field that is wrong.
    """
    try:
        return _DECODER.decode(text)
    except (msgspec.DecodeError, UnicodeError) as wrong:
        raise _refused(wrong) from None


def _refused(wrong: Exception) -> FactError:
    return FactError(f"this fact cannot be kept: {wrong}")
