"""A caution ticked on a page stands on the record under the name of who was logged in."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from asking import NOON, add_accounts
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.logins import users
from tubside.service.safety_settings import choose_country
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from two_logins import Shop

APPLIANCE = {"do": "appliance", "protection": "I", "heater_kw": "2", "cord_m": "1.5"}
RUN = {"do": "look", "test": "run", "outcome": "pass"}


def test_the_name_of_who_ticked_it(tmp_path: Path) -> None:
    """Tests that without the tick nothing is kept, and with it record and job tell the account."""
    store = open_data(tmp_path, lambda: NOON)
    add_accounts(store)
    choose_country(store, "NZ")
    shop = Shop(create_app(Guarding(), store, Library(), lambda: NOON), store, count(1))
    name = next(user.name for user in users(store) if user.role == "technician")
    token, job = shop.login("technician"), shop.visit("Adaline", "", name)
    path = f"/jobs/{job}/safety"
    assert shop.ask(path, token, {**APPLIANCE, "cord_mm2": "1.0"}).status == 303
    assert shop.ask(path, token, RUN).status == 422
    assert b"Acknowledged" not in shop.ask(f"{path}/record", token).body
    assert shop.ask(path, token, {**RUN, "caution": "run"}).status == 303
    record = shop.ask(f"{path}/record", token).body.decode()
    assert "Function and leak run: The appliance is live" in record
    assert f"Acknowledged by {name}." in record
    store.close()
