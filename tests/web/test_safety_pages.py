"""The safety test, its record and the shop's rules by forms, without a script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from papers import read_pdf
from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.part_records import PartUsed
from tubside.service.records import Machine
from tubside.service.safety_settings import choose_country
from unscripted import Unscripted, unscripted_at

WASHER = {"do": "appliance", "protection": "I", "heater_kw": "2", "cord_m": "1,5", "cord_mm2": "1"}
METER = {
    "do": "reading",
    "uncertainty": "0.02",
    "instrument": "bench tester 7",
    "calibrated": "2000-01-01",
    "due": "2100-01-01",
}
OURS = ShopMoney(
    shop="Mill Lane Laundry Repairs",
    address="4 Mill Lane\nElverdale",
    telephone="06 555 0100",
    licence="E 7001",
)
CLOSING = {"cause": "pump-object", "confirmed_by": "re-run"}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop that has chosen no country."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    yield made
    made.store.close()


def ticked(test: str) -> dict[str, str]:
    """The caution of a test that can hurt, ticked."""
    return {"caution": test} if test in {"run", "insulation"} else {}


def test_from_the_country_to_the_label(shop: Unscripted) -> None:
    """Tests the whole way: country, limits, tests, release, closing, record."""
    keep_shop_money(shop.store, OURS)
    fitted = PartUsed(part="DRAIN-7", place="workshop")
    job = shop.job(Machine(serial="WR-2041"), fitted)
    here = f"/jobs/{job}/safety"
    assert "No country is chosen" in shop.get(here).text
    assert "New Zealand" in shop.post("/safety", {"do": "country", "country": "NZ"}).text
    shop.post(here, {"do": "touched", "what": "cord-or-plug"})
    blocked = shop.post(f"/jobs/{job}/closing", CLOSING)
    assert blocked.status_code == 422
    assert "safety test comes first" in blocked.text
    assert "The safety test comes first" in shop.get(f"/jobs/{job}/closing").text
    page = shop.post(here, WASHER).text
    assert "Not confirmed: it decides nothing" in page
    assert page.index("Look: cord") < page.index("Polarity at") < page.index("Function and leak")
    assert page.index("Caution.") < page.index("Cord and plug whole")
    for test in ("look", "polarity", "devices", "run"):
        shop.post(here, {"do": "look", "test": test, "outcome": "pass"} | ticked(test))
    shop.post(here, METER | {"test": "conductor", "value": "0.2"})
    unsure = shop.post(
        here, METER | {"test": "insulation", "value": "50"} | ticked("insulation")
    ).text
    assert "the shop has not confirmed this limit yet" in unsure
    assert "Every test passed" not in unsure
    for name in ("conductor", "insulation"):
        told = {"do": "confirm", "limit": name, "reference": "our copy, page 9", "by": "Ada Quill"}
        assert "our copy, page 9" in shop.post("/safety", told).text
    assert "Every test passed" in shop.get(here).text
    decided = {"do": "decide", "release": "released", "tester": "Ada Quill", "licence": "E 12"}
    released = shop.post(here, decided).text
    assert "TESTED AFTER REPAIR: PASSED" in released
    record = shop.get(f"{here}/record").text
    for words in ("Released", "licence E 12", "bench tester 7", "AS/NZS 3760", "our copy, page 9"):
        assert words in record
    paper = shop.get(f"/jobs/{job}/safety.pdf")
    assert paper.headers["content-type"] == "application/pdf"
    printed = read_pdf(paper.content).text()
    for words in ("Mill Lane Laundry Repairs", "06 555 0100", "WR-2041", "Licence E 7001"):
        assert words in printed
    assert "1 of DRAIN-7" in printed
    assert "serial number WR-2041" in record
    shop.post(f"/jobs/{job}/closing", CLOSING)
    assert job_view(shop.store, shop.library, job).closing is not None
    line = shop.get(f"/jobs/{job}").text
    assert "Safety test, protective conductor: 0.2 ± 0.02 Ω" in line


def test_a_machine_that_fails(shop: Unscripted) -> None:
    """Tests that a failed look says what to do, releases nothing, and closes as marked."""
    choose_country(shop.store, "NZ")
    job = shop.job()
    here = f"/jobs/{job}/safety"
    shop.post(here, {"do": "touched", "what": "cover-opened"})
    shop.post(here, WASHER)
    page = shop.post(here, {"do": "look", "test": "polarity", "outcome": "fail"}).text
    assert "Unsafe: do this now" in page
    refused = shop.post(here, {"do": "decide", "release": "released", "tester": "Ada"})
    assert refused.status_code == 422
    waived = {"do": "decide", "release": "waived", "reason": "no-instrument", "tester": "Ada"}
    assert "no reason stands in" in shop.post(here, waived).text
    left = shop.post(here, {"do": "decide", "release": "not-released", "tester": "Ada"}).text
    assert "UNSAFE: DO NOT USE" in left
    closing = shop.get(f"/jobs/{job}/closing").text
    assert "not released: disabled and marked" in closing
    shop.post(f"/jobs/{job}/closing", CLOSING)
    assert job_view(shop.store, shop.library, job).closing is not None


@pytest.mark.parametrize(
    "form",
    [
        {"do": "nothing"},
        WASHER | {"cord_mm2": "3"},
        WASHER | {"cord_m": "nan"},
        {"do": "look", "test": "run", "outcome": "pass"},
        {"do": "look", "test": "run", "outcome": "pass", "caution": "look"},
        {"do": "look", "test": "gremlins", "outcome": "pass"},
        {"do": "look", "test": "conductor", "outcome": "pass"},
        {"do": "look", "test": "look", "outcome": "perhaps"},
        METER | {"test": "conductor", "value": "-1"},
        METER | {"test": "conductor", "value": "0.2", "uncertainty": "0"},
        METER | {"test": "conductor", "value": "0.2", "due": "1999-01-01"},
        METER | {"test": "conductor", "value": "0.2", "calibrated": "yesterday"},
        METER | {"test": "conductor", "value": "0.2", "instrument": ""},
        {"do": "decide", "release": "sold", "tester": "Ada"},
        {"do": "decide", "release": "not-released", "tester": ""},
    ],
)
def test_wrong_forms(shop: Unscripted, form: dict[str, str]) -> None:
    """Tests that what cannot be is told plainly and kept nowhere."""
    choose_country(shop.store, "NZ")
    job = shop.job()
    here = f"/jobs/{job}/safety"
    shop.post(here, WASHER)
    before = len(job_view(shop.store, shop.library, job).entries)
    assert shop.post(here, form).status_code == 422
    assert len(job_view(shop.store, shop.library, job).entries) == before


@pytest.mark.parametrize(
    "form",
    [
        {"do": "country", "country": "ZZ"},
        {"do": "confirm", "limit": "gremlins", "reference": "r", "by": "b"},
        {"do": "confirm", "limit": "conductor", "reference": "", "by": "b"},
        {"do": "confirm", "limit": "conductor", "reference": "r", "by": "b", "value": "much"},
        {"do": "confirm", "limit": "conductor", "reference": "r", "by": "b", "value": "-1"},
        {"do": "other"},
    ],
)
def test_wrong_rules(shop: Unscripted, form: dict[str, str]) -> None:
    """Tests that the office's page refuses what cannot be."""
    choose_country(shop.store, "NZ")
    assert shop.post("/safety", form).status_code == 422
