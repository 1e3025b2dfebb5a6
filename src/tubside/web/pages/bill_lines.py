"""Lines of a quote or an invoice in a form: some that stand, and some that are empty."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tubside.economics.billing import MOST_LINES, Kind, Line
from tubside.errors import MoneyError
from tubside.money.amounts import shown, typed_cents, typed_number
from tubside.web.pages.desk import Form

EMPTY = 3
KIND_WORDS: dict[Kind, str] = {
    "call-out": "call-out",
    "diagnosis": "finding the fault",
    "labour": "labour",
    "part": "part",
    "other": "other",
}
FIELDS = ("line_words", "line_quantity", "line_price", "line_kind", "line_days")


def rows(lines: Sequence[Line]) -> list[dict[str, str]]:
    """Lines as fields, and empty ones after them."""
    told = [
        {
            "words": line.words,
            "quantity": f"{line.quantity.normalize():f}",
            "price": shown(line.price),
            "kind": line.kind,
            "days": "" if line.warranty_days is None else str(line.warranty_days),
        }
        for line in lines
    ]
    nothing = {"words": "", "quantity": "1", "price": "", "kind": "part", "days": ""}
    return told + [nothing] * min(EMPTY, MOST_LINES - len(told))


def lines_in(form: Form) -> tuple[Line, ...]:
    """Lines of a form; those without words are left out.

    Raises
    ------
    MoneyError
        Naming the field that cannot be read.
    """
    columns = [form.fields.get(name, []) for name in FIELDS]
    if len({len(column) for column in columns}) > 1:
        msg = "a line lacks a field; open the page again and fill it in anew"
        raise MoneyError(msg)
    return tuple(_line(*row) for row in zip(*columns, strict=True) if row[0].strip())


def _line(words: str, quantity: str, price: str, kind: str, days: str) -> Line:
    if kind not in KIND_WORDS:
        msg = "choose what each line is for"
        raise MoneyError(msg)
    return Line(
        kind=kind,
        words=words.strip(),
        quantity=typed_number(quantity, "quantity"),
        unit="hour" if kind == "labour" else "piece",
        price=typed_cents(price),
        warranty_days=_days(days),
    )


def _days(text: str) -> int | None:
    plain = text.strip()
    if not plain:
        return None
    if not (plain.isascii() and plain.isdigit()) or len(plain) > 4:
        msg = f"'{text[:20]}' is no number of days"
        raise MoneyError(msg)
    return int(plain)


def typed_day(text: str, what: str) -> date:
    """A day as it was typed; MoneyError naming what it is of."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        msg = f"the day of the {what} is none; write it like 2026-03-04"
        raise MoneyError(msg) from None
