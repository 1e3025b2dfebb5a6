"""The code for banking apps holds what EPC069-12 says."""

from __future__ import annotations

from importlib.util import find_spec

import pytest

from tubside.documents.transfer_code import remainder_is_one, transfer_picture, transfer_text
from tubside.errors import DocumentError

SAMPLE = {"name": "Red Cross of Belgium", "iban": "BE72 0000 0000 1616", "bic": "BPOTBEB1"}


def test_the_published_example() -> None:
    """Tests the sample of EPC069-12, read second hand, in an encyclopaedia's page on it.

    There: BCD, 001, 1, SCT, BPOTBEB1, Red Cross of Belgium, BE72000000001616, EUR1, CHAR, an
    empty line, Urgency fund, Sample EPC QR code. Ours is version 002, writes the amount with
    cents, and gives no purpose and no note to the payer.
    """
    text = transfer_text(**SAMPLE, cents=100, reference="Urgency fund")
    sample = ["BCD", "001", "1", "SCT", "BPOTBEB1", "Red Cross of Belgium", "BE72000000001616"]
    lines = text.split("\n")
    assert lines[0] == sample[0]
    assert lines[2:7] == sample[2:]
    assert lines[7:] == ["EUR1.00", "", "", "Urgency fund"]


def test_an_rf_reference_has_its_own_line() -> None:
    """Tests the structured reference, and that a wrong check digit makes it free text."""
    good = transfer_text(**SAMPLE, cents=12345, reference="RF18 5390 0754 7034").split("\n")
    assert good[9:] == ["RF18539007547034"]
    bad = transfer_text(**SAMPLE, cents=12345, reference="RF19 5390 0754 7034").split("\n")
    assert bad[9:] == ["", "RF19 5390 0754 7034"]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"iban": "BE73 0000 0000 1616"}, "IBAN"),
        ({"iban": ""}, "IBAN"),
        ({"bic": "BPOT"}, "BIC"),
        ({"name": " \n"}, "name"),
        ({"name": "Ł" * 70, "reference": "Ł" * 140}, "331"),
    ],
)
def test_what_a_bank_would_refuse_is_refused(changed: dict[str, str], told: str) -> None:
    """Tests wrong digits, a wrong BIC, no name and too long a text."""
    with pytest.raises(DocumentError, match=told):
        transfer_text(**{"reference": "x", **SAMPLE, **changed}, cents=100)


@pytest.mark.parametrize("cents", [0, -1, 100_000_000_000])
def test_amounts_outside_are_refused(cents: int) -> None:
    """Tests the guideline's 0.01 to 999 999 999.99 EUR."""
    with pytest.raises(DocumentError, match="transfer"):
        transfer_text(**SAMPLE, cents=cents, reference="x")


def test_a_line_end_cannot_smuggle_a_line() -> None:
    """Tests that a name or a reference of two lines stays in its own."""
    text = transfer_text(**{**SAMPLE, "name": "A\nBE00"}, cents=100, reference="x\ny")
    assert text.split("\n")[5] == "A BE00"
    assert text.endswith("\nx y")


def test_check_digits() -> None:
    """Tests ISO 7064 on the example of the IBAN registry and on one digit changed."""
    assert remainder_is_one("DE89370400440532013000")
    assert not remainder_is_one("DE89370400440532013001")


@pytest.mark.skipif(find_spec("zxingcpp") is None, reason="needs zxing-cpp, of the extra camera")
def test_a_camera_reads_it_back() -> None:
    """Tests the drawn code with a reader that knows nothing of this project."""
    import io  # noqa: PLC0415 - only where the reader is there

    import segno  # noqa: PLC0415 - likewise
    import zxingcpp  # noqa: PLC0415 - likewise
    from PIL import Image  # noqa: PLC0415 - likewise

    text = transfer_text(**{**SAMPLE, "name": "Żabka Ω"}, cents=18661, reference="2026-0042")
    assert transfer_picture(text).startswith(b"<?xml")
    drawn = io.BytesIO()
    code = segno.make_qr(text, error="m", boost_error=False, encoding="utf-8", eci=False)
    code.save(drawn, kind="png", scale=6, border=4)
    (found,) = zxingcpp.read_barcodes(Image.open(drawn).convert("L"))
    assert found.text == text
    assert int(code.version) <= 13
    assert code.error == "M"
