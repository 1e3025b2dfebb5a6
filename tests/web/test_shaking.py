"""The page of the pushed tub by its forms: a log as a file, its answer, the reading, erasing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from made_shakes import Phone, Tub, pushed
from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.records import Place, ReadingDone
from tubside.service.views import JobView
from unscripted import Unscripted, unscripted_at

LIBRARY = Library()
TUB = Tub(2.6, 0.09)
CAUTIONS: dict[str, str | list[str]] = {"caution": ["isolate", "pinch"]}


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Unscripted]:
    """An empty shop without scripts."""
    made = unscripted_at(tmp_path, LIBRARY)
    yield made
    made.store.close()


def a_log() -> bytes:
    """A push of a tub with worn legs, with words that belong to nobody else."""
    log = pushed(np.random.default_rng(41), TUB, Phone(snr_db=26.0))
    return b"# recorded by Ada Tiller at 12 Mill Lane\n" + log.csv("t (s);ax (m/s^2);ay;az", ";")


def seen(shop: Unscripted, job: str) -> JobView:
    """The job as it stands."""
    return job_view(shop.store, shop.library, job)


def test_a_log_becomes_the_reading_of_the_check(shop: Unscripted) -> None:
    """Tests the way from a file to a number on the line, with the deviation of its interval."""
    job = shop.job(Place(where="site"))
    page = shop.get(f"/jobs/{job}/steps/bounce")
    assert f'href="/jobs/{job}/shake"' in page.text
    page = shop.get(f"/jobs/{job}/shake")
    assert page.text.index('name="caution"') < page.text.index("Lay the phone flat")
    form: dict[str, str | list[str]] = {"caution": ["isolate", "pinch"], "once": "once-000001"}
    page = shop.post(f"/jobs/{job}/shake", form, a_log())
    assert page.status_code == 200, page.text
    assert "bounces on the line" in page.text
    assert "Counted by eye" in page.text
    assert page.text.count('class="cv cv-log"') == 2
    shop.post(str(page.url.path), {"do": "use", "once": "once-000002"})
    body = next(e.body for e in seen(shop, job).entries if isinstance(e.body, ReadingDone))
    assert body.check == "bounce"
    assert body.error is not None
    assert abs(body.value - 4.05) < 3.0 * body.error
    assert 0.1 <= body.error < 0.5
    assert seen(shop, job).advice is not None


def test_only_numbers_are_kept_and_they_can_be_erased(shop: Unscripted, tmp_path: Path) -> None:
    """Tests that words in the file never reach the store, and that erasing leaves nothing."""
    job = shop.job(Place(where="site"))
    form: dict[str, str | list[str]] = {"caution": ["isolate", "pinch"]}
    page = shop.post(f"/jobs/{job}/shake", form, a_log())
    path = str(page.url.path)
    assert f'href="{path}"' in shop.get(f"/jobs/{job}/shake").text
    files = [p for p in tmp_path.rglob("*") if p.is_file()]
    assert all(b"Tiller" not in p.read_bytes() for p in files)
    shop.post(path, {"do": "erase"})
    assert shop.get(path).status_code == 404
    assert f'href="{path}"' not in shop.get(f"/jobs/{job}/shake").text
    assert "a log of the shaking" in shop.get(f"/jobs/{job}").text


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"time,x,y,z\n" + b"0.1,1,2,3\n" * 9 + b"0.2,one,2,3\n0.3,1,2,3\n", "the log:11"),
        (b"\x00\x01\x02" * 50, "no recording that can be read"),
        (b"nothing here", "no recording that can be read"),
        (b"", "choose the file"),
    ],
)
def test_what_is_no_log_is_refused_on_the_same_page(
    shop: Unscripted, content: bytes, told: str
) -> None:
    """Tests that the page names the line that is wrong, and keeps nothing."""
    job = shop.job(Place(where="site"))
    before = len(seen(shop, job).entries)
    page = shop.post(f"/jobs/{job}/shake", CAUTIONS, content)
    assert page.status_code == 422
    assert told in page.text.casefold()
    assert len(seen(shop, job).entries) == before


def test_cautions_and_the_place_come_first(shop: Unscripted) -> None:
    """Tests that a log without ticked cautions, or away from the machine, is refused."""
    job = shop.job()
    assert shop.get(f"/jobs/{job}/shake").status_code == 422
    at = shop.job(Place(where="site"))
    page = shop.post(f"/jobs/{at}/shake", {"caution": "pinch"}, a_log())
    assert page.status_code == 422
    assert "what can hurt" in page.text.casefold()


def test_a_quiet_log_counts_nothing(shop: Unscripted) -> None:
    """Tests that a phone that lies still gives no number to peg."""
    job = shop.job(Place(where="site"))
    rng = np.random.default_rng(3)
    rows = np.column_stack([np.arange(800) * 10.0, rng.normal([0.0, 0.0, 9.8], 0.02, (800, 3))])
    text = "ms,x,y,z\n" + "\n".join(",".join(f"{v:.4f}" for v in row) for row in rows)
    page = shop.post(f"/jobs/{job}/shake", CAUTIONS, text.encode())
    assert "No bounces counted" in page.text
    assert "bounces on the line" not in page.text
    assert shop.post(str(page.url.path), {"do": "use"}).status_code == 404
