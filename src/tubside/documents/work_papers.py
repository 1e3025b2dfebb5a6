"""Papers of the work on a job: quote, stop-work note, job report, disposal note."""

from __future__ import annotations

from tubside.documents.amounts import decimal_text
from tubside.documents.disposal import DisposalNote
from tubside.documents.job_report import JobReport
from tubside.documents.quote import Quote
from tubside.documents.sheet import (
    Block,
    Column,
    Pairs,
    Photos,
    Rows,
    Sheet,
    Sums,
    accepted,
    day,
    machine_rows,
    points,
    prose,
    said,
    strip,
)
from tubside.documents.stop_work import StopWork
from tubside.documents.typesetting import typeset


def quote_pdf(quote: Quote) -> bytes:
    """Return the quote as PDF/A-2b."""
    return typeset(quote_sheet(quote))


def quote_sheet(quote: Quote) -> Sheet:
    """Return what stands on a quote."""
    rows = (
        *machine_rows(quote.machine),
        *said((("Reported", quote.reported), ("Found", quote.found), ("Work", quote.work))),
    )
    blocks: tuple[Block, ...] = (
        *((Pairs("The work", rows),) if rows else ()),
        *_quote_lines(quote),
        _price(quote),
        *prose("If it turns out otherwise", quote.otherwise),
        *points("Warranty", quote.warranty),
        *prose("Notes", *quote.notes),
        *accepted(quote.acceptance, "To agree, sign here"),
    )
    return Sheet(
        title="Quote",
        number=quote.number,
        dated=quote.dated,
        sender=quote.shop,
        to=quote.customer.lines(),
        particulars=said((("Valid until", day(quote.valid_until)),)),
        blocks=blocks,
    )


def _quote_lines(quote: Quote) -> tuple[Rows, ...]:
    if not quote.lines:
        return ()
    columns = (Column("What", 1), Column("Quantity", right=True), Column("Amount", right=True))
    rows = tuple(
        (
            (line.text, ""),
            (f"{decimal_text(line.quantity)} {line.unit}".strip(), ""),
            (quote.currency.text(line.amount), ""),
        )
        for line in quote.lines
    )
    return (Rows("What is offered", columns, rows),)


def _price(quote: Quote) -> Sums:
    text = quote.currency.text
    rows = [("Fixed price", text(quote.expected), True)]
    if not quote.fixed:
        rows = [
            ("At least", text(quote.low), False),
            ("Expected", text(quote.expected), True),
            ("Not exceeded in 8 of 10 such jobs", text(quote.high), False),
        ]
    if quote.tax or quote.tax_text:
        rows.append((quote.tax_text or "Tax in this", text(quote.tax), False))
    if quote.deposit:
        rows.append(("Deposit before work begins", text(quote.deposit), False))
    return Sums("", tuple(rows))


def stop_work_pdf(note: StopWork) -> bytes:
    """Return the note as PDF/A-2b."""
    return typeset(stop_work_sheet(note))


def stop_work_sheet(note: StopWork) -> Sheet:
    """Return what stands on a stop-work note; what can hurt comes first."""
    text = note.currency.text
    sums = [("Agreed", text(note.agreed), False)] if note.agreed else []
    if note.expected:
        sums.append(("Going on would cost", text(note.expected), False))
    sums.append(("Owed for what was done", text(note.owed), True))
    state = "It may be used." if note.usable else "Do not use it."
    blocks: tuple[Block, ...] = (
        *strip("Caution", note.cautions),
        *_machine(machine_rows(note.machine)),
        *prose("Why the work stopped", note.reason),
        *prose("How the machine was left", note.state, state),
        Sums("", tuple(sums)),
        *points("What can be done now", note.choices),
        *prose("Notes", *note.notes),
        *accepted(note.acceptance, "Read and understood"),
    )
    return Sheet(
        title="Stop-work note",
        number=note.number,
        dated=note.dated,
        sender=note.shop,
        to=note.customer.lines(),
        particulars=said((("Job", note.job),)),
        blocks=blocks,
    )


def job_report_pdf(report: JobReport) -> bytes:
    """Return the report as PDF/A-2b.

    Raises
    ------
    DocumentError
        When a photo is neither JPEG nor PNG.
    """
    return typeset(job_report_sheet(report))


def job_report_sheet(report: JobReport) -> Sheet:
    """Return what stands on a report; cautions come before the advice."""
    failed = report.released is False
    blocks: tuple[Block, ...] = (
        *(strip("Do not use", (report.safety,), stop=True) if failed else ()),
        *_machine(machine_rows(report.machine)),
        *prose("What was reported", report.reported),
        *points("What was wrong", report.found),
        *points("What was done", report.done),
        *points("Parts fitted", report.parts),
        *points("Cautions heeded", report.heeded),
        *_readings(report),
        *(() if failed else prose("Safety test", report.safety)),
        *strip("Caution", report.cautions),
        *points("Advice", report.advice),
        *points("Warranty", report.warranty),
        *prose("Notes", *report.notes),
        *_photos(report),
    )
    rows = (
        ("Technician", report.technician),
        ("Paid by", report.payer),
        ("Authority number", report.authority),
    )
    return Sheet(
        title="Job report",
        number=report.job,
        dated=report.dated,
        sender=report.shop,
        to=report.customer.lines(),
        particulars=said(rows),
        blocks=blocks,
    )


def _readings(report: JobReport) -> tuple[Rows, ...]:
    if not report.readings:
        return ()
    columns = (Column("Reading", 1), Column("When"), Column("Value"), Column("To be expected"))
    rows = tuple(
        ((reading.what, ""), (reading.when, ""), (reading.value, ""), (reading.expected, ""))
        for reading in report.readings
    )
    return (Rows("What was measured", columns, rows),)


def _photos(report: JobReport) -> tuple[Photos, ...]:
    if not report.photos:
        return ()
    photos = tuple(
        (photo.picture, ": ".join(part for part in (photo.when, photo.caption) if part))
        for photo in report.photos
    )
    return (Photos("Photos", photos),)


def disposal_pdf(note: DisposalNote) -> bytes:
    """Return the note as PDF/A-2b."""
    return typeset(disposal_sheet(note))


def disposal_sheet(note: DisposalNote) -> Sheet:
    """Return what stands on a disposal note."""
    columns = (Column("What", 2), Column("Amount"), Column("Where it goes", 2))
    rows = tuple(
        ((item.what, item.caution), (item.amount, ""), (item.where_to, "")) for item in note.items
    )
    whole = "The whole machine was taken away." if note.whole_machine else ""
    facility = ", ".join(note.facility.lines()) if note.facility else ""
    blocks: tuple[Block, ...] = (
        *_machine(machine_rows(note.machine)),
        *prose("", whole),
        *((Rows("What was taken away", columns, rows),) if rows else ()),
        *prose("Handed in at", facility),
        *prose("Rule", note.rule),
        *prose("Notes", *note.notes),
        *accepted(note.acceptance, "The owner agrees"),
    )
    return Sheet(
        title="Disposal note",
        number=note.number,
        dated=note.dated,
        sender=note.shop,
        to=note.customer.lines(),
        particulars=said((("Job", note.job),)),
        blocks=blocks,
    )


def _machine(rows: tuple[tuple[str, str], ...]) -> tuple[Pairs, ...]:
    return (Pairs("The machine", rows),) if rows else ()
