"""Quote, answer, invoice, payment and what is owed, by forms alone; the link to a quote."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from itsdangerous import URLSafeSerializer

from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.money.content import hash_of, text_of
from tubside.service.money.links import KEY, SALT, link_of
from tubside.service.money.quoting import quote, quotes_of
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.money_records import QuoteAnswered, WorkStopped
from tubside.service.people import PersonData, add_person
from tubside.service.public_address import keep_public_address
from tubside.service.records import PersonNamed
from tubside.store.opening import Store
from tubside.store.settings import setting
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
BILL = {**QUOTE, "buyer": "Ada Quill", "address": "1 Mill Lane\r\nElverdale", "reference": ""}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop with one customer."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    add_person(made.store, "person-0001", PersonData(name="Ada Quill"), made.clock())
    yield made
    made.store.close()


def a_quote(shop: Unscripted, job: str) -> str:
    """Make a quote by its form; its id."""
    band = re.findall(
        r'<select name="band"><option value="([^"]+)"', shop.get(f"/jobs/{job}/quote").text
    )
    page = shop.post(f"/jobs/{job}/quote", {**QUOTE, "band": band[0]})
    assert page.status_code == 200, page.text
    return page.url.path.removeprefix("/quotes/")


def signed(store: Store, told: object) -> str:
    """Return a token that is signed with the right key but says something else."""
    with store.reading() as opened:
        key = setting(opened, KEY)
    assert key is not None
    return str(URLSafeSerializer(key, salt=SALT).dumps(told))


def test_the_plan_draws_the_quote(shop: Unscripted) -> None:
    """Tests that the form holds minutes and likely parts from the plan, and a range comes of it."""
    job = shop.job()
    form = shop.get(f"/jobs/{job}/quote").text
    assert "From the plan" in form
    low, mean, high = (
        re.findall(rf'name="{name}" value="(\d+)"', form)[0] for name in ("low", "mean", "high")
    )
    assert 0 < int(low) <= int(mean) <= int(high)
    told = {**QUOTE, "manner": "range", "low": low, "mean": mean, "high": high}
    page = shop.post(f"/jobs/{job}/quote", told).text
    assert "on average; eight of ten such jobs stay within" in page
    assert "we stop and ask you" in page


def test_a_fixed_quote_is_answered_on_the_screen(shop: Unscripted) -> None:
    """Tests sums, the answer as a fact, and that a second answer changes nothing."""
    job = shop.job()
    name = a_quote(shop, job)
    page = shop.get(f"/quotes/{name}").text
    assert "178.25 NZD" in page  # 65 + 90, and 15 %
    assert "If you then end the job, you pay 74.75" in page
    assert "Agreed to" in shop.post(f"/quotes/{name}", {"answer": "yes"}).text
    assert shop.post(f"/quotes/{name}", {"answer": "no"}).status_code == 422
    (told,) = [
        e.body
        for e in job_view(shop.store, shop.library, job).entries
        if isinstance(e.body, QuoteAnswered)
    ]
    assert (told.agreed, told.amount_cents, told.way) == (True, 178_25, "screen")
    assert "Labour by day" in shop.get(f"/jobs/{job}/invoice").text


def test_the_link_shows_the_quote_alone(shop: Unscripted) -> None:
    """Tests that a customer's page names no job, no customer and no other page, and is answered."""
    job = shop.job(PersonNamed(ref="person-0001"))
    name = a_quote(shop, job)
    path = f"/quote/{link_of(shop.store, name)}"
    page = shop.get(path)
    assert page.status_code == 200
    assert "178.25 NZD" in page.text
    for word in (job, name, "Quill", "<nav", "<script", "/jobs", "pump"):
        assert word not in page.text
    assert "Agreed to" in shop.post(path, {"answer": "yes"}).text
    again = shop.post(path, {"answer": "no"})
    assert again.status_code == 409
    assert "answered before" in again.text
    (quoted,) = quotes_of(shop.store, job)
    assert quoted.answer is not None
    assert (quoted.answer.agreed, quoted.answer.way) == (True, "link")


def test_wrong_links_open_nothing(shop: Unscripted) -> None:
    """Tests links that are forged, altered, of another job, of another quote's text, or past."""
    job = shop.job()
    name, other = a_quote(shop, job), a_quote(shop, shop.job())
    token = link_of(shop.store, name)
    (quoted,) = quotes_of(shop.store, job)
    far = 2**40
    with shop.store.reading() as opened:
        key = setting(opened, KEY)
    assert key is not None
    mine, others = (hash_of(text_of(quote(shop.store, one).content)) for one in (name, other))
    right = [name, job, mine, far]
    assert shop.get(f"/quote/{signed(shop.store, right)}").status_code == 200
    wrong = [
        "drain-sound",
        str(URLSafeSerializer("another key", salt=SALT).dumps(right)),
        token[:-3] + ("A" if token[-3] != "A" else "B") + token[-2:],  # the last has idle bits
        str(URLSafeSerializer(key, salt="another use").dumps(right)),
        signed(shop.store, [other, job, others, far]),
        signed(shop.store, [name, job, "0" * 64, far]),
        signed(shop.store, ["no-such-quote", job, mine, far]),
        signed(shop.store, [name]),
        signed(shop.store, "x"),
        signed(shop.store, [name, job, mine, "soon"]),
    ]
    for one in wrong:
        for answer in (shop.get(f"/quote/{one}"), shop.post(f"/quote/{one}", {"answer": "yes"})):
            assert answer.status_code in {404, 409}
            assert "178.25" not in answer.text
    assert quoted.answer is None
    assert shop.get(f"/quote/{token}").status_code == 200
    now = shop.clock.now
    shop.clock.now += timedelta(days=16)
    past = shop.post(f"/quote/{token}", {"answer": "yes"})
    assert "past its last day" in past.text
    assert shop.get(f"/quote/{token}").status_code == 404
    shop.clock.now = now
    assert quotes_of(shop.store, job)[0].answer is None


def test_a_newer_quote_takes_the_place(shop: Unscripted) -> None:
    """Tests that the link to an older quote cannot be agreed to any more."""
    job = shop.job()
    path = f"/quote/{link_of(shop.store, a_quote(shop, job))}"
    a_quote(shop, job)
    refused = shop.post(path, {"answer": "yes"})
    assert refused.status_code == 409
    assert "newer quote" in refused.text


def test_deposit_invoice_payment_credit(shop: Unscripted) -> None:
    """Tests the way of the money: deposit, invoice, part in cash, what is owed, credit note."""
    job = shop.job(PersonNamed(ref="person-0001"))
    here, day = f"/jobs/{job}/money", "2026-03-02"
    paid = {"do": "pay", "amount": "20", "way": "card", "day": day, "bill": ""}
    assert "Deposits not on an invoice yet: 20.00" in shop.post(here, paid).text
    made = shop.post(f"/jobs/{job}/invoice", {**BILL, "once": "invoice-0001"})
    assert "Tax invoice" in made.text
    assert "54.75 NZD to pay" in made.text  # 65 and 15 % less 20
    bill = made.url.path.removeprefix("/bills/")
    assert shop.post(f"/jobs/{job}/invoice", {**BILL, "once": "invoice-0001"}).url == made.url
    part = {**paid, "amount": "30,00", "way": "cash", "bill": bill}
    assert "24.75 open" in shop.post(here, part).text
    assert "Ada Quill: 24.75 NZD" in shop.get("/money").text
    assert shop.post(here, {**part, "amount": "99"}).status_code == 422
    statement = shop.get("/money/statement/person-0001").text
    assert "24.75 NZD open" in statement
    note = shop.post(f"/bills/{bill}", {"line": "0", "reason": "covered"}).text
    assert "Credit note C1" in note
    assert "50.00 to pay back" in shop.get(here).text
    for wrong in ({"line": "0", "reason": "twice"}, {"reason": "none"}):
        assert shop.post(f"/bills/{bill}", wrong).status_code == 422


def test_an_invoice_for_a_deposit(shop: Unscripted) -> None:
    """Tests the way of an invoiced deposit: asked for, paid, taken off; none in New Zealand."""
    job = shop.job(PersonNamed(ref="person-0001"))
    here, form = f"/jobs/{job}/money", f"/jobs/{job}/deposit-invoice"
    assert "Write one for a deposit" not in shop.get(here).text
    assert "No tax is due on a deposit alone here" in shop.get(form).text
    keep_shop_money(shop.store, ShopMoney(shop="Mill Lane", country="GB"))
    assert "Write one for a deposit" in shop.get(here).text
    assert 'value="Ada Quill"' in shop.get(form).text
    told = {"amount": "30.00", "buyer": "Ada Quill", "address": "", "once": "deposit-001"}
    made = shop.post(form, told)
    assert "Invoice for a deposit" in made.text
    assert "5.00" in made.text, "the tax within it, 30.00 x 20 / 120"
    bill = made.url.path.removeprefix("/bills/")
    refused = shop.post(f"/jobs/{job}/invoice", {**BILL, "once": "invoice-0009"})
    assert "is not paid" in refused.text
    paid = {"do": "pay", "amount": "30", "way": "card", "day": "2026-03-02", "bill": bill}
    shop.post(here, paid)
    final = shop.post(f"/jobs/{job}/invoice", {**BILL, "once": "invoice-0009"}).text
    assert "30.00 was paid before, with 5.00 VAT that fell due with it" in final
    assert "of it the deposit of" in final
    keep_shop_money(shop.store, ShopMoney())


def test_a_stop_work_note(shop: Unscripted) -> None:
    """Tests that the note says how the machine was left, and stands on the job's line."""
    job = shop.job()
    told = {"do": "stop", "reason": "The <bearing> is gone", "state": "plug out", "usable": "no"}
    page = shop.post(f"/jobs/{job}/money", {**told, "owed": "74.75"}).text
    assert "The machine must not be used" in page
    assert "The &lt;bearing&gt; is gone" in page
    entries = job_view(shop.store, shop.library, job).entries
    assert any(isinstance(entry.body, WorkStopped) for entry in entries)
    assert "Work stopped, with a note" in shop.get(f"/jobs/{job}").text


def test_prices_and_tax_are_kept(shop: Unscripted) -> None:
    """Tests that the office changes prices, and that what cannot be is refused."""
    form = shop.get("/money/settings").text
    assert "s 19O" in form
    told = {
        "call_out": "70",
        "diagnosis": "0",
        "band_title": "Labour",
        "band_price": "96",
        "step_minutes": "10",
        "least_minutes": "20",
        "parts_margin": "25",
        "deposit": "0",
        "quote_days": "7",
        "terms_days": "10",
        "shop": "Mill Lane Laundry Repairs",
        "country": "NZ",
        "taxed": "yes",
        "level": "total",
        "own_percent": "",
        "iban": "",
    }
    page = shop.post("/money/settings", told).text
    assert 'value="96.00"' in page
    assert 'value="Mill Lane Laundry Repairs"' in page
    for name, wrong in (("call_out", "x"), ("step_minutes", "7.5"), ("country", "ZZ")):
        assert shop.post("/money/settings", {**told, name: wrong}).status_code == 422


def test_an_insurer_pays_and_the_customer_the_excess(shop: Unscripted) -> None:
    """Tests the form where another pays, and that two invoices come of it."""
    job = shop.job()
    shop.post(f"/jobs/{job}/after", {"do": "payer", "who": "insurer", "excess": "50"})
    form = shop.get(f"/jobs/{job}/invoice").text
    assert "An insurer pays: write the name" in form
    assert 'name="excess" value="50.00"' in form
    bill = {**BILL, "buyer": "Lockgate Insurance", "excess": "50", "country": "nz"}
    page = shop.post(f"/jobs/{job}/invoice", {**bill, "customer": "Ada Quill"}).text
    assert page.count("/bills/") == 2
    assert "50.00 NZD" in page
    wrong = shop.post(f"/jobs/{job}/invoice", {**bill, "customer": "Ada Quill", "excess": "999"})
    assert wrong.status_code == 422
    pay = {"do": "pay", "bill": "", "amount": "20", "way": "cash", "day": "2026-11-25"}
    page = shop.post(f"/jobs/{job}/money", pay).text
    assert "GST of the whole price due" in page
    assert "s 9 (1)" in page


def test_links_begin_with_the_public_address(shop: Unscripted) -> None:
    """Tests that the office may set where customers reach the shop, and that links follow."""
    form = shop.get("/money/settings").text
    assert "Customers&#39; links begin with" in form or "Customers' links begin with" in form
    keep_public_address(shop.store, "https://quotes.example.org")
    assert 'value="https://quotes.example.org"' in shop.get("/money/settings").text
    page = shop.get(f"/quotes/{a_quote(shop, shop.job())}").text
    assert 'value="https://quotes.example.org/quote/' in page
    keep_public_address(shop.store, "")
