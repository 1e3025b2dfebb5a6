"""Rows of an old list as closed jobs, by which column holds what and what its words mean."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Literal

import msgspec

from tubside.errors import Problem
from tubside.learning.history import CODE, MILLION, SURE, ClosedJob, Sure
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack
from tubside.service.learning.history import OWN_SHOP
from tubside.service.learning.old_lists import OldList
from tubside.service.open_repair_data import TITLES

Order = Literal["day-month", "month-day"]
Field = Literal["closed", "family", "complaint", "cause", "sure", "age_years", "model"]
FIELDS: Mapping[Field, str] = {
    "closed": "day of closing",
    "family": "kind of machine",
    "complaint": "trouble as it was told",
    "cause": "what it was",
    "sure": "how it was made sure",
    "age_years": "age in years",
    "model": "model",
}
"""What a column may hold -> its words."""
KNOWN_BY: tuple[Field, ...] = ("closed", "family", "complaint", "cause")
"""What tells one row from another, beside its number among its like: nobody's data."""
GUESSES: Mapping[Field, tuple[str, ...]] = {
    "closed": ("closed", "date", "day", "closed on", "finished", "event_date"),
    "family": ("family", "kind", "machine", "type", "appliance"),
    "complaint": ("complaint", "trouble", "symptom", "reported"),
    "cause": ("cause", "fault", "found", "diagnosis", "repair"),
    "sure": ("sure", "confirmed_by", "confirmed"),
    "age_years": ("age_years", "age", "product_age"),
    "model": ("model",),
}
OPEN_REPAIR = frozenset({"partner_product_category", "repair_status", "event_date", "problem"})
"""Columns by which a list in the Open Repair Data Standard is known."""
LEFT_OUT, UNKNOWN = "-", "?"
"""Meanings of a word: rows with it are left out; it tells nothing."""
OLDEST_YEARS = 80.0
ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
PARTS = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?!\d)")
CAUSE_IN = re.compile(r"Cause: (.+)\Z")


class Layout(msgspec.Struct, frozen=True, kw_only=True):
    """Which column holds what, what its words mean, and how dates are written."""

    columns: dict[str, str] = {}
    """Field -> name of the column."""
    words: dict[str, dict[str, str]] = {}
    """Field -> word, in small letters -> id, or left out, or unknown."""
    order: Order = "day-month"
    sure: Sure = "remedy-worked"
    """Of jobs with a cause, where no column says how it was made sure."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What a list comes to: jobs by the hash of their row, rows left out, and what is wrong."""

    jobs: dict[str, ClosedJob]
    left_out: int
    problems: tuple[Problem, ...]
    unknown_words: tuple[tuple[str, str, int], ...]
    """Field, word, and how many rows hold it, of words that nothing is known of."""


def is_open_repair(sheet: OldList) -> bool:
    """Whether a list is in the Open Repair Data Standard."""
    return set(sheet.columns) >= OPEN_REPAIR


def guessed(sheet: OldList, before: Layout | None = None) -> Layout:
    """A layout by the names of the columns and the dates, on top of what was remembered."""
    order = _order(row.get(_column(sheet, "closed"), "") for _, row in sheet.rows)
    if before is not None:
        return before if order is None else msgspec.structs.replace(before, order=order)
    columns: dict[str, str] = {field: found for field in FIELDS if (found := _column(sheet, field))}
    return Layout(columns=columns, order=order or "day-month")


def taken(sheet: OldList, layout: Layout, packs: Mapping[str, Pack], today: date) -> Taken:
    """Every row as a closed job; problems by line.

    Parameters
    ----------
    packs : mapping
        Family -> its pack.
    today : date
        No job is closed later.
    """
    rows = [(line, _fields(sheet, layout, row)) for line, row in sheet.rows]
    jobs: dict[str, ClosedJob] = {}
    problems: list[Problem] = []
    unknown: Counter[tuple[str, str]] = Counter()
    times: Counter[str] = Counter()
    left_out = 0
    for line, told in rows:
        name = "\x1f".join(told[field] for field in KNOWN_BY)
        times[name] += 1
        digest = sha256(f"{name}\x1d{times[name]}".encode()).hexdigest()[:32]
        try:
            found = _job(digest, told, layout, packs)
        except _NewWordError as new:
            unknown[new.args[0], new.args[1]] += 1
            continue
        except _WrongRowError as wrong:
            problems.append(_problem(line, *wrong.args))
            continue
        if found is None:
            left_out += 1
        elif found.closed > today:
            problems.append(_problem(line, "it was closed after today", "mend its date"))
        else:
            jobs[digest] = found
    words = tuple((field, word, often) for (field, word), often in unknown.most_common())
    return Taken(jobs, left_out, tuple(problems), words)


class _WrongRowError(Exception):
    """What is wrong with a row, and how to mend it."""


class _NewWordError(Exception):
    """A field and a word that nothing is known of."""


def _job(
    digest: str, told: Mapping[str, str], layout: Layout, packs: Mapping[str, Pack]
) -> ClosedJob | None:
    """The job of a row; None where it is left out."""
    kinds = {name: pack.title for name, pack in packs.items()}
    family = _meaning(layout, "family", told["family"], kinds, needed=told.get("open") != "yes")
    if family in {LEFT_OUT, UNKNOWN, ""}:
        return None
    pack = packs[family]
    causes = {name: cause.title for name, cause in pack.causes.items()}
    word = _first_title(told["cause"], causes) if told.get("open") == "yes" else told["cause"]
    cause = _meaning(layout, "cause", word, causes | {it: it for it in HEALTHY_IDS})
    conditions = {name: it.title for name, it in pack.conditions.items()}
    complaint = _meaning(layout, "complaint", told["complaint"], conditions)
    if LEFT_OUT in {cause, complaint}:
        return None
    known = cause if cause != UNKNOWN else ""
    return ClosedJob(
        job=digest,
        closed=_need_day(told["closed"], layout.order),
        family=family,
        model=told["model"].lower() if CODE.match(told["model"].lower()) else "",
        shop=OWN_SHOP,
        complaint=complaint if complaint != UNKNOWN else "",
        age_years=_age(told["age_years"]),
        causes={known: MILLION} if known else {},
        several=round(MILLION * pack.second_fault_share),
        sure=_sure(told["sure"], layout) if known else "not-confirmed",
    )


def _need_day(text: str, order: Order) -> date:
    day = _day(text, order)
    if day is None:
        what = f"{text!a} is no day" if text else "it does not say when it was closed"
        raise _WrongRowError(what, "write it like 2024-03-02 or 2.3.2024")
    return day


def _age(text: str) -> float | None:
    """Years, with a point or a comma; None for none."""
    if not text:
        return None
    try:
        age = float(text.replace(",", "."))
    except ValueError:
        age = -1.0
    if not 0.0 <= age <= OLDEST_YEARS:
        what = f"{text!a} is no age in years"
        raise _WrongRowError(what, "write a number such as 7 or 7,5")
    return age


def _meaning(
    layout: Layout, field: Field, word: str, titles: Mapping[str, str], *, needed: bool = False
) -> str:
    """The id that a word stands for: as it was told, or an id or a title of the pack itself."""
    small = word.casefold()
    told = layout.words.get(field, {}).get(small)
    if told is not None and (told in titles or told in {LEFT_OUT, UNKNOWN}):
        return told
    for name, title in titles.items():
        if small in {name.casefold(), title.casefold()}:
            return name
    if word and (needed or field != "family"):
        raise _NewWordError(field, word)
    if needed:
        what = f"it does not say the {FIELDS[field]}"
        raise _WrongRowError(what, "fill it in")
    return ""


def _first_title(words: str, titles: Mapping[str, str]) -> str:
    """The title that some words begin with, several of them being parted by commas; else none."""
    small = words.casefold()
    some = [title for title in titles.values() if small.startswith(title.casefold())]
    return max(some, key=len, default="")


def _fields(sheet: OldList, layout: Layout, row: Mapping[str, str]) -> dict[str, str]:
    if is_open_repair(sheet):
        return _open_repair(row)
    return {field: row.get(layout.columns.get(field, ""), "") for field in FIELDS}


def _open_repair(row: Mapping[str, str]) -> dict[str, str]:
    """The fields of a row of the standard; a cause only where words of our own name one."""
    titles = {title: family for family, title in TITLES.items()}
    kind = row["partner_product_category"]
    cause = CAUSE_IN.search(row["problem"])
    return {
        "closed": row["event_date"],
        "family": titles.get(kind, kind),
        "complaint": "",
        "cause": cause[1] if cause else "",
        "sure": "remedy-worked" if row["repair_status"] == "Fixed" else "not-confirmed",
        "age_years": row.get("product_age", ""),
        "model": "",
        "open": "yes",
    }


def _column(sheet: OldList, field: Field) -> str:
    names = {name.casefold(): name for name in sheet.columns}
    return next((names[guess] for guess in GUESSES[field] if guess in names), "")


def _sure(word: str, layout: Layout) -> Sure:
    return next((known for known in SURE if known == word.casefold()), layout.sure)


def _day(text: str, order: Order) -> date | None:
    """The day of a text, a time behind it left out.

    >>> _day("2.3.2024", "day-month"), _day("3/2/24 10:15", "month-day")
    (datetime.date(2024, 3, 2), datetime.date(2024, 3, 2))
    """
    if found := ISO.match(text):
        year, month, day = (int(part) for part in found.groups())
    elif found := PARTS.match(text):
        first, second, year = (int(part) for part in found.groups())
        day, month = (first, second) if order == "day-month" else (second, first)
        year = year if year >= 100 else 2000 + year
    else:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _order(texts: Iterable[str]) -> Order | None:
    """Whether the day or the month stands first, where some date tells; None where none does."""
    for first, second in _pairs(texts):
        if first > 12 >= second:
            return "day-month"
        if second > 12 >= first:
            return "month-day"
    return None


def _pairs(texts: Iterable[str]) -> Iterator[Sequence[int]]:
    for text in texts:
        if found := PARTS.match(text):
            yield int(found[1]), int(found[2])


def _problem(line: int, what: str, mend: str) -> Problem:
    return Problem("the list", line, what, mend)
