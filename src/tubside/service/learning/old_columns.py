"""Which column of an old list holds what, and what its words mean: told, remembered or guessed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

import msgspec

from tubside.learning.history import Sure
from tubside.service.learning.old_days import Order, order_of
from tubside.service.learning.old_lists import OldList

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
GUESSES: Mapping[Field, tuple[str, ...]] = {
    "closed": ("closed", "date", "day", "finished", "event_date"),
    "family": ("family", "kind", "machine", "type", "appliance"),
    "complaint": ("complaint", "trouble", "symptom", "reported", "problem"),
    "cause": ("cause", "fault", "found", "diagnosis", "repair"),
    "sure": ("sure", "confirmed_by", "confirmed"),
    "age_years": ("age_years", "age", "product_age"),
    "model": ("model",),
}
OPEN_REPAIR = frozenset({"partner_product_category", "repair_status", "event_date", "problem"})
"""Columns by which a list in the Open Repair Data Standard is known."""


class Layout(msgspec.Struct, frozen=True, kw_only=True):
    """Which column holds what, what its words mean, and how dates are written."""

    columns: dict[str, str] = {}
    """Field -> name of the column."""
    words: dict[str, dict[str, str]] = {}
    """Field -> word, in small letters -> id, or left out, or unknown.

    A cause or a trouble may stand behind its family and a stroke: the same word can be another
    thing on another kind of machine.
    """
    order: Order = "day-month"
    sure: Sure = "remedy-worked"
    """Of jobs with a cause, where no column says how it was made sure."""
    family: str = ""
    """Of rows for which no column says the kind of machine."""


def is_open_repair(sheet: OldList) -> bool:
    """Whether a list is in the Open Repair Data Standard."""
    return set(sheet.columns) >= OPEN_REPAIR


def guessed(sheet: OldList, before: Layout | None = None) -> Layout:
    """A layout by the names of the columns and the dates, on top of what was remembered."""
    columns: dict[str, str] = {}
    for field in FIELDS:
        if found := _column(sheet, field, frozenset(columns.values())):
            columns[field] = found
    of_days = (before.columns if before is not None else columns).get("closed", "")
    order = order_of(row.get(of_days, "") for _, row in sheet.rows)
    if before is not None:
        return before if order is None else msgspec.structs.replace(before, order=order)
    return Layout(columns=columns, order=order or "day-month")


def missing(sheet: OldList, layout: Layout) -> list[str]:
    """Words of what is needed, and stands in no column and is not said for all rows."""
    if is_open_repair(sheet):
        return []
    needed: list[Field] = ["closed"] if layout.family else ["closed", "family"]
    return [FIELDS[field] for field in needed if layout.columns.get(field) not in sheet.columns]


def _column(sheet: OldList, field: Field, gone: frozenset[str]) -> str:
    """A column that is called just so, else one with such a word in its name."""
    free = [name for name in sheet.columns if name not in gone]
    for guess in GUESSES[field]:
        for name in free:
            if name.casefold() == guess:
                return name
    for guess in GUESSES[field]:
        for name in free:
            if guess in re.split(r"[^a-z]+", name.casefold()):
                return name
    return ""
