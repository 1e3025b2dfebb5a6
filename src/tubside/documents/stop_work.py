"""A note that work stopped: why, how the machine was left, what is owed, what may follow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tubside.documents.amounts import Currency
from tubside.documents.parties import Acceptance, DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWork:
    """Work that stopped before its end; amounts in cents."""

    number: str
    dated: date
    currency: Currency
    shop: Party
    customer: Party
    machine: DocumentMachine
    job: str = ""
    cautions: tuple[str, ...] = ()  # what can hurt in the state it is left in
    reason: str
    state: str  # how the machine was left
    usable: bool = False
    agreed: int = 0  # what was agreed
    owed: int = 0  # for what was done
    expected: int = 0  # what going on would cost; 0 when not known
    choices: tuple[str, ...] = ()
    acceptance: Acceptance | None = None
    notes: tuple[str, ...] = ()
