"""A PDF is PDF/A, holds its text as text and its file byte for byte.

No validator of PDF/A is at hand in a package: these are the structural checks that can be
made by reading the file, and they do not stand in for one.
"""

from __future__ import annotations

import re
import zlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date

import pytest

from papers import CUSTOMER, EUR, MACHINE, PHOTO, SHOP, credit_note, invoice, read_pdf
from tubside.documents.disposal import DisposalItem, DisposalNote
from tubside.documents.invoice_paper import bill_pdf, bill_sheet
from tubside.documents.job_report import JobReport, ReportPhoto, ReportReading
from tubside.documents.parties import Acceptance
from tubside.documents.quote import Quote
from tubside.documents.safety_paper import LAW, safety_pdf
from tubside.documents.safety_record import Instrument, SafetyRecord, SafetyResult
from tubside.documents.sheet import Prose, Sheet, Strip
from tubside.documents.statement import Statement, StatementRow
from tubside.documents.statement_paper import statement_pdf
from tubside.documents.stop_work import StopWork
from tubside.documents.typesetting import typeset
from tubside.documents.ubl import bill_xml
from tubside.documents.work_papers import disposal_pdf, job_report_pdf, quote_pdf, stop_work_pdf
from tubside.errors import DocumentError

DAY = date(2026, 3, 2)
AGREED = Acceptance(
    name="Ż. Gałązka", when="2 March 2026, 10:04", how="by signed link", wording="I agree."
)


def packed(text: str) -> str:
    """The text without any white space: where lines break is the typesetter's business."""
    return "".join(text.split())


def holds(pdf: bytes, *parts: str) -> None:
    """Check that every part can be found in the text of the PDF."""
    text = packed(read_pdf(pdf).text())
    assert [part for part in parts if packed(part) not in text] == []


def part_of_pdf_a(pdf: bytes) -> tuple[str, str]:
    """Part and level that the metadata claim (ISO 19005-1, 6.7.11)."""
    found = re.search(rb"<pdfaid:part>(\d)</pdfaid:part>", pdf)
    level = re.search(rb"<pdfaid:conformance>(\w)</pdfaid:conformance>", pdf)
    assert found
    assert level
    return found[1].decode(), level[1].decode()


def sheet(*lines: str, title: str = "Test", number: str = "T-1") -> Sheet:
    """A sheet of one block."""
    block = Prose("H", lines)
    return Sheet(title=title, number=number, dated=DAY, sender=SHOP, to=("A",), blocks=(block,))


def test_an_invoice_claims_and_keeps_pdf_a_3() -> None:
    """Tests the marks of PDF/A-3b: claim, output intent, embedded faces, nothing forbidden."""
    pdf = bill_pdf(invoice())
    assert part_of_pdf_a(pdf) == ("3", "B")
    read = read_pdf(pdf)
    assert read.holding(b"/OutputIntent")
    faces = read.holding(b"/Type/FontDescriptor")
    assert faces
    assert all(b"/FontFile" in read.objects[face] for face in faces)
    assert not any(read.holding(mark) for mark in (b"/JavaScript", b"/Encrypt", b"/LZWDecode"))
    assert read.holding(b"/StructTreeRoot")  # tagged, for readers of the screen


def test_the_file_inside_is_the_ubl_file() -> None:
    """Tests that the attached file is bound to the document and the same byte for byte."""
    for bill, name in ((invoice(), b"invoice.xml"), (credit_note(), b"credit-note.xml")):
        pdf = bill_pdf(bill)
        read = read_pdf(pdf)
        (spec,) = read.holding(b"/Type/Filespec")
        head = read.objects[spec]
        assert b"/AFRelationship/Alternative" in head
        assert name in head
        (file,) = read.holding(b"/Type/EmbeddedFile")
        assert b"text#2Fxml" in read.objects[file]
        assert read.streams[file] == bill_xml(bill)
        assert any(b"/AF[" in head or b"/AF " in head for head in read.objects.values())


def test_all_words_of_an_invoice_are_found_again() -> None:
    """Tests text, Polish and Greek letters, signs and amounts with their right rounding."""
    bill = replace(invoice(), notes=("Callout 65 €, 148 Ω ± 2 %", "ΑΒΓ, Straße, Łódź"))
    holds(
        bill_pdf(bill),
        *("Żaneta Gałązka & Söhne", "Łąkowa 7", "148 Ω", "65 €", "ΑΒΓ, Straße, Łódź"),
        *("198.83 EUR", "37.78 EUR", "236.61 EUR", "\N{MINUS SIGN}50.00 EUR", "186.61 EUR"),
        *("16 March 2026", "auth 77-1204", "DE89 3704 0044 0532 0130 00", "90 days"),
    )


def test_a_draft_is_marked_and_has_no_number_nor_file() -> None:
    """Tests that a draft cannot be taken for an invoice."""
    pdf = bill_pdf(replace(invoice(), draft=True))
    assert part_of_pdf_a(pdf) == ("2", "B")
    assert not read_pdf(pdf).holding(b"/EmbeddedFile")
    text = packed(read_pdf(pdf).text())
    assert "DRAFT:notaninvoice" in text
    assert packed(f"Invoice{invoice().number}") not in text


def test_the_same_sheet_gives_the_same_bytes() -> None:
    """Tests that nothing of clock or chance is in the file, also from several threads."""
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda _: bill_pdf(invoice()), range(8)))
    assert len(set(made)) == 1


@pytest.mark.parametrize(
    "text",
    [
        '#panic("x") #read("main.typ")',
        "*bold* _it_ `raw` $x^2$ = head @ref <label> // no",
        '"quoted" \\ back \\u{41} #[x]',
        "{{ jinja }} </script> %PDF endobj",
    ],
)
def test_marks_in_the_text_stay_text(text: str) -> None:
    """Tests that what people write is never taken for typesetting."""
    holds(typeset(sheet(text, title="#emph[t]", number=text)), text, "#emph[t]")


def test_letters_without_a_face_stand_as_a_box() -> None:
    """Tests that an unknown script or a stray control sign does not stop the paper."""
    pdf = typeset(sheet("start \U00013000\U0001f600\x00\x0b\u202e\ud800 end"))
    assert part_of_pdf_a(pdf) == ("2", "B")
    holds(pdf, "start", "end")
    assert "\u202e" not in read_pdf(pdf).text()


def test_a_photo_that_is_none_is_refused() -> None:
    """Tests that an unknown or broken picture is told, not printed."""
    for picture in (b"GIF89a", b"\xff\xd8\xff broken"):
        with pytest.raises(DocumentError, match="photo"):
            job_report_pdf(report(picture))


def test_cautions_stand_before_what_follows() -> None:
    """Tests that a strip's word and lines come in order."""
    blocks = (Strip("Caution", ("Hot water",)), Prose("Advice", ("Open the tap.",)))
    text = packed(read_pdf(typeset(replace(sheet(), blocks=blocks))).text())
    assert text.index("Caution") < text.index("Hotwater") < text.index("Openthetap.")


def report(picture: bytes = PHOTO) -> JobReport:
    """A report with all in it."""
    return JobReport(
        job="J-118",
        dated=DAY,
        shop=SHOP,
        customer=CUSTOMER,
        machine=MACHINE,
        payer="Elver Valley Housing",
        authority="AV-77",
        found=("A coin had broken the pump.",),
        done=("Pump replaced.",),
        readings=(ReportReading(what="pump coil", value="148 ± 3 Ω", expected="140 to 170 Ω"),),
        photos=(ReportPhoto(picture=picture, caption="the pump", when="before"),),
        cautions=("The door glass stays hot.",),
        safety="Released.",
        released=True,
        advice=("Empty pockets.",),
    )


def test_a_report_is_found_again() -> None:
    """Tests a report, its photo and the order of caution and advice."""
    pdf = job_report_pdf(report())
    holds(pdf, "A coin had broken the pump.", "148 ± 3 Ω", "before: the pump", "AV-77")
    assert read_pdf(pdf).holding(b"/Subtype/Image")
    text = packed(read_pdf(pdf).text())
    assert text.index("glassstayshot") < text.index("Emptypockets")
    failed = job_report_pdf(replace(report(), released=False, safety="Live casing."))
    text = packed(read_pdf(failed).text())
    assert text.index("Donotuse") < text.index("Livecasing.") < text.index("Brackwater")


def test_a_quote_is_found_again() -> None:
    """Tests fixed price and range, signed and not."""
    fixed = Quote(
        number="Q-7",
        dated=DAY,
        currency=EUR,
        shop=SHOP,
        customer=CUSTOMER,
        expected=24000,
        low=24000,
        high=24000,
        otherwise="We stop and ring.",
    )
    holds(quote_pdf(fixed), "Fixed price", "240.00 EUR", "We stop and ring.", "Signature")
    ranged = replace(fixed, low=12000, high=31050, deposit=5000, acceptance=AGREED)
    pdf = quote_pdf(ranged)
    holds(pdf, "Not exceeded in 8 of 10 such jobs", "310.50 EUR", "50.00 EUR", "by signed link")
    assert "Signature" not in read_pdf(pdf).text()


def test_a_safety_record_is_found_again() -> None:
    """Tests limits with source and standing, verdict first, and a failed machine."""
    record = SafetyRecord(
        number="S-0118",
        tested="2 March 2026, 09:40",
        shop=SHOP,
        customer=CUSTOMER,
        machine=MACHINE,
        tester="Ida Fenn",
        licence="EL-2041",
        instruments=(Instrument(name="tester", serial="T-9", calibrated="1 May 2025"),),
        results=(
            SafetyResult(
                test="protective conductor",
                value="0.42 ± 0.02 Ω",
                limit="at most 0.3 Ω",
                verdict="fail",
                source="an invented standard, clause 5",
                standing="not read in a licensed copy",
            ),
        ),
        released=False,
        verdict="Not released: disabled and marked.",
        what_now=("Leave the plug out.",),
        corrections=("Serial number was wrong.",),
    )
    pdf = safety_pdf(record, DAY)
    holds(pdf, "0.42 ± 0.02 Ω", "FAIL", "not read in a licensed copy", "T-9", LAW)
    text = packed(read_pdf(pdf).text())
    assert text.index("Donotuse") < text.index("Leavetheplugout") < text.index("protective")
    passed = safety_pdf(replace(record, released=True, verdict="Released."), DAY)
    assert "Donotuse" not in packed(read_pdf(passed).text())


def test_the_other_papers_are_found_again() -> None:
    """Tests stop-work note, statement with what is open, and disposal note."""
    stopped = StopWork(
        number="N-3",
        dated=DAY,
        currency=EUR,
        shop=SHOP,
        customer=CUSTOMER,
        machine=MACHINE,
        reason="The bearing is worn too.",
        state="Plug out, marked.",
        cautions=("The drum may fall.",),
        owed=6500,
        choices=("Go on for 310.00 EUR.",),
    )
    holds(stop_work_pdf(stopped), "The drum may fall.", "Do not use it.", "65.00 EUR")
    rows = (
        StatementRow(dated=DAY, text="Invoice", number="2026-0042", charged=23661),
        StatementRow(dated=DAY, text="Payment", paid=5000),
    )
    account = Statement(
        dated=DAY,
        currency=EUR,
        shop=SHOP,
        customer=CUSTOMER,
        first=DAY,
        last=DAY,
        opening=1000,
        rows=rows,
    )
    assert account.closing == 19661
    holds(statement_pdf(account), "Brought forward", "246.61 EUR", "196.61 EUR")
    gone = DisposalNote(
        number="D-1",
        dated=DAY,
        shop=SHOP,
        customer=CUSTOMER,
        machine=MACHINE,
        whole_machine=True,
        items=(DisposalItem(what="dryer", caution="refrigerant inside", where_to="Elver yard"),),
        acceptance=AGREED,
    )
    holds(disposal_pdf(gone), "refrigerant inside", "Elver yard", "Ż. Gałązka")


def test_paper_follows_the_country() -> None:
    """Tests that a shop in the United States prints on letter, others on A4."""
    a4 = read_pdf(typeset(sheet("x")))
    letter = read_pdf(typeset(replace(sheet("x"), sender=replace(SHOP, country="US"))))
    assert a4.holding(b"/MediaBox[0 0 595.")
    assert letter.holding(b"/MediaBox[0 0 612 792]")


def test_long_bills_repeat_their_table_head() -> None:
    """Tests that sixty lines go over pages, each page with the head of the table."""
    one = invoice().lines[0]
    lines = tuple(replace(one, text=f"Line {n}") for n in range(60))
    (part,) = invoice().tax
    tax = replace(part, taxable=60 * 6500, tax=74100)
    read = read_pdf(bill_pdf(replace(invoice(), lines=lines, tax=(tax,), prepaid=0)))
    pages = len(read.holding(b"/Type/Page/"))
    assert pages >= 2
    assert packed(read.text()).count("WithoutVAT") >= 2
    assert bill_sheet(invoice()).attached is not None


def test_the_reader_reads_what_it_should() -> None:
    """Tests the small reader itself on a stream written by hand."""
    stream = zlib.compress(b"x")
    pdf = b"%PDF\n7 0 obj\n<</Filter/FlateDecode>>\nstream\n" + stream + b"\nendstream\nendobj\n"
    assert read_pdf(pdf).streams == {7: b"x"}
