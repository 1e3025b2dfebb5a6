"""The report for the customer: in plain words, before and after, on a page and on paper."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest

from pictures_made import picture_with_place
from tubside.service.attachments import add_photo
from tubside.service.job_report import job_report
from tubside.service.jobs import job_view, record
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person
from tubside.service.records import (
    Body,
    Closing,
    DangerTold,
    PersonNamed,
    PhotoKept,
    ReadingDone,
    RemedyDone,
)
from unscripted import Unscripted, unscripted_at

CLOSED = Closing(causes=["pump-object"], confirmed_by="re-run")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop with one customer."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    add_person(made.store, "person-0001", PersonData(name="Ada Quill"), made.clock())
    yield made
    made.store.close()


def cleared(shop: Unscripted) -> str:
    """Return the remedy that clears the strainer."""
    remedies = shop.library.family("front_load").pack.remedies
    return next(name for name, one in remedies.items() if "pump-object" in one.clears and one.say)


def mended(shop: Unscripted, *first: Body) -> str:
    """Keep a job with readings and photos on either side of its remedy; its id."""
    job = shop.job(PersonNamed(ref="person-0001"), *first)
    remedy = RemedyDone(remedy=cleared(shop), outcome="works", by="technician")
    told: tuple[Body, ...] = (
        ReadingDone(check="drain-time", value=400.0, said="400 s", by="technician"),
        PhotoKept(ref=f"{job}-one", of="part"),
        remedy,
        ReadingDone(check="drain-time", value=40.0, said="40 s", by="technician"),
        PhotoKept(ref=f"{job}-two", of="machine"),
        CLOSED,
    )
    for body in told:
        if isinstance(body, PhotoKept):
            add_photo(shop.store, job, body.ref, picture_with_place(), shop.clock())
        record(shop.store, job, shop.author(), body)
    return job


def test_before_and_after(shop: Unscripted) -> None:
    """Tests that readings and photos fall to their side of the remedy, and hold no place."""
    job = mended(shop)
    view = job_view(shop.store, shop.library, job)
    report = job_report(shop.store, view, shop.clock().date())
    assert [(one.value, one.when) for one in report.readings] == [
        ("400 s", "before"),
        ("40 s", "after"),
    ]
    assert [(one.caption, one.when) for one in report.photos] == [
        ("a part", "before"),
        ("the machine", "after"),
    ]
    assert not any(b"SECRET" in one.picture for one in report.photos)
    assert report.customer.name == "Ada Quill"
    assert len(report.done) == 1
    assert report.done[0].endswith("the machine then passed")


def test_plain_words_on_the_page(shop: Unscripted) -> None:
    """Tests that the cause is in plain words, and cautions stand before the advice."""
    job = mended(shop)
    page = shop.get(f"/jobs/{job}/report").text
    plain = shop.library.family("front_load").pack.causes["pump-object"].plain
    assert plain[1:20] in page
    assert page.index("<b>Caution</b>") < page.index("So that it stays away")
    assert "Warranty" not in page
    shop.post(f"/jobs/{job}/after", {"do": "warranty", "labour_days": "90", "part_days": "365"})
    assert "What the law gives you stands above this" in shop.get(f"/jobs/{job}/report").text


def test_no_advice_after_a_danger(shop: Unscripted) -> None:
    """Tests that after a shock nothing is advised while no test released the machine."""
    job = mended(shop, DangerTold(kinds=["shock"]))
    view = job_view(shop.store, shop.library, job)
    report = job_report(shop.store, view, shop.clock().date())
    assert report.advice == ()
    assert "So that it stays away" not in shop.get(f"/jobs/{job}/report").text


def test_on_paper(shop: Unscripted) -> None:
    """Tests that the report is set as a PDF file."""
    answer = shop.get(f"/jobs/{mended(shop)}/report.pdf")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert BytesIO(answer.content).read(5) == b"%PDF-"


def test_a_photo_may_say_itself_when_it_was_taken(shop: Unscripted) -> None:
    """Tests that what was told of a photo stands above its place on the line."""
    job = mended(shop)
    add_photo(shop.store, job, f"{job}-three", picture_with_place(), shop.clock())
    late = PhotoKept(ref=f"{job}-three", of="part", when="before")
    record(shop.store, job, shop.author(), late)
    view = job_view(shop.store, shop.library, job)
    photos = job_report(shop.store, view, shop.clock().date()).photos
    assert [one.when for one in photos] == ["before", "after", "before"]
