"""Invoices for deposits: numbers, tax, what the invoice of the work takes off, and refusals.

The figures are those of the tax statutes' own rule, tax within a sum being sum x p / (100 + p)
(Umsatzsteuergesetz, section 10 (1): the price is what is paid without the tax; VAT Act 1994,
section 19 (2): the value with the tax is what is paid; both from memory).
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stores import Ticking
from tubside.documents.amounts import Currency
from tubside.documents.ubl import bill_xml
from tubside.economics.billing import Line, totals
from tubside.economics.excess import line_of_total
from tubside.errors import MoneyError
from tubside.money.countries import rules_of
from tubside.service.authors import Author
from tubside.service.jobs import new_job
from tubside.service.money.bill_paper import document_of
from tubside.service.money.crediting import credit
from tubside.service.money.deposits import make_deposit_invoice
from tubside.service.money.invoicing import Billed, Buyer, Done, bills_of, check_bills, make_invoice
from tubside.service.money.paying import Paid, free_deposit, open_bills, pay, statement_of
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.people import PersonData, add_person
from tubside.service.records import Machine
from tubside.store.opening import Store
from ubl_rules import SPACE, broken

BUYER = Buyer("Ada Quill", "1 Mill Lane\nElverdale", person="person-0001")
WORK = (
    Line("labour", "Labour", Decimal(2), "hour", 90_00, "S", 90),
    Line("part", "Drain pump", Decimal(1), "piece", 20_00, "S", 365),
)
GERMAN = ShopMoney(
    shop="Mill Lane", address="4 Mill Lane\nElverdale", country="DE", tax_number="DE123456788"
)


@pytest.fixture
def job(store: Store, author: Author) -> str:
    """Return an open job of a shop in Germany."""
    keep_shop_money(store, GERMAN)
    return new_job(store, author, [Machine(family="front_load")])


def deposit(store: Store, job: str, author: Author, cents: int = 119_00) -> Billed:
    """Issue an invoice for a deposit."""
    return make_deposit_invoice(store, job, author, Done("Wren"), BUYER, cents)


def work(store: Store, job: str, author: Author) -> Billed:
    """Issue the invoice of the work: 200.00 and 19 %, 238.00."""
    return make_invoice(store, job, author, Done("Wren", date(2026, 3, 2)), BUYER, WORK)


def test_a_deposit_with_an_invoice_of_its_own(store: Store, job: str, author: Author) -> None:
    """Tests numbers, tax of both, what is taken off and owed, and the books."""
    first = deposit(store, job, author)
    assert (first.content.net, first.content.tax, first.content.total) == (100_00, 19_00, 119_00)
    assert open_bills(store, first.content.issued, job)[0].owed.left == 119_00
    pay(store, job, author, Paid(119_00, "transfer", first.content.issued, first.id))
    assert free_deposit(store, job) == 0
    final = work(store, job, author)
    assert [first.content.number, final.content.number] == ["1", "2"]
    content = final.content
    assert (content.total, content.prepaid, content.due) == (238_00, 119_00, 119_00)
    assert content.prepaid_tax == 19_00
    assert content.tax - content.prepaid_tax == 19_00, "the tax that is still due"
    assert [one.owed.left for one in open_bills(store, content.issued, job)] == [0, 119_00]
    assert work(store, job, author).content.prepaid == 0, "taken off once"
    assert check_bills(store) == []


def test_its_files_for_machines(store: Store, job: str, author: Author) -> None:
    """Tests type 386, the reference to it (BG-3), BT-113 and BT-115, and no rule broken."""
    first = deposit(store, job, author)
    pay(store, job, author, Paid(119_00, "card", first.content.issued, first.id))
    final = work(store, job, author)
    documents = [document_of(one.content, one.job) for one in (first, final)]
    files = [bill_xml(document) for document in documents]
    asked, charged = (ET.fromstring(file) for file in files)  # noqa: S314  # our own files
    assert asked.findtext("cbc:InvoiceTypeCode", "", SPACE) == "386"
    assert charged.findtext("cbc:InvoiceTypeCode", "", SPACE) == "380"
    former = "cac:BillingReference/cac:InvoiceDocumentReference/"
    assert asked.find(former, SPACE) is None
    assert charged.findtext(f"{former}cbc:ID", "", SPACE) == "1"
    day = first.content.issued.isoformat()
    assert charged.findtext(f"{former}cbc:IssueDate", "", SPACE) == day
    for name in ("PrepaidAmount", "PayableAmount"):
        path = f"cac:LegalMonetaryTotal/cbc:{name}"
        assert charged.findtext(path, "", SPACE) == "119.00"
    assert [broken(file) for file in files] == [set(), set()]
    tax = Currency("EUR").text(19_00)
    assert f"{tax} of it USt, on invoice 1" in " ".join(documents[1].notes)


def test_what_came_in_before_counts_on_it(store: Store, job: str, author: Author) -> None:
    """Tests that a deposit paid first settles its invoice, and more than it stays free."""
    pay(store, job, author, Paid(150_00, "card", date(2026, 2, 27)))
    first = deposit(store, job, author)
    assert (first.content.prepaid, first.content.due) == (119_00, 0)
    assert first.content.prepaid_tax == 0, "its own tax is its own"
    assert first.content.received_on == date(2026, 2, 27)
    assert free_deposit(store, job) == 31_00
    final = work(store, job, author).content
    assert (final.prepaid, final.due) == (150_00, 88_00)
    assert final.prepaid_tax == 19_00 + 4_95  # 31.00 x 19 / 119 = 4.9496
    assert free_deposit(store, job) == 0


def test_a_deposit_beyond_the_work_is_paid_back(store: Store, job: str, author: Author) -> None:
    """Tests that all of an invoiced deposit comes off, though the work cost less."""
    first = deposit(store, job, author, 357_00)
    pay(store, job, author, Paid(357_00, "card", first.content.issued, first.id))
    final = work(store, job, author)
    assert final.content.due == 238_00 - 357_00
    assert open_bills(store, final.content.issued, job)[1].owed.left == -119_00


def test_an_unpaid_deposit_holds_up_the_invoice(store: Store, job: str, author: Author) -> None:
    """Tests that nothing is asked for twice: it is paid first, or credited."""
    first = deposit(store, job, author)
    with pytest.raises(MoneyError, match="the deposit on invoice 1 is not paid"):
        work(store, job, author)
    credit(store, first.id, author, [0], "paid at the end instead")
    final = work(store, job, author)
    assert (final.content.prepaid, final.content.deposits) == (0, [])
    assert [one.content.number for one in bills_of(store, job)] == ["1", "C1", "2"]


def test_a_deposit_that_was_taken_off_is_not_credited(
    store: Store, job: str, author: Author
) -> None:
    """Tests that its credit note would give the same money back twice."""
    first = deposit(store, job, author)
    pay(store, job, author, Paid(119_00, "card", first.content.issued, first.id))
    final = work(store, job, author)
    with pytest.raises(MoneyError, match="invoice 2 took this deposit off"):
        credit(store, first.id, author, [0], "a mistake")
    note = credit(store, final.id, author, [0, 1], "undone")
    assert (note.content.total, note.content.deposits) == (-238_00, [])


def test_a_statement_adds_up(store: Store, job: str, author: Author, clock: Ticking) -> None:
    """Tests that a statement ends with what the open invoices say, the deposit counted once."""
    add_person(store, "person-0001", PersonData(name="Ada Quill"), clock())
    first = deposit(store, job, author)
    pay(store, job, author, Paid(119_00, "card", first.content.issued, first.id))
    final = work(store, job, author)
    _, moves = statement_of(store, "person-0001", date(2026, 1, 1))
    assert moves[-1][1] == open_bills(store, final.content.issued, job)[1].owed.left == 119_00
    words = [move.words for move, _ in moves]
    assert "Invoice for a deposit 1" in words
    assert "Invoice 2, less invoice 1" in words


@pytest.mark.parametrize(
    "shop",
    [ShopMoney(country="NZ"), ShopMoney(country="US"), ShopMoney(country="DE", taxed=False)],
)
def test_none_where_no_tax_is_due_with_it(
    store: Store, job: str, author: Author, shop: ShopMoney
) -> None:
    """Tests that a deposit has no invoice of its own where its tax does not fall due with it."""
    keep_shop_money(store, shop)
    with pytest.raises(MoneyError, match="no tax is due on a deposit alone"):
        deposit(store, job, author)


def test_the_same_form_counts_once(store: Store, job: str, clock: Callable[[], object]) -> None:
    """Tests that the form sent twice issues one invoice, and a sum of nought none."""
    form = Author("server", clock, lambda: "form-0001")  # type: ignore[arg-type]  # the tests' clock
    assert deposit(store, job, form).id == deposit(store, job, form).id
    other = Author("server", clock, lambda: "form-0002")  # type: ignore[arg-type]  # as above
    with pytest.raises(MoneyError, match="too small"):
        deposit(store, job, other, 0)
    assert len(bills_of(store, job)) == 1


@given(st.integers(5, 10_000_00), st.sampled_from([("DE", 19), ("GB", 20), ("DE", 16)]))
def test_a_line_of_a_total(total: int, of: tuple[str, int]) -> None:
    """Tests that the line's total is the sum, or the next lower one that any net amount gives."""
    rules, percent = rules_of(of[0]), Decimal(of[1])
    line = line_of_total("S", rules, percent, total, "Deposit")
    more = Line("other", "Deposit", Decimal(1), "piece", line.price + 1)
    assert totals([line], rules, percent).taxed.total <= total
    assert totals([more], rules, percent).taxed.total > total
