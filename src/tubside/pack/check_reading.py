"""Readings: units that are known, errors for everybody who measures, ends in order."""

from __future__ import annotations

from collections.abc import Iterator

from tubside.errors import Problem, QuantityError
from tubside.pack.compiling_reading import compiled_reading, in_si
from tubside.pack.fault_model import OBSERVERS
from tubside.pack.reading import PackSource
from tubside.pack.reading_schema import Reading


def unread_readings(source: PackSource) -> Iterator[Problem]:
    """Yield readings whose unit, errors or limits are not understood."""
    for name, check in source.pack.checks.items():
        if check.reading is None:
            continue
        try:
            compiled_reading(check.reading, tuple(source.pack.causes))
            _ends(check.reading)
        except ValueError:
            continue  # a cause that is not known is told with the ids
        except QuantityError as wrong:
            path = ("checks", name, "reading")
            mend = "see 'Reading' in the page of packs"
            yield source.document.problem(path, f"'{name}': {wrong}", mend)


def errors_missing(source: PackSource) -> Iterator[Problem]:
    """Yield readings without an error for somebody who may measure."""
    for name, check in source.pack.checks.items():
        if check.reading is None:
            continue
        errors = set(check.reading.error)
        for who in OBSERVERS:
            if (who in check.who) != (who in errors):
                path = ("checks", name, "reading", "error")
                what = f"'{name}' {'lacks' if who in check.who else 'has'} an error of the {who}"
                mend = "give one for everybody in 'who', and for nobody else"
                yield source.document.problem(path, what, mend)


def unlikely_spoilers(source: PackSource) -> Iterator[Problem]:
    """Yield chances of spoiling a reading that are none."""
    for name, check in source.pack.checks.items():
        for cause, chance in {} if check.reading is None else check.reading.spoiled_by.items():
            if not 0.0 < chance < 1.0:
                path = ("checks", name, "reading", "spoiled_by", cause)
                what = f"'{cause}' spoils '{name}' with the chance {chance:g}"
                yield source.document.problem(path, what, "write a chance between 0 and 1")


def _ends(reading: Reading) -> None:
    """Raise QuantityError when the ends of a range are not two in order."""
    for name, texts in (("likely", reading.likely), ("possible", reading.possible)):
        ends = [in_si(reading, text) for text in texts]
        if ends and (len(ends) != 2 or ends[0] >= ends[1]):
            msg = f"'{name}' is {texts}; write a lower and an upper end"
            raise QuantityError(msg)


ERRORS = (unread_readings, errors_missing, unlikely_spoilers)
