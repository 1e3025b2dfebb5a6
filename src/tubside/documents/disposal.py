"""A note of what was taken away for disposal, and where it goes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tubside.documents.parties import Acceptance, DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalItem:
    """One thing taken away or left behind."""

    what: str
    amount: str = "1"
    where_to: str = ""
    caution: str = ""  # such as "refrigerant: only by a licensed person"


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalNote:
    """What the shop took away, with the owner's agreement."""

    number: str
    dated: date
    shop: Party
    customer: Party
    machine: DocumentMachine
    job: str = ""
    whole_machine: bool = False
    items: tuple[DisposalItem, ...] = ()
    facility: Party | None = None
    rule: str = ""  # which law says how
    acceptance: Acceptance | None = None
    notes: tuple[str, ...] = ()
