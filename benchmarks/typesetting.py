"""Time of an invoice as PDF with its UBL file, cold in a new process and warm."""

from __future__ import annotations

import statistics
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from timing import line, median_ms

PLUGINS = Path(__file__).parents[1] / "tests" / "plugins"
COLD = """
import sys, time
sys.path.insert(0, sys.argv[1])
from papers import invoice
bill = invoice()
start = time.perf_counter()
from tubside.documents.invoice_paper import bill_pdf
bill_pdf(bill)
print(1e3 * (time.perf_counter() - start))
"""


def report() -> Iterator[str]:
    """Rows for the first invoice of a process, for the next, and for an empty page."""
    sys.path.insert(0, str(PLUGINS))
    from typst import Compiler  # noqa: PLC0415 - of the extra "app"

    from papers import invoice  # noqa: PLC0415 - found only by the line above
    from tubside.documents.invoice_paper import bill_pdf  # noqa: PLC0415 - loads what is timed

    def cold() -> float:
        call = [sys.executable, "-c", COLD, str(PLUGINS)]
        return float(subprocess.run(call, check=True, capture_output=True, text=True).stdout)  # noqa: S603 - our own program

    compiler, places = Compiler(ignore_system_fonts=True), iter(range(10_000))
    empty = median_ms(
        lambda: compiler.compile(
            f"// {next(places)}".encode(), format="pdf", pdf_standards=["a-3b"]
        )
    )
    warm = median_ms(lambda: bill_pdf(replace(invoice(), number=f"2026-{next(places):04}")))
    yield line(
        "invoice PDF, first of a process",
        statistics.median(cold() for _ in range(5)),
        "ms",
        "<= 300",
    )
    times = f"x{warm / empty:.1f} a bare page of typst ({empty:.2f} ms)"
    yield line("invoice PDF, each after", warm, "ms", "<= 60", times)
