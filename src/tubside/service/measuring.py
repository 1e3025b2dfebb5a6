"""Numbers as people tell them: read in their unit, held against what can be, asked about."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tubside.diagnosis.evidence import IS, NONE, OVER, UNDER, Measured
from tubside.diagnosis.facts import Fact
from tubside.errors import Problem, QuantityError
from tubside.pack.compiling_reading import in_si, si_of
from tubside.pack.fault_model import CUSTOMER, OBSERVERS
from tubside.pack.reading_schema import Reading
from tubside.quantities import (
    Expected,
    Question,
    Written,
    doubts,
    read_quantity,
    read_written,
)
from tubside.service.job_file import FactLine, JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.wording import figures

_BEYOND = re.compile(r"(?i)\s*(over|more than|above|at least|>=?|under|less than|below|<=?)\s*(.+)")
_IN = re.compile(r"(?i)\s*(.+?)\s+in\s+(.+?)\s*")
FLOW = "m**3/s"
_OVER = ("over", "more than", "above", "at least", ">", ">=")
NO_READING = ("no reading", "none", "nothing", "never")


@dataclass(frozen=True, slots=True)
class Told:
    """A number as told: its value in SI, what it says (IS, OVER, UNDER, NONE), the words."""

    value: float
    says: int
    said: str


def told_number(known: Knowledge, check: str, text: str, *, sure: bool = False) -> Told | Question:
    """Read what was measured by a check; a question when it can hardly be meant.

    Raises
    ------
    QuantityError
        When the number or its unit is not understood, or it cannot be.
    """
    reading = reading_of(known, check)
    if text.strip().casefold() in NO_READING:
        return Told(0.0, NONE, "no reading")
    beyond = _BEYOND.fullmatch(text)
    says, rest = IS, text.strip()
    if beyond is not None:
        says, rest = (OVER if beyond[1].casefold() in _OVER else UNDER), beyond[2]
    si = si_of(reading)
    assumed = "" if si == "1" else reading.unit
    written = _flow(rest) if si == FLOW and _IN.fullmatch(rest) else None
    written = written or read_written(rest, si, assumed=assumed)
    if says == IS and not sure:
        question = doubts(written, expected(known, check))
        if question is not None:
            return question
    word = {IS: "", OVER: "over ", UNDER: "under "}[says]
    said = f"{word}{figures(written.number)} {written.unit.shown}".strip()
    return Told(written.value, says, said)


def _flow(text: str) -> Written:
    """A flow told as a volume in a time: ten litres in 25 s are 24 L/min.

    >>> figures(_flow("10 L in 25 s").number)
    '24'
    """
    volume, time = _IN.fullmatch(text).groups()  # type: ignore[union-attr]  # the caller matched it
    litres = read_quantity(volume, "m**3", assumed="L")
    seconds = read_quantity(time, "s", assumed="s")
    if seconds <= 0.0:
        msg = f"'{text}' took no time; write how many seconds it took"
        raise QuantityError(msg)
    return read_written(f"{60e3 * litres / seconds:.6g} L/min", FLOW)


def measured_fact(
    source: JobSource, known: Knowledge, place: tuple[str, int], line: FactLine
) -> Fact | Problem:
    """A reading of a job file: its number coded in SI, a question where it can hardly be meant."""
    check, path = str(line.check), (*place, "value")
    try:
        told = told_number(known, check, str(line.value), sure=line.sure or line.si is not None)
    except QuantityError as wrong:
        return source.document.problem(path, str(wrong), "write a number with its unit")
    if isinstance(told, Question):
        mend = "write the one that is meant; with 'sure: true' it is taken as it stands"
        return source.document.problem(path, told.text, mend)
    index = known.model.names.checks.index(check)
    by = line.by or ("customer" if CUSTOMER in known.model.checks[index].by else "technician")
    coded = Measured(
        check=index,
        value=told.value if line.si is None else line.si,
        says=told.says,
        observer=OBSERVERS.index(by),
        again=line.again,
        instrument=line.instrument or "",
        error=line.error_si or 0.0,
    )
    return Fact(f"{known.pack.checks[check].title}: {told.said} ({by})", coded)


def expected(known: Knowledge, check: str) -> Expected:
    """Where a number of this check can lie, and where it is likely, in SI."""
    reading, title = reading_of(known, check), known.pack.checks[check].title
    title = title[:1].lower() + title[1:]
    possible = [in_si(reading, text) for text in reading.possible]
    low, high = possible or (float("-inf"), float("inf"))
    likely = [in_si(reading, text) for text in reading.likely] or [low, high]
    return Expected(low, high, likely[0], likely[1], title)


def reading_of(known: Knowledge, check: str) -> Reading:
    """The reading of a check.

    Raises
    ------
    QuantityError
        When the check is no reading.
    """
    reading = known.pack.checks[check].reading
    if reading is None:
        msg = f"'{check}' is answered in words and not by a number"
        raise QuantityError(msg)
    return reading


def shown_value(known: Knowledge, check: str, value: float) -> str:
    """A value [SI] in the unit of the check's reading.

    Infinite values are "never".
    """
    compiled = known.model.checks[known.model.names.checks.index(check)].reading
    assert compiled is not None
    if value == float("inf"):
        return "never"
    return f"{figures((value - compiled.shift) / compiled.slope)} {compiled.unit}".strip()
