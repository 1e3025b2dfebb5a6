"""The report says what the compiled pack gives back."""

from __future__ import annotations

from collections.abc import Callable

from tubside.pack.reading import PackSource
from tubside.pack.report import prior_report

EditPack = Callable[..., PackSource]


def test_what_customers_clear_is_counted(small_pack: PackSource) -> None:
    """Tests the calls cleared by customers against the sum by hand."""
    by_hand = 120 * 0.9 + 140 * 0.55 + 110 * 0.8 + 180 * 0.6 + 100 * 0.85
    assert f"first try: {by_hand:.0f}" in "\n".join(prior_report(small_pack))


def test_a_row_that_cannot_be_fitted_stands_first(edit_pack: EditPack) -> None:
    """Tests that a row against said_as is reported with stated and fitted share."""
    source = edit_pack(
        "drive",
        "{wont_spin: .86, wont_drain: .1, out_of_balance: .04}",
        "{wont_spin: .98, out_of_balance: .02}",
    )
    lines = prior_report(source)
    start = lines.index("fit of 'reported_as': P(said | cause alone), stated -> got")
    assert "2 above 0.03" in lines[start + 1]
    assert lines[start + 2].startswith("  0.9800 -> ")
    assert lines[start + 2].endswith("belt-worn said as wont_spin")
