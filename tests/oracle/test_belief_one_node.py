"""The belief against a general exact engine over the same hypotheses.

One node has the hypotheses as its states: a set of causes and its path through the
remedies. What is latent is a node of its own, what was said or seen a child of it.
The tables are built here from the model's numbers, not with the belief's code; the
engine then has to give the belief's posterior.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from exact_network import AGREE, SETS, Net, add_findings, prior_of
from exact_network_of_calls import add_call, add_how_often, add_reruns, first_of
from made_facts import made_facts
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import Coded, Fact, PanelSeen, Reported, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Rows, follow
from tubside.pack.fault_model import FaultModel, Floats
from tubside.pack.home import pack_folder
from tubside.pack.loading import LoadedPack
from tubside.panel.matching import Seen, condition_likelihoods
from tubside.panel.reading import read_panel


def posterior(gum: Any, model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """Return the engine's posterior of each row."""
    net = Net(gum, model, rows)
    net.add("row", [], prior_of(model, evidence, rows))
    add_findings(net, evidence)
    if evidence.complaint is not None or evidence.treatments or evidence.how_often is not None:
        net.add("first", ["row"], first_of(model, rows))
        add_call(net, evidence)
        add_reruns(net, evidence)
        add_how_often(net, evidence)
    return net.posterior()


def compare(gum: Any, model: FaultModel, facts: list[Fact], sets: int = SETS) -> None:
    """Assert that the belief is the engine's posterior, row by row."""
    evidence = evidence_of(model, facts)
    kept = grow(model, evidence, sets)
    belief = believe_sets(model, evidence, kept, bounded=False)
    found = posterior(gum, model, evidence, follow(evidence, kept))
    assert belief.probability == pytest.approx(found, abs=AGREE), facts


def test_every_reported_condition(gum: Any, any_pack: LoadedPack) -> None:
    """Tests each condition reported alone."""
    for condition in range(len(any_pack.model.names.conditions)):
        compare(gum, any_pack.model, [Fact("reported", Reported(condition))])


def test_every_panel_indication(gum: Any, shipped: LoadedPack) -> None:
    """Tests each indication of the demo models, read off the panel by the customer."""
    names, count = shipped.model.names.conditions, 0
    for path in sorted((pack_folder(shipped.pack.family) / "models").glob("*.yaml")):
        panel = read_panel(path, shipped.pack.conditions)
        for name, indication in panel.indications.items():
            seen = Seen(panel.lights(name), indication.sound)
            likelihood = condition_likelihoods(panel, seen, "customer", [*names, "nothing"])
            shown = np.array([likelihood[each] for each in names])
            compare(gum, shipped.model, [Fact(name, PanelSeen(shown, likelihood["nothing"]))])
            count += 1
    assert count > 5


@pytest.mark.parametrize("sequences", [70, pytest.param(200, marks=pytest.mark.soak)])
def test_random_facts(gum: Any, any_pack: LoadedPack, sequences: int) -> None:
    """Tests random jobs: calls, panels, looks, repeats, remedies with re-runs, ages, variants."""
    kinds: set[type[Coded]] = set()
    for seed in range(sequences):
        facts = made_facts(any_pack.model, np.random.default_rng(seed), 7)
        kinds |= {type(fact.coded) for fact in facts}
        compare(gum, any_pack.model, facts)
    assert len(kinds) >= 8
