"""Published rules and examples of tax, its rounding, and the totals of an invoice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

import printed
from tubside.economics.billing import Line, totals
from tubside.money.amounts import rounded
from tubside.money.countries import rules_of
from tubside.money.tax import Level, Taxable, tax_within, taxed


def tax_of(country: str, nets: list[int], percent: str, level: Level = "total") -> int:
    """Return the tax on lines under a country's rounding [cents]."""
    rules = replace(rules_of(country), level=level)
    return taxed([Taxable(net) for net in nets], rules, Decimal(percent)).tax


def ird_gst_2010(item: str) -> float:
    """Return the values of the example [dollars]."""
    if item.startswith("GST within"):
        return tax_within(1725_00, Decimal(15), rules_of("NZ").rounding) / 100
    found = taxed([Taxable(1500_00)], rules_of("NZ"), Decimal(15))
    return (found.total if item.startswith("total") else found.tax) / 100


def nz_gst_act(item: str) -> float:
    """Return tax by the Act's rule [cents]."""
    if "three" in item:
        return tax_of("NZ", [10, 10, 10], "15", "line" if item.endswith("line") else "total")
    return tax_of("NZ", [11 if "0.11" in item else 10], "15")


def au_gst_act(item: str) -> float:
    """Return tax by the Act's two rules [cents]."""
    if item.startswith("tax within"):
        return tax_within(5, Decimal(10), rules_of("AU").rounding)
    level: Level = "line" if "supply rule" in item else "total"
    return tax_of("AU", [5] * (3 if "three" in item else 1), "10", level)


def ssuta_324(item: str) -> float:
    """Return tax by the agreement's rule [cents]."""
    if item.startswith("cents of"):
        return rounded(Decimal(item.split()[2]) * 100, rules_of("US").rounding)
    return tax_of("US", [10_99], "6.25")


def en_16931_totals(item: str) -> float:
    """Return the document totals [euros]."""
    lines = [Line("other", "All of it", Decimal(1), "piece", 1325_00)]
    found = totals(lines, rules_of("DE"), Decimal(25), prepaid=1000_00)
    names = {"total without": found.taxed.net, "total with": found.taxed.total}
    named = [value for name, value in names.items() if item.startswith(f"{name} ")]
    return (named[0] if named else found.due) / 100


OURS: dict[str, Callable[[str], float]] = {
    "ird_gst_2010": ird_gst_2010,
    "nz_gst_act": nz_gst_act,
    "au_gst_act": au_gst_act,
    "ssuta_324": ssuta_324,
    "en_16931_totals": en_16931_totals,
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that each published value comes out."""
    printed.check(row, OURS[row.table](row.item))
