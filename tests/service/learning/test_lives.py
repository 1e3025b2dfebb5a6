"""Lives from the shop's own jobs: who went, who lived on, each machine once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tubside.service.after_records import Disposed, ReturnOf, Way
from tubside.service.learning.lives import FEWEST, own_life
from tubside.service.library import Library
from tubside.service.records import Body, Closing, Machine
from unscripted import Unscripted, unscripted_at

AGES = (1.6, 3.4, 5.3, 7.5, 9.3, 12.0)
"""A tenth of the complete sample of tests/published/test_learning.py, which fits to shape
1.9327 and scale 73.526 by maximum likelihood; told four times it fits to the same."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Unscripted]:
    """A shop that may change what its packs say."""
    made = unscripted_at(tmp_path / "shop", Library(layers=tmp_path / "layers"))
    yield made
    made.store.close()


def closed(
    shop: Unscripted, age: float, way: Way | None, serial: str | None = None, after: str = ""
) -> str:
    """Close a job on a machine of an age, which then went one way or lived on."""
    told: list[Body] = [Machine(family="front_load", age_years=age, serial=serial)]
    told += [Disposed(what="machine", way=way)] if way else []
    told += [ReturnOf(job=after)] if after else []
    return shop.job(*told, Closing(causes=["pump-object"], confirmed_by="seen"))


def went(shop: Unscripted) -> None:
    """Let the sample go, four times."""
    for age in AGES * 4:
        closed(shop, age, "recycled")


def test_a_life_by_who_went_and_who_lived_on(shop: Unscripted) -> None:
    """Tests the published fit, that survivors lengthen it, and the count of both."""
    for age in AGES * 3:
        closed(shop, age, "kept-for-parts")
    assert own_life(shop.store, shop.library, "front_load") is None
    assert len(AGES) * 3 < FEWEST
    for age in AGES:
        closed(shop, age, "recycled")
    found = own_life(shop.store, shop.library, "front_load")
    assert found is not None
    assert found.fit.shape == pytest.approx(1.9327, abs=5e-5)
    assert found.fit.scale == pytest.approx(7.3526, abs=5e-5)
    assert own_life(shop.store, shop.library, "top_load") is None
    closed(shop, 11.0, None)
    closed(shop, 11.0, "passed-on")
    longer = own_life(shop.store, shop.library, "front_load")
    assert longer is not None
    assert (longer.gone, longer.living) == (24, 2)
    assert longer.fit.scale > found.fit.scale


def test_each_machine_counts_once(shop: Unscripted) -> None:
    """Tests that a return and the same serial number take the place of the earlier job."""
    went(shop)
    first = closed(shop, 4.0, None)
    closed(shop, 4.1, None, after=first)
    closed(shop, 5.0, None, serial="WR-7")
    closed(shop, 8.0, "recycled", serial="WR-7")
    found = own_life(shop.store, shop.library, "front_load")
    assert found is not None
    assert (found.gone, found.living) == (25, 1)


@pytest.mark.soak
def test_repair_or_replace_reckons_with_it(shop: Unscripted) -> None:
    """Tests that it is offered with its source, and is used for all jobs once it is kept."""
    job = shop.job()
    assert "Lives by our own jobs" not in shop.get(f"/jobs/{job}/worth").text
    went(shop)
    page = shop.get(f"/jobs/{job}/worth").text
    assert "63 % were gone by 7.4 years, shape 1.9" in page
    assert "published means" in page
    assert "shape=1.93&amp;scale_years=7.35" in page
    edits = '[["costs / life_shape", "1.93"], ["costs / life_scale_years", "7.35"]]'
    kept = {"edits": edits, "why": "Our own jobs: 24 machines that went"}
    assert shop.post("/packs/front_load/keep", kept).status_code == 200
    after = shop.get(f"/jobs/{job}/worth").text
    assert "own change of 20" in after
    assert "Our own jobs: 24 machines that went" in after
    assert "It stands in the shop" in after
    assert "Keep it for all jobs" not in after
    assert 'name="scale_years" value="7.35"' in after
