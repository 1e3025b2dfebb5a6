"""The code that a banking app reads from an invoice: EPC069-12, for SEPA credit transfers.

European Payments Council, EPC069-12, *Quick Response Code: Guidelines to Enable the Data
Capture for the Initiation of a SEPA Credit Transfer*, version 2.1 (2012), section 2: twelve
lines, at most 331 bytes, QR error level M, version 13 at most. Version 002 of the text lets
the BIC be left out.
"""

from __future__ import annotations

import io
import re
from importlib.util import find_spec

from tubside.documents.amounts import Currency
from tubside.errors import DocumentError

MOST_BYTES = 331
MOST_CENTS = 99_999_999_999  # 999 999 999.99 EUR
_RF = re.compile(r"RF\d{2}[0-9A-Z]{1,21}")
_IBAN = re.compile(r"[A-Z]{2}\d{2}[0-9A-Z]{11,30}")
_BIC = re.compile(r"[A-Z]{6}[0-9A-Z]{2}([0-9A-Z]{3})?")


def remainder_is_one(text: str) -> bool:
    """Return whether an IBAN or RF reference keeps ISO 7064 MOD 97-10.

    >>> remainder_is_one("BE72000000001616"), remainder_is_one("RF18539007547034")
    (True, True)
    """
    turned = text[4:] + text[:4]
    return int("".join(str(int(sign, 36)) for sign in turned)) % 97 == 1


def transfer_text(*, name: str, iban: str, cents: int, reference: str, bic: str = "") -> str:
    """Return the lines that the code holds, joined.

    An RF reference (ISO 11649) that keeps its check digits stands in its own line, any other
    reference in the line of free text: the two exclude each other.

    Raises
    ------
    DocumentError
        When the account, the amount or the length is not one the guideline allows.
    """
    account = "".join(iban.split()).upper()
    if not _IBAN.fullmatch(account) or not remainder_is_one(account):
        msg = f"the IBAN {iban!r} has a digit wrong; copy it again from the bank"
        raise DocumentError(msg)
    bank = "".join(bic.split()).upper()
    if bank and not _BIC.fullmatch(bank):
        msg = f"the BIC {bic!r} has not 8 or 11 signs; copy it again, or leave it out"
        raise DocumentError(msg)
    if not 1 <= cents <= MOST_CENTS:
        msg = f"a transfer is of 0.01 to 999999999.99 EUR; this one is of {cents} cents"
        raise DocumentError(msg)
    rf, free = _references(reference)
    head = ("BCD", "002", "1", "SCT", bank, _one_line(name)[:70], account)
    text = "\n".join((*head, f"EUR{Currency('EUR').number(cents)}", "", rf, free)).rstrip("\n")
    if not _one_line(name) or len(text.encode()) > MOST_BYTES:
        msg = f"a transfer code needs a name and holds {MOST_BYTES} bytes; shorten the reference"
        raise DocumentError(msg)
    return text


def transfer_picture(text: str) -> bytes:
    """Return the code as an SVG drawing, error level M.

    Raises
    ------
    DocumentError
        When segno is not installed.
    """
    if find_spec("segno") is None:
        msg = "codes need the package segno; install it with: pip install 'tubside[app]'"
        raise DocumentError(msg)
    import segno  # noqa: PLC0415 - of the extra "app"

    drawing = io.BytesIO()
    code = segno.make_qr(text, error="m", boost_error=False, encoding="utf-8", eci=False)
    code.save(drawing, kind="svg", border=4)
    return drawing.getvalue()


def _references(reference: str) -> tuple[str, str]:
    """The reference as RF or as free text."""
    packed = "".join(reference.split()).upper()
    if _RF.fullmatch(packed) and remainder_is_one(packed):
        return packed, ""
    return "", _one_line(reference)[:140]


def _one_line(text: str) -> str:
    return " ".join(text.split())
