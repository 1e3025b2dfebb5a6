"""Tests of the demo shop: twelve jobs, every fact known to its pack, every stage met."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from functools import partial
from itertools import count
from pathlib import Path

import pytest

from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.data_folder import open_data
from tubside.service.demo_shop import fill, shop_jobs
from tubside.service.jobs import JobLine, Stage, check_body, job_lines, job_view
from tubside.service.library import Library
from tubside.service.money.paying import open_bills
from tubside.service.money.quoting import quotes_of
from tubside.service.parts.shelf import shelf, vans
from tubside.service.safety import safety_of
from tubside.service.safety_settings import shop_profile
from tubside.service.viewing import view_of
from tubside.store.opening import Store

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Store, Library, list[str]]]:
    """Return the filled store, the library and the ids of the jobs."""
    library, numbers = Library(), count(1)
    store = open_data(Path(tmp_path_factory.mktemp("demo")), lambda: NOW)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(viewing, "advise", partial(advise, size=100))
        yield store, library, fill(store, library, NOW, lambda: f"demo-{next(numbers):05}")
    store.close()


def lines(store: Store, library: Library) -> list[JobLine]:
    """Return the list of all jobs."""
    return [*job_lines(store, library), *job_lines(store, library, closed=True)]


def test_every_stage_is_met(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that there are twelve jobs, in every stage at least two."""
    stages = [line.stage for line in lines(*filled[:2])]
    assert len(stages) == len(shop_jobs()) == 12
    known: list[Stage] = ["call", "waiting", "visit booked", "on site", "closed"]
    assert all(stages.count(stage) >= 2 for stage in known), stages
    assert set(stages) == set(known)


def test_every_fact_is_known(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that packs and panels know what is said, and that no facts disagree."""
    store, library, ids = filled
    for job_id in ids:
        view = job_view(store, library, job_id)
        assert (view.problems, view.disagree) == ((), ())
        for entry in view.entries:
            check_body(library, view, entry.body)


def test_nothing_is_of_tomorrow(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that no fact was written after now."""
    assert all(line.since <= NOW for line in lines(*filled[:2]))


def test_danger_is_among_them(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that the shop shows what danger looks like, first thing."""
    store, library, ids = filled
    views = [job_view(store, library, job_id) for job_id in ids]
    assert {danger for view in views for danger in view.dangers} == {"shock", "burning"}
    assert all(view.safety for view in views if view.dangers)


def test_it_has_parts_of_known_kinds(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that two vans hold parts, and that each serves a part kind of its pack."""
    store, library, _ = filled
    parts = shelf(store)
    assert vans(parts) == ["1", "2"]
    for one in parts:
        for family, _, kind in (kind.partition("/") for kind in one.article.kinds):
            assert kind in library.family(family).pack.parts


def test_it_shows_quote_and_invoices(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that a quote is agreed to, one invoice is paid in part and one is overdue."""
    store, _, ids = filled
    answers = [quote.answer for job in ids for quote in quotes_of(store, job)]
    assert [answer is not None and answer.agreed for answer in answers] == [True]
    late, part = open_bills(store, NOW.date())
    assert (late.days_over > 0, late.owed.paid) == (True, 0)
    assert (part.days_over, 0 < part.owed.paid < part.owed.total) == (0, True)


def test_it_shows_a_test_after_repair(filled: tuple[Store, Library, list[str]]) -> None:
    """Tests that the shop's country makes the test a duty, and that one machine is released."""
    store, library, ids = filled
    loaded = shop_profile(store)
    assert loaded is not None
    assert loaded.profile.duty.test == "duty"
    ways = [safety_of(store, view_of(store, library, job, advised=False)).way for job in ids]
    assert ways.count("released") == 1
