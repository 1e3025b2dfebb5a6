"""Who sees what of the day: a technician the own customers, the office all, others nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from asking import NOON, add_accounts
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.logins import users
from tubside.service.visits.settings import TechnicianSetting, keep_technician
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from two_logins import TOMORROW, Shop

DAY = f"/day/{TOMORROW.date().isoformat()}"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with two technicians, one of whom has an account of the tests."""
    store = open_data(tmp_path, lambda: NOON)
    add_accounts(store)
    mine = next(user.name for user in users(store) if user.role == "technician")
    for name in (mine, "somebody-else"):
        keep_technician(store, name, TechnicianSetting(start="52.1, 0.25"))
    made = Shop(create_app(Guarding(), store, Library(), lambda: NOON), store, count(1))
    made.visit("Adaline", "52.11, 0.26", mine)
    made.visit("Benedict", "", mine)
    made.visit("Crispin", "52.12, 0.24", "somebody-else")
    made.visit("Dorothea", "", "somebody-else")
    yield made
    store.close()


def test_a_technician_reads_of_the_own_customers_alone(shop: Shop) -> None:
    """Tests that neither rounds, map nor notes name anybody of another's round."""
    text = shop.ask(DAY, shop.login("technician")).body.decode()
    assert "Adaline" in text
    assert "Nobody knows where Benedict is" in text
    assert "Crispin" not in text
    assert "Dorothea" not in text


def test_the_office_reads_of_everybody(shop: Shop) -> None:
    """Tests that all customers are there, and who lives where nobody knows."""
    text = shop.ask(DAY, shop.login("office")).body.decode()
    assert all(name in text for name in ("Adaline", "Benedict", "Crispin", "Dorothea"))
    assert "Nobody knows where Benedict, Dorothea is" in text


def test_numbers_are_printed_for_who_goes(shop: Shop) -> None:
    """Tests that the day holds telephone numbers for paper of one's own round alone."""
    mine = next(user.name for user in users(shop.store) if user.role == "technician")
    shop.visit("Edmund", "52.12, 0.24", mine, "01632 960111")
    shop.visit("Frideswide", "52.12, 0.25", "somebody-else", "01632 960222")
    own = shop.ask(DAY, shop.login("technician")).body.decode()
    assert re.findall(r"Telephone: <b>([^<]+)<", own) == ["01632 960111"]
    assert "960222" not in own
    office = shop.ask(DAY, shop.login("office")).body.decode()
    assert "Frideswide" in office
    assert "Telephone:" not in office


def test_others_are_refused(shop: Shop) -> None:
    """Tests that the day needs a login, and the office's own acts and settings its role."""
    answer = shop.ask(DAY)
    assert answer.status == 401
    assert b"Adaline" not in answer.body
    other = shop.visit("Edmund", "52.12, 0.24", "somebody-else")
    token = shop.login("technician")
    refused = [shop.ask("/day-settings", token), shop.ask(f"{DAY}?job={other}", token)]
    forms = ({"do": "best"}, {"do": "earlier", "job": other}, {"do": "book", "job": other})
    refused += [shop.ask(DAY, token, form) for form in forms]
    for answer in refused:
        assert answer.status == 422
        assert b"nly the office may" in answer.body
        assert b"Edmund" not in answer.body
