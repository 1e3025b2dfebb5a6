"""Repair or replace by its form, without a script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tubside.service.library import Library
from unscripted import Unscripted, unscripted_at


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop with nothing in it."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    yield made
    made.store.close()


def test_the_answer_and_what_it_assumes(shop: Unscripted) -> None:
    """Tests the answer, both drawings with words, the half rule's place, and every assumption."""
    job = shop.job()
    page = shop.get(f"/jobs/{job}/worth")
    assert page.status_code == 200
    assert "orth repairing</h1>" in page.text
    assert "pays up to a bill of" in page.text
    assert "Common practice, no source; it does not decide here" in page.text
    assert page.text.count('<svg class="chart"') == 2
    assert page.text.count('inputmode="decimal"') == 18
    assert "Energy Efficiency, 2010" in page.text
    assert f'href="/jobs/{job}/worth"' in shop.get(f"/jobs/{job}").text


def test_typed_figures_turn_the_answer(shop: Unscripted) -> None:
    """Tests that a huge bill is not worth it, a tiny one is, and both are told as one's own."""
    job = shop.job()
    dear = shop.get(f"/jobs/{job}/worth?bill=900&age=11")
    assert ">Not worth repairing</h1>" in dear.text
    assert "not below half the price" in dear.text
    assert "your own" in dear.text
    cheap = shop.get(f"/jobs/{job}/worth?bill=20,5&age=2")
    assert ">Worth repairing</h1>" in cheap.text
    assert 'name="bill" value="20.5"' in cheap.text
    assert 'name="age" value="2"' in cheap.text


def test_a_wrong_figure_is_told(shop: Unscripted) -> None:
    """Tests that no number, a negative one, and a chance over 100 % are refused in words."""
    job = shop.job()
    for wrong in ("bill=cheap", "bill=-4", "success=140", "shape=0"):
        page = shop.get(f"/jobs/{job}/worth?{wrong}")
        assert page.status_code == 422
        assert "is no number for" in page.text
    assert shop.get("/jobs/none-such-job/worth").status_code == 404


def test_a_repair_that_cannot_succeed(shop: Unscripted) -> None:
    """Tests that a chance of nothing costs nobody a page."""
    page = shop.get(f"/jobs/{shop.job()}/worth?success=0")
    assert "cannot succeed" in page.text
    assert "No repair of this machine pays" in page.text


def test_the_bill_is_that_of_the_open_quote(shop: Unscripted) -> None:
    """Tests that a quote stands for the bill until it is refused, and that one may still type."""
    job = shop.job()
    line = {"line_words": "Work", "line_quantity": "1", "line_price": "200.00"}
    quote = {"manner": "fixed", "band": "day", "minutes": "0", "line_kind": "other", **line}
    made = shop.post(f"/jobs/{job}/quote", {**quote, "line_days": ""})
    page = shop.get(f"/jobs/{job}/worth").text
    assert 'name="bill" value="230"' in page
    assert "what the customer pays with tax" in page
    assert 'name="bill" value="80"' in shop.get(f"/jobs/{job}/worth?bill=80").text
    shop.post(made.url.path, {"answer": "no"})
    assert "what the customer pays with tax" not in shop.get(f"/jobs/{job}/worth").text
