"""The record of a safety test after repair, with every limit and its source."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.documents.parties import DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """What was measured with."""

    name: str
    serial: str = ""
    calibrated: str = ""  # date in words
    uncertainty: str = ""  # in words, such as "± (2 % + 0.02 Ω)"


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyResult:
    """One test: what was found, against which limit, and what that proves."""

    test: str
    value: str  # with unit and uncertainty, or the words of a look
    limit: str = ""
    verdict: str  # "pass", "fail", "not proven" or "not done"
    source: str = ""  # standard, edition, clause
    standing: str = ""  # how well the source is known: "not read in a licensed copy" ...
    instrument: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyRecord:
    """All of one test after repair."""

    number: str
    tested: str  # date and time in words
    shop: Party
    customer: Party
    machine: DocumentMachine
    appliance_class: str = ""  # "class I", "class II"
    country: str = ""  # whose rules, in words
    tester: str
    licence: str = ""
    job: str = ""
    reason: str = ""  # why the test was required
    duty: str = ""  # which rule makes it one
    reported: str = ""
    found: str = ""
    done: str = ""
    parts: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()  # acknowledged, each with its step and by whom
    instruments: tuple[Instrument, ...] = ()
    results: tuple[SafetyResult, ...] = ()
    released: bool
    verdict: str  # in words: "released", "not released: disabled and marked"
    what_now: tuple[str, ...] = ()  # what to do, for a machine that failed
    label: tuple[str, ...] = ()  # the label's own lines
    next_test: str = ""
    corrections: tuple[str, ...] = ()  # what a later correction says; the original stays
    notes: tuple[str, ...] = ()
    hash: str = ""  # content of the profile that decided
