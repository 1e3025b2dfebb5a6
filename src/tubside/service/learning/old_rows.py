"""Rows of an old list as closed jobs, by which column holds what and what its words mean."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from tubside.errors import Problem
from tubside.learning.history import CODE, MILLION, SURE, ClosedJob, Sure
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack
from tubside.service.learning.history import OWN_SHOP
from tubside.service.learning.old_columns import FIELDS, Field, Layout, is_open_repair, missing
from tubside.service.learning.old_days import Order, day_of
from tubside.service.learning.old_lists import OldList
from tubside.service.open_repair_data import TITLES

KNOWN_BY: tuple[Field, ...] = ("closed", "family", "complaint", "cause")
"""What tells one row from another, beside its number among its like: nobody's data."""
LEFT_OUT, UNKNOWN = "-", "?"
"""Meanings of a word: rows with it are left out; it tells nothing."""
OTHERS = "*"
"""Stands for all words that nothing else is said of."""
MOST_LETTERS = 200
OLDEST_YEARS = 80.0
CAUSE_IN = re.compile(r"Cause: (.+)\Z")


@dataclass(frozen=True, slots=True)
class Taken:
    """What a list comes to: jobs by the hash of their row, rows left out, and what is wrong."""

    jobs: dict[str, ClosedJob]
    left_out: int
    problems: tuple[Problem, ...]
    unknown_words: tuple[tuple[str, str, int], ...]
    """Field, word, and how many rows hold it, of words that nothing is known of.

    A cause or a trouble stands behind its family and a stroke, as in a layout.
    """


def taken(sheet: OldList, layout: Layout, packs: Mapping[str, Pack], today: date) -> Taken:
    """Every row as a closed job; problems by line.

    Parameters
    ----------
    packs : mapping
        Family -> its pack.
    today : date
        No job is closed later.
    """
    if lacking := missing(sheet, layout):
        what = f"no column is said to hold the {' and the '.join(lacking)}"
        return Taken({}, 0, (_problem(1, what, "say which one does"),), ())
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
            unknown.update(new.args)
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
    """Fields and words that nothing is known of."""


def _family(told: Mapping[str, str], layout: Layout, packs: Mapping[str, Pack]) -> str:
    """The family of a row; empty where the row is left out."""
    kinds = {name: pack.title for name, pack in packs.items()}
    found = _meaning(layout, "family", told["family"], kinds)
    if told.get("open") == "yes":
        return found if found is not None and found in packs else ""
    if found is None:
        raise _NewWordError(("family", told["family"]))
    found = found or layout.family
    if not found:
        what = f"it does not say the {FIELDS['family']}"
        raise _WrongRowError(what, "fill it in, or say what such rows are")
    return found if found in packs else ""


def _check_length(told: Mapping[str, str]) -> None:
    for field, words in FIELDS.items():
        if len(told[field]) > MOST_LETTERS:
            what = f"it has more than {MOST_LETTERS} letters for the {words}"
            raise _WrongRowError(what, "shorten it, or take another column")


def _job(
    digest: str, told: Mapping[str, str], layout: Layout, packs: Mapping[str, Pack]
) -> ClosedJob | None:
    """The job of a row; None where it is left out."""
    _check_length(told)
    family = _family(told, layout, packs)
    if not family:
        return None
    pack = packs[family]
    causes = {name: cause.title for name, cause in pack.causes.items()}
    conditions = {name: it.title for name, it in pack.conditions.items()}
    word = _first_title(told["cause"], causes) if told.get("open") == "yes" else told["cause"]
    cause = _meaning(layout, "cause", word, causes | {it: it for it in HEALTHY_IDS}, family)
    complaint = _meaning(layout, "complaint", told["complaint"], conditions, family)
    if LEFT_OUT in {cause, complaint}:
        return None
    asked: list[tuple[Field, str, str | None]] = [
        ("cause", word, cause),
        ("complaint", told["complaint"], complaint),
    ]
    if new := [(field, f"{family}/{said}") for field, said, found in asked if found is None]:
        raise _NewWordError(*new)
    known = cause if cause and cause != UNKNOWN else ""
    return ClosedJob(
        job=digest,
        closed=_need_day(told["closed"], layout.order),
        family=family,
        model=told["model"].lower() if CODE.match(told["model"].lower()) else "",
        shop=OWN_SHOP,
        complaint=complaint if complaint and complaint != UNKNOWN else "",
        age_years=_age(told["age_years"]),
        causes={known: MILLION} if known else {},
        sure=_sure(told["sure"], layout) if known else "not-confirmed",
        by_phone=None,
    )


def _need_day(text: str, order: Order) -> date:
    day = day_of(text, order)
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
    layout: Layout, field: Field, word: str, titles: Mapping[str, str], family: str = ""
) -> str | None:
    """The id that a word stands for: as it was told, or an id or a title of the pack itself.

    Empty for no word, None for one that nothing is known of. What was told of one family comes
    before what was told of all.
    """
    small = word.casefold()
    known = layout.words.get(field, {})
    for key in (f"{family}/{small}", small):
        told = known.get(key)
        if told is not None and (told in titles or told in {LEFT_OUT, UNKNOWN}):
            return told
    for name, title in titles.items():
        if small in {name.casefold(), title.casefold()}:
            return name
    if word and known.get(OTHERS) in {LEFT_OUT, UNKNOWN}:
        return known[OTHERS]
    return None if word else ""


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


def _sure(word: str, layout: Layout) -> Sure:
    return next((known for known in SURE if known == word.casefold()), layout.sure)


def _problem(line: int, what: str, mend: str) -> Problem:
    return Problem("the list", line, what, mend)
