"""Tests of one job on two invoices, the buyer's country, and tax in what was paid before."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from itertools import count

import pytest

from tubside.documents.ubl import bill_xml
from tubside.economics.billing import Line
from tubside.errors import MoneyError
from tubside.service.authors import Author
from tubside.service.jobs import new_job
from tubside.service.money.bill_paper import document_of
from tubside.service.money.crediting import credit
from tubside.service.money.invoicing import Buyer, Done, bills_of, check_bills, make_invoice
from tubside.service.money.paying import Paid, free_deposit, pay
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.money.split import Split, make_two_invoices
from tubside.service.records import Machine
from tubside.store.opening import Store
from ubl_rules import broken

LINES = (
    Line("labour", "Labour by day", Decimal("1.25"), "hour", 90_00, "S", 90),
    Line("part", "Drain pump", Decimal(1), "piece", 31_85, "S", 365),
)
PAYER = Buyer("Lockgate Insurance", "9 Weir Road\nElverdale", "claim 12")
CUSTOMER = Buyer("Ada Quill", "1 Mill Lane\nElverdale", person="person-0001")
GERMAN = ShopMoney(shop="Mill Lane", tax_number="DE123456789", country="DE")


@pytest.fixture
def job(store: Store, author: Author) -> str:
    """Return an open job."""
    return new_job(store, author, [Machine(family="front_load")])


def form(clock: Callable[[], datetime], name: str = "form-0001") -> Author:
    """Return an author whose form has this id."""
    ids = count()
    return Author("server", clock, lambda: f"{name}-{next(ids)}")


def test_two_invoices_of_one_form(
    store: Store, job: str, author: Author, clock: Callable[[], datetime]
) -> None:
    """Tests numbers, sums, deposit, who stands on which, and that the form counts once."""
    pay(store, job, author, Paid(30_00, "cash", clock().date()))
    split = Split(PAYER, CUSTOMER, 100_00)
    own, rest = make_two_invoices(store, job, form(clock), Done("Wren"), split, LINES)
    assert (own.content.number, rest.content.number) == ("1", "2")
    assert (own.content.total, own.content.prepaid, own.content.due) == (100_00, 30_00, 70_00)
    assert (rest.content.net + own.content.net, rest.content.prepaid) == (144_35, 0)
    assert (rest.content.buyer, rest.content.done_for) == (PAYER.name, CUSTOMER.name)
    assert (own.person, rest.person) == ("person-0001", None)
    assert rest.content.lines[-1].words == "Less the customer's excess, on invoice 1"
    assert free_deposit(store, job) == 0
    assert make_two_invoices(store, job, form(clock), Done("Wren"), split, LINES) == (own, rest)
    assert (len(bills_of(store)), check_bills(store)) == (2, [])


def test_a_split_that_fails_takes_no_number(
    store: Store, job: str, clock: Callable[[], datetime]
) -> None:
    """Tests that both invoices are issued or none."""
    for split in (Split(PAYER, CUSTOMER, 10**9), Split(PAYER, Buyer(""), 100_00)):
        with pytest.raises(MoneyError):
            make_two_invoices(store, job, form(clock), Done("Wren"), split, LINES)
    assert bills_of(store) == []
    own, _ = make_two_invoices(
        store, job, form(clock), Done("Wren"), Split(PAYER, CUSTOMER, 50_00), LINES
    )
    assert own.content.number == "1"


def test_files_for_machines_keep_the_rules(
    store: Store, job: str, clock: Callable[[], datetime]
) -> None:
    """Tests both files, and that a credit note takes the payer's back, by the rules of EN 16931."""
    keep_shop_money(store, GERMAN)
    abroad = Buyer(PAYER.name, PAYER.address, PAYER.reference, country="AT")
    split = Split(abroad, CUSTOMER, 50_00)
    own, rest = make_two_invoices(store, job, form(clock), Done("Wren"), split, LINES)
    back = credit(store, rest.id, form(clock, "form-0002"), [0, 1, 2], "not covered")
    assert back.content.total == -rest.content.total
    for one in (own, rest, back):
        assert broken(bill_xml(document_of(one.content))) == set()
    assert document_of(rest.content).buyer.country == "AT"
    assert document_of(own.content).buyer.country == "DE"
    assert document_of(rest.content).customer == "Ada Quill"
    with pytest.raises(MoneyError, match="is no country"):
        make_invoice(
            store, job, form(clock, "form-0003"), Done("Wren"), Buyer("A", country="Austria"), LINES
        )


@pytest.mark.parametrize(("country", "tax"), [("DE", 4_79), ("GB", 5_00), ("NZ", 0), ("AU", 0)])
def test_tax_that_fell_due_with_the_deposit(
    store: Store, job: str, clock: Callable[[], datetime], country: str, tax: int
) -> None:
    """Tests 19/119 and 20/120 of a deposit of 30.00 where the country taxes just that part."""
    keep_shop_money(store, ShopMoney(shop="Mill Lane", country=country))  # type: ignore[arg-type]  # one of its words
    pay(store, job, form(clock), Paid(30_00, "cash", clock().date()))
    made = make_invoice(store, job, form(clock, "form-0002"), Done("Wren"), CUSTOMER, LINES)
    assert (made.content.prepaid, made.content.prepaid_tax) == (30_00, tax)
    told = "that fell due with it" in " ".join(document_of(made.content).notes)
    assert told == bool(tax)


def test_the_day_of_the_work_is_told(store: Store, job: str, clock: Callable[[], datetime]) -> None:
    """Tests the day on content and file, and what a German shop without tax has to say."""
    keep_shop_money(store, ShopMoney(shop="Mill Lane", country="DE", taxed=False))
    day = date(2026, 2, 27)
    made = make_invoice(store, job, form(clock), Done("Wren", day), CUSTOMER, LINES)
    assert made.content.done_on == day
    document = document_of(made.content)
    assert document.delivered == day
    assert b"<cbc:ActualDeliveryDate>2026-02-27<" in bill_xml(document)
    assert "§ 19 UStG" in document.tax[0].exemption
    assert broken(bill_xml(document)) <= {"BR-CO-26", "BR-01"}
