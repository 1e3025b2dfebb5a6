"""Virtual evidence of a clip on the panel's message, against a general exact engine.

The message is a node of its own there, between the condition for which the machine
stopped and everything that saw or heard the panel: what the customer said, and the
likelihoods of a clip's lamps and of a recorded sound, entered as the engine's own soft
evidence. Two messages mean the same condition, so that multiplying by condition, in
place of message, would be found out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import msgspec
import numpy as np
import pytest

from exact_network import AGREE, SETS, Net, prior_of
from exact_network_of_calls import add_stop, first_of
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import follow
from tubside.pack.fault_model import Floats
from tubside.panel.lights import light_of
from tubside.panel.matching import BLANK, Seen, indication_likelihoods
from tubside.panel.schema import Panel
from tubside.service.coding import coded_facts
from tubside.service.job_file import Clip, JobFile, JobSource, parse_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.panel_coding import NOTHING_SHOWN

MODELS = ("brackwater-wren", "aldermoor-tern")


def doubled(known: Knowledge) -> Knowledge:
    """The same model with one more message, drawn otherwise, for the first one's condition."""
    panel = known.panel
    assert panel is not None
    names = list(panel.indications)
    twin = msgspec.structs.replace(
        panel.indications[names[1]], conditions=panel.indications[names[0]].conditions
    )
    rest = {name: shown for name, shown in panel.indications.items() if name != names[1]}
    first = {names[0]: rest.pop(names[0]), names[1]: twin}
    changed = msgspec.structs.replace(panel, indications={**first, **rest})
    return replace(known, panel=changed)


def made_likelihoods(panel: Panel, dice: np.random.Generator) -> dict[str, float]:
    """Likelihoods of every message and of none, as a reader may tell them."""
    names = [*panel.indications, NOTHING_SHOWN]
    return dict(zip(names, (10.0 ** dice.uniform(-4, 0, len(names))).tolist(), strict=True))


def shown_table(known: Knowledge, stops: list[int]) -> Floats:
    """P(message | what it stopped for): evenly among those that mean it, else nothing shown."""
    panel = known.panel
    assert panel is not None
    table = np.zeros((len(stops) + 1, len(panel.indications) + 1))
    for row, stop in enumerate([*stops, None]):
        name = None if stop is None else known.model.names.conditions[stop]
        means = [
            number
            for number, shown in enumerate(panel.indications.values())
            if name in shown.conditions
        ]
        table[row, means or [-1]] = 1.0 / max(len(means), 1)
    return table


def engine_posterior(
    gum: Any, known: Knowledge, source: JobSource, rows: Any, told: Sequence[Mapping[str, float]]
) -> Floats:
    """P(row | all that saw the panel), the message summed out by the engine."""
    model = known.model
    evidence = evidence_of(model, coded_facts(source, known))
    net = Net(gum, model, rows)
    net.add("row", [], prior_of(model, evidence, rows))
    net.add("first", ["row"], first_of(model, rows))
    stops = add_stop(net)
    net.add("shown", ["stop"], shown_table(known, stops))
    assert known.panel is not None
    names = [*known.panel.indications, BLANK]
    for number, values in enumerate(told):
        copy = net.add(f"seen{number}", ["shown"], np.eye(len(names)))
        net.seen[copy] = [values[name] for name in names]
    found: Floats = net.posterior()
    return found


@pytest.mark.parametrize("name", MODELS)
@pytest.mark.parametrize("seed", range(4))
def test_a_clip_is_virtual_evidence(gum: Any, name: str, seed: int) -> None:
    """Tests told lamps, a clip's lamps and a sound together, to a billionth."""
    dice = np.random.default_rng(seed)
    known = doubled(knowledge_of(JobFile(model=name)))
    panel = known.panel
    assert panel is not None
    lamps, sound = made_likelihoods(panel, dice), made_likelihoods(panel, dice)
    shown = str(dice.choice(list(panel.indications)))
    said = {lamp: str(light) for lamp, light in panel.lights(shown).items()}
    words = ", ".join(f"{lamp}: {light}" for lamp, light in said.items())
    told_text = f"indication: {{lamps: {{{words}}}}}\n" if seed % 2 else ""
    source = parse_job(f"model: {name}\n{told_text}")
    job = msgspec.structs.replace(source.job, clip=Clip(lamps=lamps, sound=sound))
    source = JobSource(job, source.document)
    told = [_blanked(lamps), _blanked(sound)]
    if seed % 2:
        seen = Seen(
            {lamp: light for k, v in said.items() for lamp, light in [(k, light_of(v))] if light}
        )
        told.append(indication_likelihoods(panel, seen, "customer"))
    evidence = evidence_of(known.model, coded_facts(source, known))
    sets = grow(known.model, evidence, SETS)
    belief = believe_sets(known.model, evidence, sets, bounded=False)
    rows = follow(evidence, sets)
    found = engine_posterior(gum, known, source, rows, told)
    assert belief.probability == pytest.approx(found, abs=AGREE)


def _blanked(values: Mapping[str, float]) -> dict[str, float]:
    return {BLANK if name == NOTHING_SHOWN else name: value for name, value in values.items()}
