"""Rows of the shop's parts: articles, offers, fits and movements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import TypeVar

from sqlalchemy import CompoundSelect, Connection, Table, delete, func, insert, select, union_all

from tubside.errors import StockError
from tubside.store.tables import PART_FITS, PART_MOVES, PART_OFFERS, PARTS

Row = TypeVar("Row", "OfferRow", "FitRow", "MoveRow")


@dataclass(frozen=True, slots=True)
class PartRow:
    """An article; ``kinds`` is JSON."""

    number: str
    title: str
    kinds: str
    barcode: str | None
    room: float
    retired: bool
    kept_at: datetime


@dataclass(frozen=True, slots=True)
class OfferRow:
    """A supplier's price of a part [cents] and how long it takes [days]."""

    id: str
    part: str
    supplier: str
    code: str
    price: int
    lead_days: float
    kept_at: datetime


@dataclass(frozen=True, slots=True)
class FitRow:
    """How surely a part fits a model, or any of a family."""

    id: str
    part: str
    model: str
    sure: str
    kept_at: datetime


@dataclass(frozen=True, slots=True)
class MoveRow:
    """Units from one place to another; None is outside."""

    id: str
    number: int
    part: str
    source: str | None
    target: str | None
    units: int
    reason: str
    despite: str | None
    job: str | None
    author: str
    at: datetime


def put_part(connection: Connection, row: PartRow) -> None:
    """Write an article anew, or for the first time."""
    if connection.execute(select(PARTS.c.number).where(PARTS.c.number == row.number)).first():
        connection.execute(PARTS.update().where(PARTS.c.number == row.number).values(asdict(row)))
    else:
        connection.execute(insert(PARTS).values(asdict(row)))


def _moved() -> CompoundSelect[str, str, int]:
    """Units that came to each place, and below nought those that left it."""
    ways = []
    for side, sign in ((PART_MOVES.c.target, 1), (PART_MOVES.c.source, -1)):
        total = func.sum(sign * PART_MOVES.c.units)
        query = select(PART_MOVES.c.part, side, total).where(side.is_not(None))
        ways.append(query.group_by(PART_MOVES.c.part, side))
    return union_all(*ways)


_MOVED = _moved()  # put together once: every page of a job asks it


def part(connection: Connection, number: str) -> PartRow | None:
    """One article."""
    found = connection.execute(select(PARTS).where(PARTS.c.number == number)).first()
    return None if found is None else PartRow(*found)


def with_barcode(connection: Connection, code: str) -> list[str]:
    """Numbers of the articles with this barcode."""
    query = select(PARTS.c.number).where(PARTS.c.barcode == code).order_by(PARTS.c.number)
    return [str(number) for number in connection.execute(query).scalars()]


def all_parts(connection: Connection) -> list[PartRow]:
    """Every article, by number."""
    return [PartRow(*row) for row in connection.execute(select(PARTS).order_by(PARTS.c.number))]


def add(connection: Connection, row: OfferRow | FitRow | MoveRow) -> bool:
    """Append an offer, a fit or a movement; False when that very one was kept before.

    Raises
    ------
    StockError
        When another one has its id.
    """
    table = _table_of(row)
    there = connection.execute(select(table).where(table.c.id == row.id)).mappings().first()
    if there is None:
        connection.execute(insert(table).values(asdict(row)))
        return True
    if _differ(dict(there), asdict(row)):
        msg = f"the reference {row.id} is taken; give this a reference of its own"
        raise StockError(msg)
    return False


def _table_of(row: OfferRow | FitRow | MoveRow) -> Table:
    return {OfferRow: PART_OFFERS, FitRow: PART_FITS, MoveRow: PART_MOVES}[type(row)]


def _differ(there: Mapping[str, object], row: Mapping[str, object]) -> bool:
    aside = {"kept_at", "at", "number", "author"}
    return any(there[key] != value for key, value in row.items() if key not in aside)


def offers(connection: Connection, number: str | None = None) -> list[OfferRow]:
    """Offers of a part, or of all, in the order in which they were kept."""
    query = select(PART_OFFERS).order_by(PART_OFFERS.c.kept_at, PART_OFFERS.c.id)
    query = query if number is None else query.where(PART_OFFERS.c.part == number)
    return [OfferRow(*row) for row in connection.execute(query)]


def fits(connection: Connection, number: str | None = None) -> list[FitRow]:
    """Fits of a part, or of all, in the order in which they were kept."""
    query = select(PART_FITS).order_by(PART_FITS.c.kept_at, PART_FITS.c.id)
    query = query if number is None else query.where(PART_FITS.c.part == number)
    return [FitRow(*row) for row in connection.execute(query)]


def moves(
    connection: Connection, number: str | None = None, job: str | None = None
) -> list[MoveRow]:
    """Movements of a part or a job, or all, in the order of their numbers."""
    query = select(PART_MOVES).order_by(PART_MOVES.c.number)
    query = query if number is None else query.where(PART_MOVES.c.part == number)
    query = query if job is None else query.where(PART_MOVES.c.job == job)
    return [MoveRow(*row) for row in connection.execute(query)]


def move(connection: Connection, name: str) -> MoveRow | None:
    """One movement."""
    found = connection.execute(select(PART_MOVES).where(PART_MOVES.c.id == name)).first()
    return None if found is None else MoveRow(*found)


def next_move(connection: Connection) -> int:
    """The number of the next movement."""
    last = connection.execute(select(func.max(PART_MOVES.c.number))).scalar()
    return 1 if last is None else int(last) + 1


def stock(connection: Connection) -> dict[tuple[str, str], int]:
    """Units by (part, place), places with none left out."""
    held: dict[tuple[str, str], int] = {}
    for number, place, units in connection.execute(_MOVED):
        held[number, place] = held.get((number, place), 0) + int(units)
    return {key: units for key, units in held.items() if units}


def units_at(connection: Connection, number: str, place: str) -> int:
    """Units of a part at one place, below nought where more went out than came in."""
    total = 0
    for side, sign in ((PART_MOVES.c.target, 1), (PART_MOVES.c.source, -1)):
        query = select(func.coalesce(func.sum(PART_MOVES.c.units), 0))
        query = query.where((PART_MOVES.c.part == number) & (side == place))
        total += sign * int(connection.execute(query).scalar() or 0)
    return total


def drop_part(connection: Connection, number: str) -> bool:
    """Take an article out that never moved; whether it could be."""
    if moves(connection, number):
        return False
    for table in (PART_OFFERS, PART_FITS):
        connection.execute(delete(table).where(table.c.part == number))
    connection.execute(delete(PARTS).where(PARTS.c.number == number))
    return True
