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
from tubside.service.parts.shelf import shelf, vans
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
