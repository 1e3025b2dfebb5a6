"""Films that customers send by their link: on that job alone, few, and by no other link."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from io import BytesIO
from itertools import count
from pathlib import Path

import httpx
import numpy as np
import pytest
from scipy.io import wavfile
from starlette.types import ASGIApp

from tubside.panel.moving.pictures import Wish
from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job, record
from tubside.service.kept_recordings import kept_recordings, read_recording
from tubside.service.library import Library
from tubside.service.moving.showing import Asked, shown
from tubside.service.own_check import choosing
from tubside.service.own_check.links import door_link, job_link
from tubside.service.own_check.standing import DEVICE
from tubside.service.recording_records import RecordingKept
from tubside.service.records import Closing, DangerTold, Machine, Place
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.pages.own_check_film import FILM_LIMIT, MOST_FILMS
from tubside.web.security.guarding import Guarding
from unscripted import asked
from watched import mp4_frames

LIBRARY = Library()
NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)
WREN = Machine(model="brackwater-wren", family="front_load")


@dataclass
class Shop:
    """The app, its store, and the time of day."""

    app: ASGIApp
    store: Store
    now: list[datetime]
    numbers: Iterator[int] = field(default_factory=count)

    def author(self) -> Author:
        """The shop itself as author."""
        return Author("server", lambda: self.now[0], lambda: f"fact-number-{next(self.numbers)}")

    def job(self) -> str:
        """A job of a Wren."""
        return new_job(self.store, self.author(), [DangerTold(), WREN])

    def link(self, job: str) -> str:
        """The path of a job's link."""
        return f"/check/{job_link(self.store, job, self.now[0])}"

    def send(self, link: str, content: bytes, once: str = "film-1") -> httpx.Response:
        """Send a film by a link, as the page's form does."""
        form = {"once": once}
        return asked(self.app, "POST", f"{link}/film", form, {"recording": ("clip.mp4", content)})

    def films(self, job: str) -> list[RecordingKept]:
        """The films on a job that count as its customer's."""
        entries = job_view(self.store, LIBRARY, job).entries
        kept = [one for one in entries if isinstance(one.body, RecordingKept)]
        assert all(one.device == DEVICE for one in kept)
        return [one.body for one in kept if isinstance(one.body, RecordingKept)]


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """An empty shop, its beliefs made of few sets to be quick."""
    monkeypatch.setattr(viewing, "advise", partial(advise, size=40))
    monkeypatch.setattr(choosing, "SETS", 60)
    monkeypatch.setattr(choosing, "AHEAD", (0, 20))
    now = [NOON]
    store = open_data(tmp_path, lambda: now[0])
    app = create_app(Guarding(frozenset({"testserver"})), store, LIBRARY, lambda: now[0])
    yield Shop(app, store, now)
    store.close()


@pytest.fixture(scope="module")
def film() -> bytes:
    """A clip of the Wren's lamps."""
    panel = LIBRARY.model("brackwater-wren").panel
    assert panel is not None
    return shown(panel, "one-five", Asked("mp4", Wish(width=160), at_least_s=1.0, silent=True))


def sound() -> bytes:
    """Half a second of a tone."""
    out = BytesIO()
    tone = 9000 * np.sin(np.arange(8000) * 0.4)
    wavfile.write(out, 16_000, tone.astype(np.int16))
    return out.getvalue()


def test_a_film_comes_to_its_job(shop: Shop, film: bytes) -> None:
    """Tests that a film hangs on the job of its link as its customer's, and on no other."""
    job, other = shop.job(), shop.job()
    link = shop.link(job)
    before = asked(shop.app, "POST", link, {"do": "danger", "danger": "none"}).text
    answer = shop.send(link, film)
    assert answer.status_code == 200
    assert ("Your film is with" in before, "Your film is with" in answer.text) == (False, True)
    (kept,) = shop.films(job)
    assert kept.of == "lamps"
    frames = [mp4_frames(one) for one in (read_recording(shop.store, job, kept.ref).content, film)]
    assert all(np.array_equal(a[2], b[2]) for a, b in zip(*frames, strict=True))
    assert shop.films(other) == []
    assert kept_recordings(shop.store, other) == set()
    listed = asked(shop.app, "GET", f"/jobs/{job}/recordings").text
    assert f"/recordings/{kept.ref}" in listed


def test_a_sound_is_kept_as_one(shop: Shop) -> None:
    """Tests that what has no picture is kept to be heard."""
    job = shop.job()
    shop.send(shop.link(job), sound())
    assert [one.of for one in shop.films(job)] == ["sound"]


def test_few_are_taken_and_each_once(shop: Shop, film: bytes) -> None:
    """Tests that the same form twice is one film, and that there is an end of them."""
    job = shop.job()
    link = shop.link(job)
    for _ in range(2):
        assert shop.send(link, film, "same-form").status_code == 200
    assert len(shop.films(job)) == 1
    for number in range(MOST_FILMS - 1):
        shop.send(link, film, f"more-{number}")
    refused = shop.send(link, film, "one-too-many")
    assert (refused.status_code, "no more films" in refused.text.lower()) == (422, True)
    assert len(shop.films(job)) == MOST_FILMS


def test_the_link_of_one_job_says_nothing_on_another(shop: Shop, film: bytes) -> None:
    """Tests forged, swapped, past and made-up links, and the front door's: nothing is kept."""
    one, other = shop.job(), shop.job()
    first, second = shop.link(one), shop.link(other)
    swapped = f"{second.partition('.')[0]}.{first.partition('.')[2]}"
    for link in (swapped, f"{first}x", "/check/abc.def"):
        assert shop.send(link, film).status_code == 404, link
    door = f"/check/{door_link(shop.store, shop.now[0])}"
    assert "anybody in danger" in shop.send(door, film).text
    shop.now[0] += timedelta(days=8)
    assert "past its last day" in shop.send(first, film).text
    for job in (one, other):
        assert shop.films(job) == []
        assert kept_recordings(shop.store, job) == set()


def test_a_job_that_has_gone_on_takes_none(shop: Shop, film: bytes) -> None:
    """Tests a job on site, one that is closed, and one with a danger told."""
    site, closed, danger = shop.job(), shop.job(), shop.job()
    record(shop.store, site, shop.author(), Place(where="site"))
    record(shop.store, closed, shop.author(), Closing(confirmed_by="not-confirmed"))
    record(shop.store, danger, shop.author(), DangerTold(kinds=["smoke"]))
    for job, status in ((site, 404), (closed, 404), (danger, 422)):
        assert shop.send(shop.link(job), film).status_code == status
        assert shop.films(job) == []
        assert kept_recordings(shop.store, job) == set()


def test_too_large_a_film_is_refused(shop: Shop, film: bytes) -> None:
    """Tests that a film beyond the limit leaves nothing behind."""
    job = shop.job()
    answer = shop.send(shop.link(job), film + bytes(FILM_LIMIT))
    assert answer.status_code in {413, 422}
    assert shop.films(job) == []
    assert kept_recordings(shop.store, job) == set()
