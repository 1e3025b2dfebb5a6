"""Numbers as people write them: decimal comma, thousands, fractions, 2k1, 1:30."""

from __future__ import annotations

import re

from tubside.errors import QuantityError

NUMBER = (
    r"[-+]?(?:(?:\d+\s+)?\d+/\d+(?!\d)"
    r"|\d{1,3}(?: \d{3})+(?!\d)(?:[.,]\d+)?"
    r"|\d+(?:[.,]\d+)*"
    r"|[.,]\d+)(?:[eE][-+]?\d{1,2}(?![\d\w]))?"
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_GROUPS = re.compile(r"\d{1,3}(?:[.,]\d{3})+")
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")


def without_vulgar_fractions(text: str) -> str:
    """Return ``text`` with the signs of fractions spelt out: 1½ becomes 1 1/2."""
    for sign, spelt in _VULGAR.items():
        text = text.replace(sign, f" {spelt}")
    return text


def to_number(text: str) -> float:
    """Return the value of a number that matches ``NUMBER``.

    Raises
    ------
    QuantityError
        If a comma may part thousands or decimals, or if a fraction has no value.

    Examples
    --------
    >>> to_number("2,5"), to_number("1 1/2"), to_number("1,200.5"), to_number("1 200")
    (2.5, 1.5, 1200.5, 1200.0)
    """
    if "/" in text:
        return _fraction(text)
    text = text.replace(" ", "")
    comma, dot = text.rfind(","), text.rfind(".")
    if comma < 0 and text.count(".") <= 1:
        return float(text)
    if comma >= 0 and dot >= 0:
        decimal, grouping = (",", ".") if comma > dot else (".", ",")
        whole, _, rest = text.rpartition(decimal)
        return _grouped(whole, grouping, text) + _decimals(whole, rest)
    if dot >= 0:
        return _grouped(text, ".", text)
    return _with_comma(text)


def _with_comma(text: str) -> float:
    if text.count(",") > 1:
        return _grouped(text, ",", text)
    whole, _, rest = text.partition(",")
    digits = whole.lstrip("+-")
    if re.fullmatch(r"\d{3}", rest) and 1 <= len(digits) <= 3 and not digits.startswith("0"):
        message = f"'{text}' may be {whole}.{rest} or {whole}{rest}; write one of these"
        raise QuantityError(message)
    return float(f"{whole}.{rest}")


def _decimals(whole: str, rest: str) -> float:
    value = float(f"0.{rest}")
    return -value if whole.startswith("-") else value


def _grouped(text: str, grouping: str, all_of_it: str) -> float:
    digits = text.lstrip("+-")
    other = "," if grouping == "." else "."
    if not _GROUPS.fullmatch(digits) or other in digits:
        message = f"'{all_of_it}' is no number; write it as 1200.5"
        raise QuantityError(message)
    return float(text.replace(grouping, ""))


def _fraction(text: str) -> float:
    *whole, part = text.split()
    above, _, below = part.partition("/")
    if not int(below):
        message = f"'{text}' divides by nothing; write a number such as 1/2"
        raise QuantityError(message)
    value = abs(int(above)) / int(below) + (abs(int(whole[0])) if whole else 0)
    return -value if text.startswith("-") else value


def letter_for_point(text: str, letters: str) -> tuple[str, str] | None:
    """Split 2k1 into ("2.1", "k") when the letter between is one of ``letters``, else None.

    The letter and digit code of IEC 60062:2016, clause 4 (from memory).

    Examples
    --------
    >>> letter_for_point("2k1", "RkM")
    ('2.1', 'k')
    """
    found = re.fullmatch(r"(\d{1,3})([^\W\d])(\d{1,3})", text)
    if not found or found[2] not in letters:
        return None
    return f"{found[1]}.{found[3]}", found[2]


def clock_seconds(text: str) -> float | None:
    """Return the seconds of 1:30 (min:s) or 1:05:00 (h:min:s), or None if it is no clock.

    Examples
    --------
    >>> clock_seconds("1:30"), clock_seconds("1:05:00")
    (90.0, 3900.0)
    """
    found = _CLOCK.fullmatch(text)
    if not found:
        return None
    parts = [int(part) for part in found.groups() if part is not None]
    if len(parts) == 3 and parts[1] > 59:
        return None
    return float(sum(part * 60**power for power, part in enumerate(reversed(parts))))
