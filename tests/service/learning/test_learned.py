"""What jobs say of a family's numbers, and what the office decides about each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from some_jobs import OFTEN, some_jobs
from tubside.errors import HistoryError, NotThereError
from tubside.learning.counts import counted
from tubside.pack.layer.editing import Signed
from tubside.service.data_folder import open_data
from tubside.service.learning.decisions import decide, decisions, forget
from tubside.service.learning.learned import FamilyLearned, learned, moved, take_over
from tubside.service.learning.words import evidence, says, title_of
from tubside.service.shop_layer import ShopLayers
from tubside.store.opening import Store

FAMILY = "front_load"
WEIGHT = f"causes / {OFTEN} / weight"
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
BY = Signed("Ada", NOW, "eighty jobs")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store."""
    opened = open_data(tmp_path / "data", lambda: NOW)
    yield opened
    opened.close()


@pytest.fixture
def layers(tmp_path: Path) -> ShopLayers:
    """A shop that changed nothing yet."""
    return ShopLayers(tmp_path / "layers")


def now(store: Store, layers: ShopLayers, often: int = 60) -> FamilyLearned:
    """What the jobs say, with what was decided."""
    return learned(FAMILY, counted(some_jobs(often)), layers, decisions(store, FAMILY))


def test_a_cause_met_more_often(store: Store, layers: ShopLayers) -> None:
    """Tests words, evidence and consequences of a weight, against counts made by hand."""
    found = now(store, layers)
    assert (found.jobs, found.doubtful) == (80, 0)
    offer, pack = found.offer(WEIGHT), found.source.pack
    assert offer.state == "open"
    assert offer.moves
    assert title_of(offer.proposal, pack) == pack.causes[OFTEN].title
    said = says(offer.proposal, pack)
    assert said.startswith(f"pack says {pack.causes[OFTEN].weight:.0f} of 1000 calls, your 80 jobs")
    rests = sum(job.sure == "remedy-worked" for job in some_jobs() if OFTEN in job.causes)
    words = f"{rests} of 60 with this cause rest only on a remedy that happened to work."
    assert words in evidence(offer.proposal)
    complaint, share = moved(found.source, offer.proposal)[0]
    assert share.origin == OFTEN
    assert share.before < share.low <= share.after <= share.high
    assert complaint in pack.conditions


def test_taken_over_and_taken_back(store: Store, layers: ShopLayers) -> None:
    """Tests that taking over is a dated change of the layer, and undoing it offers it again."""
    proposal = now(store, layers).offer(WEIGHT).proposal
    take_over(store, layers, FAMILY, proposal, BY)
    change = layers.read(FAMILY).changes[-1]
    assert (change.who, change.when, change.why) == ("Ada", NOW, "eighty jobs")
    weight = layers.source(FAMILY).pack.causes[OFTEN].weight
    assert weight == pytest.approx(proposal.learned_value, rel=1e-3)
    assert now(store, layers).offer(WEIGHT).state == "taken"
    assert now(store, layers, 61).offer(WEIGHT).state == "taken"  # still in the interval
    assert now(store, layers, 300).offer(WEIGHT).state == "open"
    layers.undo(FAMILY, change.id, BY, advised=False)
    assert now(store, layers).offer(WEIGHT).state == "open"


def test_what_was_left_comes_back_and_what_is_pinned_does_not(
    store: Store, layers: ShopLayers
) -> None:
    """Tests how long each decision holds when more jobs come in."""
    proposal = now(store, layers).offer(WEIGHT).proposal
    decide(store, FAMILY, proposal, "left", ("Ada", NOW, "a wet spring"))
    offer = now(store, layers, 61).offer(WEIGHT)
    assert offer.state == "left"
    assert offer.decision is not None
    assert (offer.decision.who, offer.decision.why) == ("Ada", "a wet spring")
    assert now(store, layers, 400).offer(WEIGHT).state == "open"
    decide(store, FAMILY, proposal, "pinned", ("Ada", NOW, "measured elsewhere"))
    assert now(store, layers, 400).offer(WEIGHT).state == "pinned"
    forget(store, FAMILY, WEIGHT)
    assert now(store, layers).offer(WEIGHT).state == "open"


def test_a_decision_needs_its_reason(store: Store, layers: ShopLayers) -> None:
    """Tests that nothing is kept without one, and an unknown number is told."""
    found = now(store, layers)
    with pytest.raises(HistoryError, match="few words why"):
        decide(store, FAMILY, found.offer(WEIGHT).proposal, "left", ("Ada", NOW, "  "))
    assert decisions(store, FAMILY) == {}
    with pytest.raises(NotThereError, match="any more"):
        found.offer("causes / nobody / weight")
