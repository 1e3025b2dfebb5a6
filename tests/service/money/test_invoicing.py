"""Invoice numbers under concurrency, credit notes, payments and what is owed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import text, update

from stores import START, Ticking
from tubside.economics.billing import Line
from tubside.errors import MoneyError, NotThereError, TubsideError
from tubside.money.amounts import Rounding, rounded
from tubside.service.authors import Author
from tubside.service.jobs import new_job
from tubside.service.money.crediting import credit
from tubside.service.money.invoicing import (
    Billed,
    Buyer,
    Done,
    bill,
    bills_of,
    check_bills,
    make_invoice,
)
from tubside.service.money.paying import (
    Paid,
    free_deposit,
    open_bills,
    pay,
    payments_of,
    statement_of,
    take_payment_back,
)
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.people import PersonData, add_person
from tubside.service.records import Machine
from tubside.store import money as rows
from tubside.store.opening import Store
from tubside.store.tables import BILLS

LABOUR = Line("labour", "Labour by day", Decimal("1.25"), "hour", 90_00, "S", 90)
PUMP = Line("part", "Drain pump", Decimal(1), "piece", 31_85, "S", 365)
BUYER = Buyer("Ada Quill", "1 Mill Lane\nElverdale", person="person-0001")
DAY = START.date()


@pytest.fixture
def job(store: Store, author: Author) -> str:
    """Return an open job."""
    return new_job(store, author, [Machine(family="front_load")])


def once(clock: Callable[[], object], name: str) -> Author:
    """Return an author whose form has this id."""
    return Author("server", clock, lambda: name)  # type: ignore[arg-type]  # the clock of the tests


def issue(store: Store, job: str, author: Author, *lines: Line) -> Billed:
    """Issue an invoice."""
    return make_invoice(store, job, author, Done("Wren"), BUYER, lines or (LABOUR, PUMP))


def flood(store: Store, job: str, requests: int, threads: int) -> list[Billed]:
    """Ask for many invoices at once, every seventh one failing."""
    start = threading.Barrier(threads)

    def ask(numbers: range) -> list[Billed]:
        start.wait()
        made = []
        for n in numbers:
            author = Author("server", Ticking(), lambda n=n: f"form-{n:06}")  # type: ignore[misc]
            lines = [PUMP] if n % 7 else [PUMP, Line("other", "", Decimal(1), "piece", 1)]
            try:
                made.append(make_invoice(store, job, author, Done("Wren"), BUYER, lines))
            except MoneyError:
                assert n % 7 == 0
        return made

    with ThreadPoolExecutor(threads) as pool:
        shares = [range(at, requests, threads) for at in range(threads)]
        return [one for made in pool.map(ask, shares) for one in made]


def check_flood(store: Store, job: str, requests: int, threads: int) -> None:
    """Check that numbers are unique and gapless and totals right to the cent."""
    made = flood(store, job, requests, threads)
    wanted = requests - len(range(0, requests, 7))
    assert sorted(int(one.content.number) for one in made) == list(range(1, wanted + 1))
    rule: Rounding = "half-down"
    tax = rounded(Decimal(31_85) * 15 / 100, rule)
    assert {one.content.total for one in made} == {31_85 + tax}
    assert sum(one.content.total for one in bills_of(store)) == wanted * (31_85 + tax)
    assert check_bills(store) == []


def test_sixty_at_once(store: Store, job: str) -> None:
    """Tests that sixty requests at once get numbers without a gap, to the cent, on both stores."""
    check_flood(store, job, 60, 12)


@pytest.mark.soak
def test_five_hundred_at_once(store: Store, job: str) -> None:
    """Tests the same with five hundred."""
    check_flood(store, job, 500, 25)


def test_a_number_undone_is_given_again(store: Store, job: str, author: Author) -> None:
    """Tests that what fails after the number was counted leaves no gap."""
    assert issue(store, job, author).content.number == "1"

    def count_and_fail() -> None:
        with store.writing() as opened:
            assert rows.next_number(opened, "invoice") == 2
            raise RuntimeError

    with pytest.raises(RuntimeError):
        count_and_fail()
    assert issue(store, job, author).content.number == "2"


def test_a_form_counts_once(store: Store, job: str, clock: Ticking) -> None:
    """Tests that the same form sent again gives the same invoice, and another use is refused."""
    first = issue(store, job, once(clock, "form-0001"))
    assert issue(store, job, once(clock, "form-0001"), LABOUR) == first
    assert len(bills_of(store, job)) == 1
    with pytest.raises(MoneyError, match="is taken"):
        credit(store, first.id, once(clock, "form-0001"), [0], "wrong")


def test_what_was_altered_shows(store: Store, job: str, author: Author) -> None:
    """Tests that a bill changed or taken out behind the program's back is told."""
    issued = [issue(store, job, author) for _ in range(3)]
    assert check_bills(store) == []
    with store.writing() as opened:
        changed = issued[0].content.buyer
        row = rows.bill(opened, issued[0].id)
        assert row is not None
        altered = row.content.replace(changed, "Bo Fenn")
        opened.execute(update(BILLS).where(BILLS.c.id == row.id).values(content=altered))
    assert check_bills(store) == ["invoice 1 does not hold what was issued"]
    with store.writing() as opened:
        opened.execute(text("DELETE FROM bills WHERE number = 2"))
    assert "invoice 2 is missing" in check_bills(store)


def test_credit_notes(store: Store, job: str, author: Author) -> None:
    """Tests that lines are credited once, in a series of their own, and nothing is edited."""
    was = issue(store, job, author)
    note = credit(store, was.id, author, [1], "the pump was covered")
    assert (note.content.number, note.content.corrects, note.corrects) == ("C1", "1", was.id)
    assert note.content.net == -31_85
    with pytest.raises(MoneyError, match="was credited before"):
        credit(store, was.id, author, [0, 1], "again")
    rest = credit(store, was.id, author, [0], "all of it")
    assert abs(was.content.total + note.content.total + rest.content.total) <= 1
    assert bill(store, was.id) == was
    for name, chosen, reason in ((was.id, [0], " "), (was.id, [7], "x")):
        with pytest.raises(MoneyError):
            credit(store, name, author, chosen, reason)
    with pytest.raises(NotThereError):
        credit(store, note.id, author, [0], "a note on a note")


def test_a_credit_keeps_the_rate_of_its_invoice(store: Store, job: str, author: Author) -> None:
    """Tests that a later change of tax does not reach what was issued."""
    was = issue(store, job, author)
    keep_shop_money(store, ShopMoney(country="GB"))
    note = credit(store, was.id, author, [0, 1], "undone")
    assert note.content.total == -was.content.total
    assert issue(store, job, author).content.head.percent == "20"


def test_payments_in_parts(store: Store, job: str, author: Author) -> None:
    """Tests parts, the last in cash to the smallest coin, and that no more is taken than open."""
    was = issue(store, job, author)  # 144.35 and 21.65 of tax: 166.00
    assert was.content.total == 166_00
    pay(store, job, author, Paid(65_97, "transfer", DAY, was.id))
    (owed,) = open_bills(store, DAY + timedelta(days=20), job)
    assert (owed.owed.left, owed.days_over, owed.age) == (100_03, 6, "to 30 days")
    with pytest.raises(MoneyError, match="more than is open"):
        pay(store, job, author, Paid(100_04, "card", DAY, was.id))
    pay(store, job, author, Paid(100_00, "cash", DAY, was.id))
    assert open_bills(store, DAY) == []
    assert payments_of(store, job)[-1].rounding == 3
    taken = payments_of(store, job)[-1].id
    take_payment_back(store, job, author, taken)
    assert open_bills(store, DAY)[0].owed.left == 100_03
    for wrong in (taken, payments_of(store, job)[-1].id):
        with pytest.raises(MoneyError, match="taken back before"):
            take_payment_back(store, job, author, wrong)


def test_a_deposit_counts_once(store: Store, job: str, author: Author) -> None:
    """Tests that a deposit is taken off the first invoice, as far as it goes, and never twice."""
    pay(store, job, author, Paid(200_00, "card", DAY))
    first = issue(store, job, author)
    assert (first.content.prepaid, first.content.due) == (166_00, 0)
    assert free_deposit(store, job) == 34_00
    assert issue(store, job, author).content.prepaid == 34_00
    with pytest.raises(MoneyError, match="counted this deposit"):
        take_payment_back(store, job, author, payments_of(store, job)[0].id)
    with pytest.raises(MoneyError, match="more would go back"):
        pay(store, job, author, Paid(1, "card", DAY, back=True))
    credit(store, first.id, author, [0, 1], "undone")
    assert open_bills(store, DAY, job)[0].owed.left == -166_00
    pay(store, job, author, Paid(166_00, "transfer", DAY, first.id, back=True))
    assert open_bills(store, DAY, job)[0].owed.left == 0


def test_a_statement(store: Store, job: str, author: Author, clock: Ticking) -> None:
    """Tests that a statement tells invoice, payment and credit note, and ends with what is open."""
    add_person(store, "person-0001", PersonData(name="Ada Quill"), clock())
    was = issue(store, job, author)
    pay(store, job, author, Paid(6_00, "cash", DAY, was.id))
    credit(store, was.id, author, [1], "covered")
    before, moves = statement_of(store, "person-0001", DAY)
    assert before == 0
    assert [move.words for move, _ in moves][:1] == ["Invoice 1"]
    assert moves[-1][1] == open_bills(store, DAY)[0].owed.left
    assert statement_of(store, "person-0001", date(2030, 1, 1)) == (moves[-1][1], [])


@pytest.mark.parametrize(
    "wrong",
    [Paid(0, "cash", DAY), Paid(1, "gold", DAY), Paid(1, "cash", DAY, "no-such-bill")],  # type: ignore[arg-type]
)
def test_payments_that_cannot_be(store: Store, job: str, author: Author, wrong: Paid) -> None:
    """Tests that nothing is kept of a sum, a way or an invoice that cannot be."""
    with pytest.raises(TubsideError):
        pay(store, job, author, wrong)
    assert payments_of(store, job) == []


def test_a_shop_without_tax(store: Store, job: str, author: Author) -> None:
    """Tests that a shop that is not registered charges none and says so by category."""
    keep_shop_money(store, ShopMoney(taxed=False))
    made = issue(store, job, author).content
    assert (made.tax, made.head.tax, {line.category for line in made.lines}) == (0, "", {"O"})


def test_a_shop_with_a_rate_of_its_own(store: Store, job: str, author: Author) -> None:
    """Tests that a rate is the shop's where the country has none, and is never made up."""
    keep_shop_money(store, ShopMoney(country="US"))
    with pytest.raises(MoneyError, match="no rate of Sales tax"):
        issue(store, job, author)
    keep_shop_money(store, ShopMoney(country="US", own_percent="6,25"))
    assert issue(store, job, author).content.head.percent == "6.25"
    with pytest.raises(MoneyError, match="cannot be kept"):
        keep_shop_money(store, ShopMoney(own_percent="much"))


def test_nobody_is_billed(store: Store, job: str, author: Author) -> None:
    """Tests that an invoice names who pays."""
    with pytest.raises(MoneyError, match="who pays"):
        make_invoice(store, job, author, Done(""), Buyer(" "), [PUMP])
