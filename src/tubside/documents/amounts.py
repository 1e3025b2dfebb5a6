"""Amounts of money as they are printed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from tubside.errors import DocumentError


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency: its ISO 4217 code, and how many digits its smallest coin stands behind."""

    code: str
    exponent: int = 2

    def __post_init__(self) -> None:
        """Refuse what ISO 4217 cannot hold."""
        if not (len(self.code) == 3 and self.code.isascii() and self.code.isupper()):
            msg = f"the currency is {self.code!r}; write three capital letters such as EUR"
            raise DocumentError(msg)
        if not 0 <= self.exponent <= 4:
            msg = f"the currency has {self.exponent} digits; write 0 to 4"
            raise DocumentError(msg)

    def number(self, cents: int) -> str:
        """Return the amount as a plain number, as files for machines hold it.

        >>> Currency("EUR").number(-123456), Currency("JPY", 0).number(500)
        ('-1234.56', '500')
        """
        return f"{Decimal(cents).scaleb(-self.exponent):.{self.exponent}f}"

    def text(self, cents: int) -> str:
        r"""Return the amount for a reader: thousands apart, a true minus, the code behind.

        >>> Currency("EUR").text(-123456).split()
        ['\u22121', '234.56', 'EUR']
        """
        shown = f"{abs(Decimal(cents)).scaleb(-self.exponent):,.{self.exponent}f}"
        minus = "\N{MINUS SIGN}" if cents < 0 else ""
        return f"{minus}{shown.replace(',', chr(0xA0))}\N{NO-BREAK SPACE}{self.code}"


def decimal_text(value: Decimal) -> str:
    """Return a decimal without empty digits behind the point.

    >>> decimal_text(Decimal("1.50")), decimal_text(Decimal("20")), decimal_text(Decimal("1E+1"))
    ('1.5', '20', '10')
    """
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
