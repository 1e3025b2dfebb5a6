"""Numbers as they are told: limits, flows by bucket, questions, refusals."""

from __future__ import annotations

import pytest

from tubside.diagnosis.evidence import IS, NONE, OVER, UNDER, Measured
from tubside.diagnosis.facts import evidence_of
from tubside.errors import JobFileError, QuantityError
from tubside.quantities import Question
from tubside.service.coding import coded_facts
from tubside.service.expecting import expectation
from tubside.service.job_file import JobSource, parse_job
from tubside.service.knowledge import Knowledge, knowledge_of_family
from tubside.service.measuring import Told, told_number
from tubside.service.records import ReadingDone, decoded, encoded
from tubside.service.replay import _reading_line

HEAD = "family: front_load\nreported: [wont_drain]\nwhere: site\nfacts:\n"


@pytest.fixture(scope="module")
def known() -> Knowledge:
    """Return the front-load pack."""
    return knowledge_of_family("front_load")


def readings(known: Knowledge, lines: str) -> list[Measured]:
    """The readings of a job file."""
    source = parse_job(HEAD + lines)
    facts = coded_facts(JobSource(source.job, source.document), known)
    return list(evidence_of(known.model, facts).readings)


@pytest.mark.parametrize(
    ("check", "text", "says", "value", "said"),
    [
        ("drain-time", "95 s", IS, 95.0, "95 s"),
        ("drain-time", "1:35", IS, 95.0, "95 s"),
        ("drain-time", "95", IS, 95.0, "95 s"),
        ("drain-time", "over 5 min", OVER, 300.0, "over 5 min"),
        ("drain-time", ">= 5 min", OVER, 300.0, "over 5 min"),
        ("drain-time", "under 20 s", UNDER, 20.0, "under 20 s"),
        ("drain-time", "no reading", NONE, 0.0, "no reading"),
        ("hose-end-flow", "10 L in 25 s", IS, 4e-4, "24 L/min"),
        ("hose-end-flow", "6 L/min", IS, 1e-4, "6 L/min"),
        ("heater-ohms", "more than 20 MΩ", OVER, 2e7, "over 20 MΩ"),
        ("bounce", "3", IS, 3.0, "3"),
    ],
)
def test_a_number_is_understood(
    known: Knowledge, check: str, text: str, says: int, value: float, said: str
) -> None:
    """Tests ways of telling a number, and that the words kept hold the unit."""
    told = told_number(known, check, text)
    assert isinstance(told, Told)
    assert (told.says, told.said) == (says, said)
    assert told.value == pytest.approx(value)
    again = told_number(known, check, told.said)
    assert isinstance(again, Told)
    assert again.value == pytest.approx(told.value, rel=5e-3)


def test_a_likely_slip_is_asked_about(known: Knowledge) -> None:
    """Tests that the choices can be written, and that 'sure' takes the number as it stands."""
    asked = told_number(known, "valve-coil", "38 kΩ")
    assert isinstance(asked, Question)
    assert "3.8 kΩ" in [choice.text for choice in asked.alternatives]
    taken = told_number(known, "valve-coil", "38 kΩ", sure=True)
    assert isinstance(taken, Told)
    assert taken.value == 38_000.0


@pytest.mark.parametrize(
    ("check", "text"),
    [
        ("drain-time", "6 L/min"),
        ("drain-time", "soon"),
        ("drain-time", "7000 h"),
        ("hose-end-flow", "10 L in 0 s"),
        ("cold-tap-temperature", "9000 °C"),
        ("water-standing", "3 s"),
    ],
)
def test_what_cannot_be_is_refused(known: Knowledge, check: str, text: str) -> None:
    """Tests wrong kinds, words, impossible numbers, and checks that take none."""
    with pytest.raises(QuantityError):
        told_number(known, check, text)


def test_a_job_file_takes_readings(known: Knowledge) -> None:
    """Tests value, observer, epoch, instrument and a new look."""
    found = readings(
        known,
        "- {check: drain-time, value: 95 s, by: customer}\n"
        "- {remedy: clear-strainer, outcome: still-fails}\n"
        "- {check: drain-time, value: 31 s, by: technician, again: true, instrument: phone}\n",
    )
    assert [(r.value, r.observer, r.epoch, r.instrument) for r in found] == [
        (95.0, 0, 0, ""),
        (31.0, 1, 1, "phone"),
    ]
    assert found[1].again


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("- {check: drain-time, outcome: long}", "told as a number"),
        ("- {check: water-standing, value: 3 s}", "answered in words"),
        ("- {check: drain-time, value: soon}", "for example"),
        ("- {check: valve-coil, value: 38 kΩ}", "?"),
        ("- {check: drain-time, value: 3 s, outcome: not sure}", "an outcome and a value"),
        ("- {remedy: clear-strainer, value: 3 s}", "takes no value"),
    ],
)
def test_mistakes_are_told_by_line(known: Knowledge, line: str, told: str) -> None:
    """Tests that every mistake names its line and how to mend it."""
    with pytest.raises(JobFileError) as wrong:
        readings(known, f"{line}\n")
    assert wrong.value.problems[0].line == 5
    assert told in wrong.value.problems[0].what
    assert wrong.value.problems[0].mend


def test_not_sure_is_no_number(known: Knowledge) -> None:
    """Tests that a reading that could not be taken says nothing."""
    assert readings(known, "- {check: drain-time, outcome: could not look}\n") == []


def test_a_kept_reading_counts_by_its_number(known: Knowledge) -> None:
    """Tests that the SI number in a stored fact wins over the words beside it."""
    body = ReadingDone(check="drain-time", value=95.25, said="95 s", by="technician")
    assert decoded(encoded(body)) == body
    line = _reading_line(body)
    assert (line.value, line.si) == ("95 s", 95.25)
    found = readings(known, "- {check: drain-time, value: 95 s, si: 95.25, by: technician}\n")
    assert found[0].value == 95.25


def test_what_to_expect_has_a_curve_for_each_cause(known: Knowledge) -> None:
    """Tests that causes that alter the number get curves, and no others."""
    evidence = evidence_of(known.model, [])
    leading = [("pump-failed", 0.5), ("door-lock", 0.3), ("standpipe-blocked", 0.1)]
    found = expectation(known, evidence, leading, "pump-flow", 1)
    assert found is not None
    sound, pump, pipe = found.curves
    assert pump.title == known.pack.causes["pump-failed"].title
    assert pipe.middle < sound.low
    assert max(pipe.heights) == 100
    assert found.start <= 0.0 < sound.high < found.end
    assert expectation(known, evidence, leading, "water-standing", 1) is None
