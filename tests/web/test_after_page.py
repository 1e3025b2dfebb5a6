"""Payer, return and disposal by their forms, without a script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person
from tubside.service.records import Closing, PersonNamed
from tubside.service.returns import returned_job
from unscripted import Unscripted, unscripted_at

CLOSED = Closing(causes=["pump-object"], confirmed_by="re-run")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop with one customer."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    add_person(made.store, "person-0001", PersonData(name="Ada Quill"), made.clock())
    yield made
    made.store.close()


def test_a_return_and_who_pays(shop: Unscripted) -> None:
    """Tests that a return carries machine and person over, and dates decide what is covered."""
    job = shop.job(PersonNamed(ref="person-0001"), CLOSED)
    here = f"/jobs/{job}/after"
    promised = shop.post(here, {"do": "warranty", "labour_days": "30", "part_days": "180"})
    assert "Work until" in promised.text
    page = shop.post(here, {"do": "return", "once": "return-00001"})
    found = re.match(r"/jobs/([^/]+)/trouble", page.url.path)
    assert found is not None
    again = job_view(shop.store, shop.library, found[1])
    assert again.person is not None
    assert again.person.ref == "person-0001"
    assert again.source is not None
    assert again.source.job.model == "brackwater-wren"
    link = returned_job(shop.store, again.entries)
    assert link is not None
    assert (link.id, link.terms.labour_days) == (job, 30)
    assert "Work and part are covered: the shop pays" in shop.get(f"/jobs/{again.id}/after").text
    assert f"/jobs/{again.id}" in shop.get(here).text
    shop.clock.now += timedelta(days=60)
    assert "Work and part are covered" in shop.get(f"/jobs/{again.id}/after").text
    later = shop.post(here, {"do": "return"}).url.path.removesuffix("/trouble")
    assert "The part is covered, the work is not" in shop.get(f"{later}/after").text
    shop.post(f"/jobs/{again.id}/after", {"do": "payer", "who": "shop"})
    payer = job_view(shop.store, shop.library, again.id).payer
    assert payer is not None
    assert payer.who == "shop"


def test_a_return_is_linked_later(shop: Unscripted) -> None:
    """Tests that an open job is offered the customer's closed ones, and no other."""
    old = shop.job(PersonNamed(ref="person-0001"), CLOSED)
    strange = shop.job(CLOSED)
    new = shop.job(PersonNamed(ref="person-0001"))
    page = shop.get(f"/jobs/{new}/after").text
    assert old in page
    assert strange not in page
    linked = shop.post(f"/jobs/{new}/after", {"do": "link", "earlier": old})
    assert "the usual terms stand here" in linked.text
    for wrong in (new, shop.job()):
        refused = shop.post(f"/jobs/{new}/after", {"do": "link", "earlier": wrong})
        assert refused.status_code == 422


def test_no_return_of_an_open_job(shop: Unscripted) -> None:
    """Tests that a return for a job that was never closed is refused."""
    refused = shop.post(f"/jobs/{shop.job()}/after", {"do": "return"})
    assert refused.status_code == 422
    assert "still open" in refused.text


def test_a_payer_with_number_and_excess(shop: Unscripted) -> None:
    """Tests that the number lies beside the facts, and tapping the payer again keeps it."""
    job = shop.job()
    told = {"do": "payer", "who": "insurer", "number": "CL-77 <x>", "excess": "50,5"}
    page = shop.post(f"/jobs/{job}/after", told).text
    assert 'value="CL-77 &lt;x&gt;"' in page
    assert 'value="50.50"' in page
    shop.post(f"/jobs/{job}/payer", {"who": "insurer"})
    view = job_view(shop.store, shop.library, job)
    assert view.payer is not None
    assert view.payer.excess_cents == 5050
    assert "CL-77" not in "".join(str(entry.body) for entry in view.entries)
    wrong = shop.post(f"/jobs/{job}/after", {**told, "excess": "much"})
    assert wrong.status_code == 422


def test_where_the_old_machine_went(shop: Unscripted) -> None:
    """Tests the disposal note, and that a strange way is refused."""
    here = f"/jobs/{shop.job()}/after"
    told = {"do": "gone", "what": "machine", "way": "recycled", "place": "Elverdale yard, slip 12"}
    assert "taken for recycling, Elverdale yard, slip 12" in shop.post(here, told).text
    assert shop.post(here, {**told, "way": "river"}).status_code == 422
    assert shop.post(here, {"do": ""}).status_code == 422
