"""Units from place to place: appended, numbered here, and never below nought without a reason."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Literal, get_args

from sqlalchemy import Connection

from tubside.errors import StockError
from tubside.service.parts.articles import need_part
from tubside.service.refs import check_ref
from tubside.store import parts as kept
from tubside.store.opening import Store
from tubside.store.parts import MoveRow

WORKSHOP, ON_ORDER, VAN = "workshop", "on-order", "van:"
PLACE = re.compile(r"workshop|on-order|van:[a-z0-9]([a-z0-9._-]{0,38}[a-z0-9])?")
MOST_UNITS = 10_000

Reason = Literal[
    "ordered", "received", "order-cancelled", "loaded", "unloaded", "used", "not-used-after-all",
    "sent-back", "lost", "broken", "found", "counted",
]  # fmt: skip
Despite = Literal["not-booked-in", "miscounted", "borrowed", "told-afterwards"]
"""Why a place holds fewer than nothing in the books."""

WAYS: Mapping[Reason, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "ordered": (("",), (ON_ORDER,)),
    "received": ((ON_ORDER, ""), (WORKSHOP, VAN)),
    "order-cancelled": ((ON_ORDER,), ("",)),
    "loaded": ((WORKSHOP, VAN), (VAN,)),
    "unloaded": ((VAN,), (WORKSHOP,)),
    "used": ((VAN, WORKSHOP), ("",)),
    "not-used-after-all": (("",), (VAN, WORKSHOP)),
    "sent-back": ((WORKSHOP, VAN), ("",)),
    "lost": ((WORKSHOP, VAN), ("",)),
    "broken": ((WORKSHOP, VAN), ("",)),
    "found": (("",), (WORKSHOP, VAN)),
    "counted": (("", WORKSHOP, VAN), ("", WORKSHOP, VAN)),
}
"""Reason -> from which kinds of place to which; "" is outside the shop."""


@dataclass(frozen=True, slots=True)
class Move:
    """Units of a part from one place to another, None being outside, and why."""

    part: str
    units: int
    source: str | None
    target: str | None
    reason: Reason
    despite: Despite | None = None
    job: str | None = None


@dataclass(frozen=True, slots=True)
class Hand:
    """Who moves and when; ``ref`` is the reference that makes it count once."""

    ref: str
    author: str
    now: datetime


def move(store: Store, told: Move, by: Hand) -> MoveRow:
    """Append a movement; the same one under the same reference again changes nothing.

    Raises
    ------
    NotThereError
        When there is no such part.
    StockError
        When it cannot be, or would take a place below nought and no reason is told.
    """
    with store.writing() as opened:
        return move_in(opened, told, by)


def move_in(opened: Connection, told: Move, by: Hand) -> MoveRow:
    """Append a movement inside a transaction."""
    check_ref(by.ref)
    need_part(opened, told.part)
    _check(told)
    there = kept.move(opened, by.ref)
    if there is None and told.source is not None and told.despite is None:
        _refuse_below_nought(opened, told)
    row = MoveRow(
        id=by.ref,
        number=kept.next_move(opened),
        part=told.part,
        source=told.source,
        target=told.target,
        units=told.units,
        reason=told.reason,
        despite=told.despite,
        job=told.job,
        author=by.author,
        at=by.now,
    )
    kept.add(opened, row)
    return row if there is None else there


def counted(store: Store, part: str, place: str, units: int, by: Hand) -> MoveRow | None:
    """Set a place right after counting: the difference is moved in or out; None if it agrees.

    Raises
    ------
    StockError
        When the place or the number cannot be.
    """
    if not 0 <= units <= MOST_UNITS:
        msg = f"count from 0 to {MOST_UNITS} units"
        raise StockError(msg)
    with store.writing() as opened:
        there = kept.move(opened, by.ref)
        if there is not None:
            return there
        more = units - kept.units_at(opened, part, place)
        if not more:
            need_part(opened, part)
            return None
        source, target = (None, place) if more > 0 else (place, None)
        told = Move(part, abs(more), source, target, "counted")
        return move_in(opened, told, by)


def _check(told: Move) -> None:
    if not 1 <= told.units <= MOST_UNITS:
        msg = f"move from 1 to {MOST_UNITS} units"
        raise StockError(msg)
    for place in (told.source, told.target):
        if place is not None and not PLACE.fullmatch(place):
            msg = f"'{place}' is no place; use workshop, on-order or van: and the van's name"
            raise StockError(msg)
    if told.reason not in WAYS:
        msg = f"'{told.reason}' is no reason; use one of {', '.join(WAYS)}"
        raise StockError(msg)
    if told.despite is not None and told.despite not in get_args(Despite):
        msg = f"'{told.despite}' does not say why; use one of {', '.join(get_args(Despite))}"
        raise StockError(msg)
    sources, targets = WAYS[told.reason]
    right = _kind(told.source) in sources and _kind(told.target) in targets
    if not right or told.source == told.target:
        msg = (
            f"what is {told.reason.replace('-', ' ')} goes from "
            f"{place_words(told.source)} to {place_words(told.target)}? Choose other places"
        )
        raise StockError(msg)


def _kind(place: str | None) -> str:
    return "" if place is None else VAN if place.startswith(VAN) else place


def _refuse_below_nought(opened: Connection, told: Move) -> None:
    assert told.source is not None
    held = kept.units_at(opened, told.part, told.source)
    if held < told.units:
        msg = (
            f"{place_words(told.source)} holds {held} of {told.part} in the books, not "
            f"{told.units}; say why all the same (not booked in, miscounted, borrowed)"
        )
        raise StockError(msg)


def place_words(place: str | None) -> str:
    """A place in words.

    >>> place_words("van:ida"), place_words(None)
    ('van ida', 'outside')
    """
    if place is None:
        return "outside"
    return place.replace(VAN, "van ").replace(ON_ORDER, "on order")


def move_all(store: Store, told: Sequence[Move], by: Hand) -> None:
    """Append movements, all or none, each under a reference made from the hand's.

    Raises
    ------
    NotThereError, StockError
        As :func:`move`; then nothing is kept.
    """
    with store.writing() as opened:
        for number, one in enumerate(told):
            ref = sha256(f"{check_ref(by.ref)} {number} {one.part}".encode()).hexdigest()[:32]
            move_in(opened, one, Hand(ref, by.author, by.now))
