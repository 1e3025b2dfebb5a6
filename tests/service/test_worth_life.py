"""Whose word the life is that repair or replace reckons with."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from tubside.pack.layer.editing import Signed
from tubside.service.shop_layer import ShopLayers
from tubside.service.worth_life import PLACES, own_words

WHEN = datetime(2026, 3, 2, tzinfo=UTC)


def test_whose_word_it_is(tmp_path: Path) -> None:
    """Tests that only what the layer holds is the shop's own, with its day and its reason."""
    layers = ShopLayers(tmp_path)
    assert own_words(None, "front_load") == {}
    assert own_words(layers, "front_load") == {}
    signed = Signed("Ida", WHEN, "24 machines that went")
    layers.change("front_load", [(PLACES["scale_years"], "12.1")], signed)
    words = "the shop's own change of 2026-03-02: 24 machines that went"
    assert own_words(layers, "front_load") == {"scale_years": words}
    assert own_words(layers, "top_load") == {}


def test_a_layer_that_cannot_be_read(tmp_path: Path) -> None:
    """Tests that a broken file of changes leaves the pack's own word."""
    (tmp_path / "front_load.yaml").write_text("changes: [", encoding="utf-8")
    assert own_words(ShopLayers(tmp_path), "front_load") == {}
