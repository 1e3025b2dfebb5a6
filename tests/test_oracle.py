"""Tests that the engine we are held against is there and counts right."""

from __future__ import annotations

from typing import Any

import pytest


def test_the_oracle_knows_bayes(gum: Any) -> None:
    """Tests a two-node net by hand: P(A | B) = .2 * .9 / (.2 * .9 + .8 * .1) = 9/13."""
    net = gum.fastBN("A->B")
    net.cpt("A").fillWith([0.8, 0.2])
    net.cpt("B").fillWith([0.9, 0.1, 0.1, 0.9])
    engine = gum.LazyPropagation(net)
    engine.setEvidence({"B": 1})
    engine.makeInference()
    assert engine.posterior("A")[1] == pytest.approx(9 / 13, abs=1e-12)
