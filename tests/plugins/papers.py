"""Sample papers of the demo shop, and a reader of PDFs just large enough to check them."""

from __future__ import annotations

import base64
import re
import zlib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tubside.documents.amounts import Currency
from tubside.documents.invoice import BillLine, CreditNote, Invoice, Payment, TaxPart
from tubside.documents.parties import DocumentMachine, Party

EUR = Currency("EUR")
PHOTO = base64.b64decode(  # a plain grey PNG
    "iVBORw0KGgoAAAANSUhEUgAAAAQAAAADCAIAAAA7ljmRAAAAFElEQVR4nGOs6JnGAANMDEgAhQMAO8AB"
    "oDW4NzEAAAAASUVORK5CYII="
)
SHOP = Party(
    name="Mill Lane Laundry Repairs",
    street="4 Mill Lane",
    town="Elverdale",
    postcode="12345",
    country="DE",
    telephone="+49 555 0100",
    email="desk@mill-lane.example",
    tax_number="DE123456789",
    tax_number_label="VAT no.",
    licence="EL-2041",
)
CUSTOMER = Party(
    name="Żaneta Gałązka & Söhne",
    street="Łąkowa 7",
    town="Elverdale",
    postcode="12345",
    country="DE",
)
MACHINE = DocumentMachine(
    kind="front-load washing machine", model="Brackwater Wren 7", serial="BW7-004512"
)
LINES = (
    BillLine(
        text="Call-out and diagnosis",
        quantity=Decimal(1),
        unit_price=6500,
        net=6500,
        tax_rate=Decimal(19),
    ),
    BillLine(
        text="Labour",
        quantity=Decimal("1.25"),
        unit="HUR",
        unit_price=7200,
        net=9000,
        tax_rate=Decimal(19),
        warranty="90 days",
    ),
    BillLine(
        text="Drain pump, coil 148 Ω",
        quantity=Decimal(1),
        unit_price=4833,
        net=4383,
        discount=450,
        discount_reason="returning customer",
        tax_rate=Decimal(19),
        article="P-0117",
        warranty="12 months",
    ),
)
PAYMENT = Payment(
    account_name="Mill Lane Laundry Repairs",
    iban="DE89 3704 0044 0532 0130 00",  # the example of the IBAN registry
    reference="RF18 5390 0754 7034",
    transfer_code=True,
)


def invoice() -> Invoice:
    """An invoice with a discount, a deposit and a code; 19 % of 198.83 is 37.7777."""
    return Invoice(
        number="2026-0042",
        issued=date(2026, 3, 2),
        due=date(2026, 3, 16),
        currency=EUR,
        seller=SHOP,
        buyer=CUSTOMER,
        lines=LINES,
        tax=(TaxPart(category="S", rate=Decimal(19), taxable=19883, tax=3778),),
        prepaid=5000,
        payment=PAYMENT,
        job="J-118",
        buyer_reference="auth 77-1204",
        delivered=date(2026, 2, 27),
        machine=MACHINE,
        reported="does not drain, sixth dot blinks",
        found="pump impeller broken by a coin",
        done="pump replaced, hose cleared",
        safety="Released: all tests passed, record S-0118.",
        warranty=("Pump: 12 months.", "Labour: 90 days. Your legal rights stand beside this."),
    )


def credit_note() -> CreditNote:
    """A credit note for the labour."""
    return CreditNote(
        number="2026-0043",
        issued=date(2026, 3, 9),
        currency=EUR,
        seller=SHOP,
        buyer=CUSTOMER,
        lines=LINES[1:2],
        tax=(TaxPart(category="S", rate=Decimal(19), taxable=9000, tax=1710),),
        corrects="2026-0042",
        corrects_issued=date(2026, 3, 2),
        reason="Labour was charged twice.",
    )


@dataclass(frozen=True)
class ReadPdf:
    """A PDF taken apart: its objects by number, streams unpacked."""

    objects: dict[int, bytes]
    streams: dict[int, bytes]

    def holding(self, mark: bytes) -> list[int]:
        """Numbers of the objects whose dictionary holds ``mark``."""
        return [number for number, head in self.objects.items() if mark in head]

    def text(self) -> str:
        """All words on the pages, through each face's own table of letters."""
        return "\n".join(self._page(self.objects[page]) for page in self.holding(b"/Type/Page/"))

    def _page(self, head: bytes) -> str:
        """The words of one page: the names of faces hold for that page alone."""
        found = re.search(rb"/Resources (\d+) 0 R", head)
        faces = self._faces(head if found is None else self.objects[int(found[1])])
        letters = {name: self._letters(number) for name, number in faces.items()}
        contents = re.findall(rb"/Contents (\d+) 0 R", head)
        return "\n".join(_words(self.streams[int(one)], letters) for one in contents)

    @staticmethod
    def _faces(resources: bytes) -> dict[bytes, int]:
        faces: dict[bytes, int] = {}
        for block in re.findall(rb"/Font<<(.*?)>>", resources, re.DOTALL):
            faces |= {m[0]: int(m[1]) for m in re.findall(rb"/(f\d+) (\d+) 0 R", block)}
        return faces

    def _letters(self, face: int) -> dict[int, str]:
        found = re.search(rb"/ToUnicode (\d+) 0 R", self.objects[face])
        assert found, "a face without a table of letters cannot be read aloud or searched"
        table: dict[int, str] = {}
        for code, letter in re.findall(
            rb"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>", self.streams[int(found[1])]
        ):
            table[int(code, 16)] = bytes.fromhex(letter.decode()).decode("utf-16-be")
        return table


def read_pdf(pdf: bytes) -> ReadPdf:
    """Take a PDF apart whose objects lie open, as those of typst do."""
    objects, streams = {}, {}
    for found in re.finditer(rb"(?:^|\n)(\d+) 0 obj\n(.*?)\nendobj", pdf, re.DOTALL):
        number, body = int(found[1]), found[2]
        head, mark, rest = body.partition(b"stream\n")
        objects[number] = head
        if mark:
            raw = rest.removesuffix(b"\nendstream")
            streams[number] = zlib.decompress(raw) if b"/FlateDecode" in head else raw
    return ReadPdf(objects, streams)


_TOKEN = re.compile(rb"/(f\d+) [\d.]+ Tf|(\()|<([0-9A-Fa-f]+)>|\b(ET)\b")
_NAMED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)


def _literal(content: bytes, at: int) -> tuple[bytes, int]:
    """A string in round brackets from ``at`` on, and where it ends (ISO 32000-1, 7.3.4.2)."""
    depth, here, said = 1, at, b""
    while True:
        sign = content[here : here + 1]
        if sign == b"\\":
            found = _ESCAPE.match(content, here)
            assert found
            code, here = found[1], found.end()
            said += bytes([int(code, 8)]) if code.isdigit() else _NAMED.get(code, code)
            continue
        here += 1
        depth += (sign == b"(") - (sign == b")")
        if not depth:
            return said, here
        said += sign


def _words(content: bytes, letters: dict[bytes, dict[int, str]]) -> str:
    """The letters that a page shows, in order; a line end after each piece of text."""
    content = re.sub(rb"<<.*?>> ?BDC", b"", content, flags=re.DOTALL)  # marks, not words
    face, here, said = b"", 0, ""
    while found := _TOKEN.search(content, here):
        name, opened, hexed, end = found.groups()
        here, codes = found.end(), b""
        if name:
            face = name
        elif opened:
            codes, here = _literal(content, here)
        elif hexed:
            codes = bytes.fromhex(hexed.decode())
        said += "\n" if end else ""
        pairs = zip(codes[::2], codes[1::2], strict=True)
        said += "".join(letters[face].get(high * 256 + low, "") for high, low in pairs)
    return said
