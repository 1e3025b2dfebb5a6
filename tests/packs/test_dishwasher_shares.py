"""The dishwasher pack's weights against the published order of a repair centre.

Tecchio P., Ardente F., Mathieux F. 2019, "Understanding lifetimes and failure modes
of defective washing machines and dishwashers", Journal of Cleaner Production
215:1112-1122, abstract (read): the recurring failures of dishwashers are, in this
order, pumps, electronics, flood stop and valves, foreign objects, doors. It gives no
shares, so that the order alone is held against the pack. A repair centre never sees
what customers clear by phone: of foreign objects the rest counts.
"""

from __future__ import annotations

from math import gamma
from pathlib import Path

import pytest

from tubside.pack.reading import read_pack
from tubside.pack.schema import Pack

FOLDER = Path(__file__).parents[2] / "packs" / "dishwasher"
GROUPS = {
    "pumps": ("drain-pump-failed", "circulation-pump"),
    "electronics": ("control-board", "panel-fault"),
    "flood stop and valves": (
        *("inlet-valve-stuck", "inlet-valve-passing"),
        *("leak-guard-shut", "flood-float-stuck"),
    ),
    "foreign objects": ("pump-object", "filter-blocked"),
    "doors": ("door-latch", "hinge-spring"),
}
FOREIGN = "foreign objects"


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The dishwasher pack as shipped."""
    return read_pack(FOLDER).pack


def cleared_by_phone(pack: Pack, cause: str) -> float:
    """Best chance that a customer clears the cause."""
    chances = (r.clears[cause].customer for r in pack.remedies.values() if cause in r.clears)
    return max((c for c in chances if c is not None), default=0.0)


def met_on_the_bench(pack: Pack, group: str) -> float:
    """Calls per 1000 of a group that a repair centre would see."""
    seen = {c: 1.0 - cleared_by_phone(pack, c) for c in GROUPS[group]}
    return sum(
        pack.causes[c].weight * (share if group == FOREIGN else 1.0) for c, share in seen.items()
    )


def test_groups_keep_the_published_order(pack: Pack) -> None:
    """Tests that the groups stand in the order that the abstract gives."""
    found = [met_on_the_bench(pack, group) for group in GROUPS]
    assert found == sorted(found, reverse=True)


def test_weights_sum_to_a_thousand_calls(pack: Pack) -> None:
    """Tests that causes and calls with nothing wrong sum to 1000."""
    total = sum(c.weight for c in pack.causes.values())
    total += sum(h.weight for h in pack.healthy.values())
    assert total == pytest.approx(1000.0, abs=1e-9)


def test_blocked_drains_outweigh_failed_pumps(pack: Pack) -> None:
    """Tests that filter, glass, hose and sink are met more than twice as often as a dead pump."""
    names = ("filter-blocked", "pump-object", "drain-hose-kinked", "drain-blocked")
    blocked = sum(pack.causes[c].weight for c in names)
    assert blocked > 2.0 * pack.causes["drain-pump-failed"].weight


def test_mean_life_is_the_published_age(pack: Pack) -> None:
    """Tests that the Weibull life has the mean age at scrapping of the abstract, 12 years."""
    costs = pack.costs
    mean = costs.life_scale_years * gamma(1.0 + 1.0 / costs.life_shape)
    assert mean == pytest.approx(12.0, abs=0.5)  # printed to whole years
