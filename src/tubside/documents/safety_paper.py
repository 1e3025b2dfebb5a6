"""The safety record on paper: verdict first, then every test with its limit and source."""

from __future__ import annotations

from datetime import date

from tubside.documents.safety_record import SafetyRecord, SafetyResult
from tubside.documents.sheet import (
    Block,
    Cell,
    Column,
    Pairs,
    Prose,
    Rows,
    Sheet,
    machine_rows,
    points,
    prose,
    said,
    strip,
)
from tubside.documents.typesetting import typeset

LAW = "Local codes and licensed practice decide."


def safety_pdf(record: SafetyRecord, dated: date) -> bytes:
    """Return the record as PDF/A-2b; ``dated`` is the day of the test."""
    return typeset(safety_sheet(record, dated))


def safety_sheet(record: SafetyRecord, dated: date) -> Sheet:
    """Return what stands on a safety record."""
    blocks: tuple[Block, ...] = (
        *_verdict(record),
        *points("Corrected later; the original stands below", record.corrections),
        *_pairs("The machine", (*machine_rows(record.machine), ("Class", record.appliance_class))),
        *_pairs(
            "The work",
            (
                ("Reported", record.reported),
                ("Found", record.found),
                ("Done", record.done),
                ("Parts", "; ".join(record.parts)),
                ("Why tested", record.reason),
                ("Duty", record.duty),
            ),
        ),
        *_results(record),
        *_instruments(record),
        *points("Cautions acknowledged", record.cautions),
        *points("On the label", record.label),
        *prose("Notes", *record.notes, LAW),
        *_signed(record),
    )
    return Sheet(
        title="Safety record",
        number=record.number,
        dated=dated,
        shown_date=record.tested,
        sender=record.shop,
        to=record.customer.lines(),
        particulars=said(
            (
                ("Tested by", record.tester),
                ("Licence", record.licence),
                ("Job", record.job),
                ("Rules of", record.country),
                ("Next test", record.next_test),
            )
        ),
        blocks=blocks,
    )


def _verdict(record: SafetyRecord) -> tuple[Block, ...]:
    """The verdict; a machine that is not released says so in a frame, and what to do."""
    if record.released:
        return (Prose("Verdict", (record.verdict,)),)
    return strip("Do not use", (record.verdict, *record.what_now), stop=True)


def _pairs(head: str, rows: tuple[tuple[str, str], ...]) -> tuple[Pairs, ...]:
    kept = said(rows)
    return (Pairs(head, kept),) if kept else ()


def _results(record: SafetyRecord) -> tuple[Rows, ...]:
    if not record.results:
        return ()
    columns = (
        Column("Test", 3),
        Column("Found", 2),
        Column("Limit", 2),
        Column("Verdict", 2),
        Column("Source of the limit", 4),
    )
    return (Rows("The tests", columns, tuple(_result(result) for result in record.results)),)


def _result(result: SafetyResult) -> tuple[Cell, ...]:
    verdict = result.verdict.upper() if result.verdict == "fail" else result.verdict
    return (
        (result.test, result.note),
        (result.value, result.instrument),
        (result.limit, ""),
        (verdict, ""),
        (result.source, result.standing),
    )


def _instruments(record: SafetyRecord) -> tuple[Rows, ...]:
    if not record.instruments:
        return ()
    columns = (
        Column("Instrument", 1),
        Column("Serial number"),
        Column("Calibrated"),
        Column("Uncertainty"),
    )
    rows = tuple(
        ((tool.name, ""), (tool.serial, ""), (tool.calibrated, ""), (tool.uncertainty, ""))
        for tool in record.instruments
    )
    return (Rows("Measured with", columns, rows),)


def _signed(record: SafetyRecord) -> tuple[Block, ...]:
    who = f"{record.tester}, licence {record.licence}" if record.licence else record.tester
    rows = (("Tested by", who), ("Signature", "_" * 34), ("Decided by", record.hash))
    return _pairs("Signed", rows)
