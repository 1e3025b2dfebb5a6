"""Quote, stop-work note, statement and disposal note come as PDF from their own pages."""

from __future__ import annotations

import re
from pathlib import Path

from papers import read_pdf
from tubside.service.library import Library
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.people import PersonData, add_person
from tubside.service.records import PersonNamed
from unscripted import Unscripted, unscripted_at

QUOTE = {
    "manner": "fixed",
    "band": "day",
    "minutes": "60",
    "line_words": "Call-out",
    "line_quantity": "1",
    "line_price": "65.00",
    "line_kind": "call-out",
    "line_days": "",
}
BILL = {**QUOTE, "buyer": "Ada Quill", "address": "1 Mill Lane", "reference": ""}


def printed(shop: Unscripted, page: str, link: str) -> str:
    """The words of the PDF that a page links to."""
    assert re.search(r'href="[^"]*as=pdf"', shop.get(page).text), page
    return read_pdf(shop.get(link).content).text()


def test_each_paper_holds_what_its_page_says(tmp_path: Path) -> None:
    """Tests the four papers of one job, each with shop, customer and its own words."""
    shop = unscripted_at(tmp_path, Library())
    keep_shop_money(
        shop.store, ShopMoney(shop="Mill Lane Laundry Repairs", telephone="06 555 0100")
    )
    add_person(shop.store, "person-0001", PersonData(name="Ada Quill"), shop.clock())
    job = shop.job(PersonNamed(ref="person-0001"))
    quote = shop.post(f"/jobs/{job}/quote", QUOTE).url.path
    told = {"do": "stop", "reason": "the drum is cracked", "state": "plug out", "owed": "65"}
    stop = shop.post(f"/jobs/{job}/money", told).url.path
    shop.post(f"/jobs/{job}/invoice", BILL)
    gone = {"do": "gone", "what": "parts", "way": "recycled", "place": "Elverdale yard"}
    shop.post(f"/jobs/{job}/after", gone)
    statement = "/money/statement/person-0001"
    for page, words in (
        (quote, ("Call-out", "Fixed price", "another fault is found")),
        (stop, ("the drum is cracked", "plug out", "Do not use it", "65.00")),
        (statement, ("Invoice 1", "To pay")),
        (f"/jobs/{job}/after", ("The old parts", "taken for recycling", "Elverdale yard")),
    ):
        text = " ".join(printed(shop, page, f"{page}?as=pdf").split())
        for one in ("Mill Lane Laundry Repairs", "06 555 0100", "Ada Quill", *words):
            assert one in text, (page, one, text)
    shop.store.close()
