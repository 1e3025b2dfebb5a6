"""A closing told without signal while the safety test is missing: kept, and never silent."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from asking import Asked, ask
from papers import read_pdf
from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.records import RemedyDone
from tubside.service.safety_records import WorkTouched
from tubside.service.safety_settings import choose_country
from tubside.service.unproven import unproven_lines
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import Unscripted, unscripted_at

WORDS = "Closed without its safety test"
OURS = (b"origin", b"http://127.0.0.1:8321")
TOUCHED = WorkTouched(what=["cord-or-plug"])


def close_by_phone(shop: Unscripted, job: str) -> None:
    """Send a closing as a phone does that has signal again."""
    body = {"kind": "closing", "causes": ["pump-object"], "confirmed_by": "re-run"}
    at = shop.clock().isoformat()
    told = {"id": f"phone-{job}", "job": job, "sequence": 1, "at": at, "body": body}
    said = json.dumps({"device": f"phone-{job[-8:]}", "facts": [told]}).encode()
    app = create_app(Guarding(), shop.store, shop.library, shop.clock)
    answer = ask(app, Asked("POST", "/sync", headers=[OURS], chunks=(said,)))
    assert json.loads(answer.body)["results"][0]["result"] == "kept"


@pytest.fixture
def shop(tmp_path: Path) -> Unscripted:
    """A shop where the test is a duty."""
    made = unscripted_at(tmp_path, Library())
    choose_country(made.store, "NZ")
    return made


def test_it_is_said_until_the_machine_is_marked(shop: Unscripted) -> None:
    """Tests list, job page and report, before and after the machine is marked unsafe."""
    job = shop.job(TOUCHED)
    assert WORDS not in shop.get("/").text
    close_by_phone(shop, job)
    assert job_view(shop.store, shop.library, job).stage == "closed"
    pages = ("/", "/?closed=1", f"/jobs/{job}")
    for page in pages:
        assert WORDS in shop.get(page).text, page
    printed = read_pdf(shop.get(f"/jobs/{job}/report.pdf").content).text()
    assert "Do not use this machine" in printed
    told = {"do": "decide", "release": "not-released", "tester": "Ada Quill"}
    assert shop.post(f"/jobs/{job}/safety", told).status_code == 200
    for page in pages:
        assert WORDS not in shop.get(page).text, page
    shop.store.close()


def test_a_job_that_needs_no_test_is_closed_in_peace(shop: Unscripted) -> None:
    """Tests that nothing is said of a machine at which nothing was opened or touched."""
    job = shop.job()
    close_by_phone(shop, job)
    for page in ("/", "/?closed=1", f"/jobs/{job}"):
        assert WORDS not in shop.get(page).text, page
    shop.store.close()


def test_a_closing_taken_back(shop: Unscripted) -> None:
    """Tests that nothing is said of a job that is open again, whatever it still lacks."""
    job = shop.job(TOUCHED)
    close_by_phone(shop, job)
    told = {"fact": f"phone-{job}", "reason": "other", "once": "slip-0001"}
    again = shop.post(f"/jobs/{job}/take-back", told)
    assert again.status_code == 200, again.text
    assert WORDS not in shop.get("/").text
    shop.store.close()


def test_it_is_found_far_back(shop: Unscripted, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that the first page tells of it although jobs were closed since, and of no other."""
    monkeypatch.setattr("tubside.service.unproven.LATEST", 1)
    job = shop.job(TOUCHED)
    close_by_phone(shop, job)
    for _ in range(2):
        close_by_phone(shop, shop.job())
    page = shop.get("/").text
    assert WORDS in page
    assert f"/jobs/{job}" in page
    told = {"do": "decide", "release": "not-released", "tester": "Ada Quill"}
    assert shop.post(f"/jobs/{job}/safety", told).status_code == 200
    assert WORDS not in shop.get("/").text
    shop.store.close()


def test_work_behind_a_cover_is_found(shop: Unscripted) -> None:
    """Tests that a technician's step behind a cover asks, and one that was not done does not."""
    pack = shop.library.family("front_load").pack
    name = next(name for name, one in pack.remedies.items() if one.behind is not None)
    done = RemedyDone(remedy=name, outcome="works", by="technician")
    idle = RemedyDone(remedy=name, outcome="not done", by="technician")
    jobs = [shop.job(done), shop.job(idle)]
    for job in jobs:
        close_by_phone(shop, job)
    found = [line.id for line in unproven_lines(shop.store, shop.library)]
    assert found == jobs[:1]
    shop.store.close()
