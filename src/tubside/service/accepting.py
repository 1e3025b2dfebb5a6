"""A proposed meaning accepted by a person: an indication of the shop's own model.

The model is made where there is none yet. What was advised before stays as it was told:
a fact keeps it with the hash of what it was computed from.
"""

from __future__ import annotations

from collections import Counter
from datetime import date

import msgspec

from tubside.panel.lights import OFF
from tubside.panel.quick_sketch import indication_of, sketch_of
from tubside.panel.schema import Indication, Panel, PanelSource, Sure
from tubside.panel.sketch import (
    GAP_S,
    PERIOD_S,
    SOUND_WORDS,
    Sketch,
    SketchIndication,
    id_of,
    panel_of,
)
from tubside.service.meanings import Proposal
from tubside.service.model_drafts import Drafts
from tubside.service.shop_models import ShopModels

CONFIRMED_SHORT = {
    "re-run": "re-run passed",
    "seen": "seen",
    "measured": "measured",
    "remedy-worked": "remedy worked",
}


def accept(shop: ShopModels, drafts: Drafts, proposal: Proposal, sure: Sure, today: date) -> str:
    """Keep the meaning in the shop's model and in its draft; the model's id.

    Raises
    ------
    ModelError, PanelError
        When the model cannot be kept so; nothing is changed then.
    """
    source = source_words(proposal, today)
    shown = msgspec.structs.replace(
        indication_of(proposal.look, [proposal.condition]), sure=sure, source=source
    )
    if proposal.subject.model is None:
        return _new_model(shop, drafts, proposal, shown)
    panel = shop.read(proposal.subject.model)
    shop.keep(_with(panel, proposal, shown), shop.photo(panel.model), again=True)
    for name, draft in drafts.all():
        if draft.saved_as == panel.model:
            drafts.keep(name, _in_draft(draft, shown))
    return panel.model


def source_words(proposal: Proposal, today: date) -> str:
    """Where an accepted meaning is known from, such as "Own jobs, 3 of 3 (seen 3)"."""
    ways = Counter(CONFIRMED_SHORT[report.confirmed_by] for report in proposal.jobs)
    how = ", ".join(f"{way} {count}" for way, count in ways.most_common())
    return f"Own jobs, {proposal.agree} of {len(proposal.jobs)} ({how}), accepted {today}."


def _new_model(
    shop: ShopModels, drafts: Drafts, proposal: Proposal, shown: SketchIndication
) -> str:
    assert proposal.front is not None
    bare = sketch_of(proposal.front, proposal.subject.family, proposal.name)
    sketch = msgspec.structs.replace(bare, indications=(shown,))
    panel = panel_of(sketch)
    shop.keep(panel)
    drafts.begin(msgspec.structs.replace(sketch, saved_as=panel.model))
    return panel.model


def _with(panel: Panel, proposal: Proposal, shown: SketchIndication) -> Panel:
    """The panel with the indication added, or its meaning told where it was not sure."""
    mark = id_of("own-jobs", panel.sources)
    sources = {**panel.sources, mark: PanelSource(kind="seen", text=shown.source)}
    sounds = dict(panel.sounds)
    if shown.sound != "none":
        sounds.setdefault(shown.sound, SOUND_WORDS[shown.sound])
    indications = dict(panel.indications)
    if proposal.known is not None:
        before = indications[proposal.known]
        indications[proposal.known] = msgspec.structs.replace(
            before, conditions=shown.conditions, sure=shown.sure, source=mark
        )
    else:
        name = id_of("-".join(f"{n} {words}" for n, words in shown.lamps.items()), indications)
        indications[name] = _indication(panel, proposal, shown, mark)
    return msgspec.structs.replace(panel, sources=sources, sounds=sounds, indications=indications)


def _indication(panel: Panel, proposal: Proposal, shown: SketchIndication, mark: str) -> Indication:
    lights = dict(zip(panel.lamps, proposal.look.lights, strict=True))
    lit = {lamp: light for lamp, light in lights.items() if light is not None and light != OFF}
    return Indication(
        conditions=shown.conditions,
        lamps={lamp: str(light) for lamp, light in lit.items()},
        sound=shown.sound,
        note="",
        source=mark,
        period_s=PERIOD_S if any(light.changes for light in lit.values()) else None,
        gap_s=GAP_S if any(light.kind == "blinks" for light in lit.values()) else None,
        display=shown.display,
        sure=shown.sure,
    )


def _in_draft(draft: Sketch, shown: SketchIndication) -> Sketch:
    same = (shown.lamps, shown.sound, shown.display)
    others = [it for it in draft.indications if (it.lamps, it.sound, it.display) != same]
    return msgspec.structs.replace(draft, indications=(*others, shown))
