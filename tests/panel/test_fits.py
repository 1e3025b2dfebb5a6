"""Which articles fit: certain, possible or unknown, and the chain of what supersedes what."""

from __future__ import annotations

import msgspec
import pytest

from tubside.panel.fits import chain_of, circle_of, fits_of
from tubside.panel.schema import Fit, Panel

PUMP = "drain-pump"


def fit(article: str, **more: str) -> Fit:
    """A fit of a drain pump from the service sheet, or as ``more`` says."""
    return Fit(**{"part": PUMP, "article": article, "known_from": "sheet", **more})  # type: ignore[arg-type]  # literals as text


def model(small: Panel, *fits: Fit) -> Panel:
    """The small panel with fits."""
    return msgspec.structs.replace(small, fits=list(fits))


@pytest.mark.parametrize(
    ("told", "serial", "sure"),
    [
        (fit("P1"), None, "certain"),
        (fit("P1"), "A7", "certain"),
        (fit("P1", serial_from="A100", serial_to="A200"), "A150", "certain"),
        (fit("P1", serial_from="A100", serial_to="A200"), "A 201", "unknown"),
        (fit("P1", serial_from="A100"), None, "possible"),
        (fit("P1", serial_from="A100"), "  ", "possible"),
        (fit("P1", serial_from="A100"), "7", "possible"),
        (fit("P1", known_from="hearsay"), "A7", "possible"),
        (fit("P1", part="belt"), "A7", "unknown"),
    ],
)
def test_how_sure(small: Panel, told: Fit, serial: str | None, sure: str) -> None:
    """Tests one fit: range, serial number and source."""
    assert fits_of(model(small, told), PUMP, serial).sure == sure


def test_nothing_is_known(small: Panel) -> None:
    """Tests that no model and no fit are unknown, not possible."""
    assert fits_of(None, PUMP).sure == "unknown"
    assert fits_of(small, PUMP, "A7").sure == "unknown"
    assert fits_of(small, PUMP, "A7").articles == ()


def test_ranges_part_the_articles(small: Panel) -> None:
    """Tests that a serial number picks one of two, and that both are possible without."""
    panel = model(small, fit("P1", serial_to="A99"), fit("P2", serial_from="A100"))
    for serial, article in (("A99", "P1"), ("A100", "P2")):
        found = fits_of(panel, PUMP, serial)
        assert found.sure == "certain"
        assert [it.article for it in found.articles] == [article]
    both = fits_of(panel, PUMP)
    assert both.sure == "possible"
    assert [it.article for it in both.articles] == ["P1", "P2"]
    assert both.articles[0].why == "the serial number is not known"


def test_two_that_fit_leave_a_doubt(small: Panel) -> None:
    """Tests that two certain articles make neither certain for the machine."""
    found = fits_of(model(small, fit("P1"), fit("P2")), PUMP, "A7")
    assert found.sure == "possible"
    assert {it.sure for it in found.articles} == {"certain"}


def test_the_newest_of_a_chain_is_taken(small: Panel) -> None:
    """Tests that the last article is named once, with those it stands in for."""
    panel = model(small, fit("P1", superseded_by="P2"), fit("P2", superseded_by="P3"))
    found = fits_of(panel, PUMP, "A7")
    assert found.sure == "certain"
    assert [(it.article, it.instead_of) for it in found.articles] == [("P3", ("P2",))]
    assert chain_of(panel.fits, "P1") == ["P1", "P2", "P3"]


def test_a_successor_for_other_serials_is_in_doubt(small: Panel) -> None:
    """Tests that P2 is not certain where it is itself told for other serial numbers."""
    panel = model(
        small, fit("P1", serial_to="A99", superseded_by="P2"), fit("P2", serial_from="A100")
    )
    found = fits_of(panel, PUMP, "A50")
    assert found.sure == "possible"
    assert "other serial numbers" in found.articles[0].why


def test_circles_are_found() -> None:
    """Tests a circle of two and one onto itself, and that a chain is none."""
    circle = [fit("P1", superseded_by="P2"), fit("P2", superseded_by="P1")]
    assert circle_of(circle, circle[0]) == ["P1", "P2", "P1"]
    assert circle_of([fit("P1", superseded_by="P1")], fit("P1")) == ["P1", "P1"]
    chain = [fit("P1", superseded_by="P2"), fit("P2")]
    assert circle_of(chain, chain[0]) == []
    assert chain_of(circle, "P1") == ["P1", "P2"]
