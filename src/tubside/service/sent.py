"""What a phone sends once it has signal again: facts and what lies beside them, each checked.

One that is wrong does not spoil the others: it is refused by itself, with its reason,
and the phone goes on holding it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from tubside.errors import FactError
from tubside.service.people import PersonData
from tubside.service.records import Body, Code, Moment, Ref, decoded
from tubside.service.writing import MOST_DEVICES, Number

FORMAT = 1
"""Of the batches that phones send; later programs go on reading it."""
MOST_FACTS, MOST_BESIDE, MOST_JOBS = 1000, 50, 200
"""In one batch; a phone with more sends several."""

Phone = Annotated[str, Meta(pattern=r"\Aphone-[A-Za-z0-9_-]{8,60}\Z")]
"""The name that a phone gives its facts; the server's own names are others."""
Seen = Annotated[dict[Code, Annotated[int, Meta(ge=0, le=2**53)]], Meta(max_length=MOST_DEVICES)]


class Batch(msgspec.Struct, frozen=True):
    """One message of a phone; ``known`` says for each job what it had seen of whom."""

    device: Phone
    format: Literal[1] = 1
    user: Annotated[str, Meta(max_length=80)] = ""
    facts: Annotated[list[msgspec.Raw], Meta(max_length=MOST_FACTS)] = []
    beside: Annotated[list[msgspec.Raw], Meta(max_length=MOST_BESIDE)] = []
    known: Annotated[dict[Ref, Seen], Meta(max_length=MOST_JOBS)] = {}


class SentFact(msgspec.Struct, frozen=True):
    """A fact with its authorship, all but the device, which is that of the batch."""

    id: Ref
    job: Ref
    sequence: Number
    at: Moment
    body: msgspec.Raw
    seen: Seen = {}
    computed_from: Annotated[str, Meta(pattern=r"\A[0-9a-f]{64}\Z")] | None = None

    def told(self) -> Body:
        """What it says; FactError when its kind does not allow it."""
        return decoded(bytes(self.body))


class SentWords(msgspec.Struct, frozen=True, tag_field="what", tag="words"):
    """Words that a fact refers to."""

    ref: Ref
    job: Ref
    text: str


class SentPhoto(msgspec.Struct, frozen=True, tag_field="what", tag="photo"):
    """A photo that a fact refers to, in Base64 (RFC 4648, section 4)."""

    ref: Ref
    job: Ref
    content: bytes


class SentPerson(msgspec.Struct, frozen=True, tag_field="what", tag="person"):
    """Name and address that a fact refers to; ``replaces`` names those they correct."""

    ref: Ref
    job: Ref
    data: PersonData
    replaces: Ref | None = None


SentBeside = SentWords | SentPhoto | SentPerson


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was not kept: what is wrong, where, and how to mend it."""

    what: str
    where: str
    mend: str


@dataclass(frozen=True, slots=True)
class Result:
    """What became of one thing sent, by its id or reference ("" when it had none)."""

    id: str
    result: Literal["kept", "there", "refused"]
    why: Reason | None = None


TELL_AGAIN = "tell it again on the job's page, then let this one go"


def refused(name: str, what: str, where: str, mend: str = TELL_AGAIN) -> Result:
    """A refusal with its reason."""
    return Result(name, "refused", Reason(what, where, mend))


def read_batch(content: bytes) -> Batch:
    """The batch that a message holds; its facts are not looked at yet.

    Raises
    ------
    FactError
        When the message as a whole cannot be read.
    """
    try:
        return msgspec.json.decode(content, type=Batch)
    except (msgspec.DecodeError, UnicodeError) as wrong:
        msg = f"this message of a phone cannot be read: {wrong}; reload the page and send again"
        raise FactError(msg) from None


def read_fact(raw: msgspec.Raw, place: int) -> tuple[SentFact, Body] | Result:
    """One fact of a batch and what it says, or why it is refused."""
    where = f"fact {place + 1} of the message"
    try:
        sent = msgspec.json.decode(raw, type=SentFact)
    except (msgspec.DecodeError, UnicodeError) as wrong:
        return refused(id_in(raw, "id"), f"this fact cannot be read: {wrong}", where)
    try:
        return sent, sent.told()
    except FactError as wrong:
        return refused(sent.id, str(wrong), f"{where}, of job {sent.job}")


def read_beside(raw: msgspec.Raw, place: int) -> SentBeside | Result:
    """One thing beside the facts, or why it is refused."""
    try:
        found: SentBeside = msgspec.json.decode(raw, type=SentBeside)
    except (msgspec.DecodeError, UnicodeError) as wrong:
        what = f"this cannot be read: {wrong}"
        return refused(id_in(raw, "ref"), what, f"thing {place + 1} beside the facts")
    return found


def id_in(raw: msgspec.Raw, key: str) -> str:
    """The id in something that is wrong otherwise, "" when it has none."""
    try:
        found = msgspec.json.decode(raw)
    except (msgspec.DecodeError, UnicodeError):
        return ""
    name = found.get(key) if isinstance(found, dict) else None
    return name[:64] if isinstance(name, str) else ""
