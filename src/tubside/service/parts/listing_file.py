"""A list of parts from a table in a file: read whole, every mistake told by its line."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from io import StringIO

from sqlalchemy import Connection

from tubside.errors import PartsFileError, Problem, TubsideError
from tubside.service.parts.articles import (
    Article,
    Offer,
    check_article,
    check_offer,
    keep_article_in,
    keep_offer_in,
    offers_now,
)
from tubside.service.parts.moving import PLACE, Hand, Move, move_in
from tubside.store import parts as kept
from tubside.store.opening import Store

COLUMNS = ("number", "title", "kinds", "barcode", "room", "supplier", "code", "price",
           "lead_days", "place", "units")  # fmt: skip
NEEDED = ("number", "title")
LARGEST, MOST_LINES = 2_000_000, 20_000


@dataclass(frozen=True, slots=True)
class Line:
    """One line: an article, perhaps an offer, perhaps units found at a place."""

    article: Article
    offer: Offer | None
    place: str
    units: int


@dataclass(frozen=True, slots=True)
class Brought:
    """What a list brings: how many parts are new, changed, and units counted in."""

    new: int
    changed: int
    offers: int
    units: int


def read_list(content: bytes, name: str = "parts list") -> list[Line]:
    """The lines of a list of parts, in CSV with a first line of names, in UTF-8.

    Columns: number, title (both needed), kinds (family/kind, parted by spaces), barcode, room,
    supplier, code, price, lead_days, place, units. Comma or semicolon parts them.

    Raises
    ------
    PartsFileError
        Naming every line in which something is wrong.
    """
    rows = _rows(content, name)
    lines: list[Line] = []
    problems: list[Problem] = []
    seen: dict[str, tuple[int, Article]] = {}
    for number, row in rows:
        try:
            line = _line(row)
        except (TubsideError, ValueError) as wrong:
            problems.append(_problem(name, number, str(wrong)))
            continue
        first = seen.setdefault(line.article.number, (number, line.article))
        if first[1] != line.article:
            what = f"{line.article.number} stands otherwise in line {first[0]}"
            problems.append(Problem(name, number, what, "write it the same, or give it a number"))
        lines.append(line)
    if problems:
        raise PartsFileError(problems)
    return lines


def bring_in(store: Store, lines: list[Line], by: Hand, *, dry_run: bool) -> Brought:
    """Keep all lines, or with ``dry_run`` only tell what they would bring.

    Articles are changed to what the list says; an offer that says the same as the latest
    is left. Units are found at their places: bring a list of stock once.

    Raises
    ------
    StockError
        When a barcode is another part's; then nothing is kept.
    """
    with store.reading() as opened:
        told = _told(opened, lines)
    if not dry_run:
        with store.writing() as opened:
            told = _told(opened, lines)
            for number, line in enumerate(lines):
                _keep(opened, line, Hand(_ref(by.ref, number), by.author, by.now), by.now)
    return told


def _keep(opened: Connection, line: Line, by: Hand, now: datetime) -> None:
    keep_article_in(opened, line.article, now)
    part = line.article.number
    if line.offer is not None and not _same_offer(opened, part, line.offer):
        keep_offer_in(opened, by.ref, part, line.offer, now)
    if line.units:
        move_in(opened, Move(part, line.units, None, line.place, "found"), by)


def _told(opened: Connection, lines: list[Line]) -> Brought:
    there = {row.number: row for row in kept.all_parts(opened)}
    articles = {line.article.number: line.article for line in lines}
    new = [number for number in articles if number not in there]
    offers = [x for x in lines if x.offer and not _same_offer(opened, x.article.number, x.offer)]
    units = sum(line.units for line in lines)
    return Brought(len(new), len(articles) - len(new), len(offers), units)


def _same_offer(opened: Connection, part: str, offer: Offer) -> bool:
    now = offers_now(kept.offers(opened, part)).get(part, [])
    same = (offer.supplier, offer.price, offer.lead_days, offer.code)
    return any((row.supplier, row.price, row.lead_days, row.code) == same for row in now)


def _ref(ref: str, number: int) -> str:
    return sha256(f"{ref} {number}".encode()).hexdigest()[:32]


def _rows(content: bytes, name: str) -> list[tuple[int, Mapping[str, str]]]:
    if len(content) > LARGEST:
        raise PartsFileError([_problem(name, 1, "the list has more than 2 million bytes")])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise PartsFileError([_problem(name, 1, "the list is not in UTF-8")]) from None
    first = text.partition("\n")[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    read = csv.DictReader(StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        names = [field.strip().lower() for field in read.fieldnames or []]
        rows = _numbered(read)
    except csv.Error as wrong:
        raise PartsFileError([_problem(name, max(read.line_num, 1), str(wrong))]) from None
    _check_names(name, names)
    told: list[tuple[int, Mapping[str, str]]] = []
    for number, items in rows:
        values = {str(key or "").strip().lower(): value for key, value in items}
        if any(not isinstance(value, str) for value in values.values()):
            what = "the line has more or fewer columns than the first one"
            raise PartsFileError([_problem(name, number, what)])
        told.append((number, {key: value.strip() for key, value in values.items()}))
    return told


def _numbered(read: csv.DictReader[str]) -> list[tuple[int, list[tuple[str, str]]]]:
    """Every row with the number of the line that it ends on."""
    rows = []
    for row in read:
        rows.append((read.line_num, list(row.items())))
        if len(rows) > MOST_LINES:
            msg = f"more than {MOST_LINES} lines"
            raise csv.Error(msg)
    return rows


def _check_names(name: str, names: list[str]) -> None:
    missing = [column for column in NEEDED if column not in names]
    strange = [column for column in names if column not in COLUMNS]
    twice = len(set(names)) < len(names)
    if missing or strange or twice:
        what = (
            f"the first line lacks {', '.join(missing)}"
            if missing
            else f"there is no column '{strange[0]}'"
            if strange
            else "a column is named twice"
        )
        raise PartsFileError([Problem(name, 1, what, f"use some of {', '.join(COLUMNS)}")])


def _line(row: Mapping[str, str]) -> Line:
    article = check_article(
        Article(
            number=row["number"],
            title=row["title"],
            kinds=tuple(sorted(row.get("kinds", "").split())),
            barcode=row.get("barcode", ""),
            room=_number(row, "room", 1.0),
        )
    )
    units = _number(row, "units", 0.0)
    place = row.get("place", "") or "workshop"
    if units != int(units) or not 0 <= units <= 10_000:
        msg = "units are a whole number from 0 to 10000"
        raise ValueError(msg)
    if not PLACE.fullmatch(place) or place == "on-order":
        msg = f"'{place}' is no place; use workshop or van: and the van's name"
        raise ValueError(msg)
    return Line(article, _offer(row), place, int(units))


def _offer(row: Mapping[str, str]) -> Offer | None:
    if not (row.get("supplier") or row.get("price")):
        return None
    price = round(100.0 * _number(row, "price", None))
    offer = Offer(
        row.get("supplier", ""), price, _number(row, "lead_days", 7.0), row.get("code", "")
    )
    check_offer(offer)
    return offer


def _number(row: Mapping[str, str], name: str, otherwise: float | None) -> float:
    text = row.get(name, "")
    if not text and otherwise is not None:
        return otherwise
    read: Callable[[str], float] = float
    try:
        value = read(text.replace(",", "."))
    except ValueError:
        value = float("nan")
    if not 0.0 <= value <= 1e9:
        msg = f"'{text}' is no {name.replace('_', ' ')}; write a number such as 12.50"
        raise ValueError(msg) from None
    return value


def _problem(name: str, line: int, what: str) -> Problem:
    head, _, mend = what.partition("; ")
    return Problem(name, line, head, mend or "mend it and bring the list again")
