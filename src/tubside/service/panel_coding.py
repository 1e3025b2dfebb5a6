"""What was seen on a panel, by people and on recordings, as soft evidence on what it means."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import isfinite

import numpy as np

from tubside.diagnosis.facts import Fact, PanelSeen
from tubside.errors import JobFileError, Problem
from tubside.pack.fault_model import Floats
from tubside.panel.matching import BLANK, by_condition, indication_likelihoods
from tubside.panel.schema import Panel
from tubside.panel.telling import parse_seen
from tubside.service.job_file import Indication, JobSource
from tubside.service.knowledge import Knowledge
from tubside.strict_yaml import or_one_of

NOTHING_SHOWN = "nothing shown"
"""Stands for a panel that shows nothing, beside the panel's own messages."""
CLIP_WORDS = {"lamps": "lamps on a clip", "sound": "sound recorded"}


def panel_facts(source: JobSource, known: Knowledge) -> Iterator[Fact | Problem]:
    """A fact for what was told of the panel, for its lamps on a clip and for its sound.

    All of them speak of the one message that the panel shows: their likelihoods are
    multiplied message by message, and only then is the message summed out. Each fact
    therefore tells P(this | condition, the facts before it).
    """
    if known.panel is None:
        at = "indication" if source.job.indication is not None else "clip"
        what, mend = f"{_a(at)} needs a known panel", "name the 'model', or use 'reported'"
        yield source.document.problem((at,), what, mend)
        return
    together = dict.fromkeys([*known.panel.indications, BLANK], 1.0)
    before = _by_condition(known, together)
    for label, told in _each(source, known.panel):
        if isinstance(told, Problem):
            yield told
            continue
        together = {name: value * told[name] for name, value in together.items()}
        after = _by_condition(known, together)
        ratio = after / before
        yield Fact(label, PanelSeen(ratio[:-1], float(ratio[-1])))
        before = after


def _a(what: str) -> str:
    return f"an {what}" if what[0] in "aeiou" else f"a {what}"


def _by_condition(known: Knowledge, told: Mapping[str, float]) -> Floats:
    """P(seen | condition) in the model's order, and last that of no condition."""
    assert known.panel is not None
    names = [*known.model.names.conditions, NOTHING_SHOWN]
    found = by_condition(known.panel, told, names)
    return np.array([found[name] for name in names])


def _each(source: JobSource, panel: Panel) -> Iterator[tuple[str, Mapping[str, float] | Problem]]:
    """Label and P(this | message) of everything that saw or heard the panel."""
    job = source.job
    if job.indication is not None:
        yield from _by_people(source, panel, job.indication)
    if job.clip is not None:
        for kind, label in CLIP_WORDS.items():
            values = getattr(job.clip, kind)
            if values:
                values = values if source.document.tree else _fitted(panel, values)
                problem = _clip_problem(source, panel, kind, values)
                yield label, problem or _with_blank(values)


def _fitted(panel: Panel, values: Mapping[str, float]) -> Mapping[str, float]:
    """Likelihoods of a fact for the panel as it is now, which may have been taught more since.

    A message that came later fits as well as the others do on average, and one that is no
    more is left out; where none is left, it is another panel, and nothing is changed.
    """
    names = [*panel.indications, NOTHING_SHOWN]
    kept = [values[name] for name in panel.indications if name in values]
    if not kept:
        return values
    return {name: values.get(name, float(np.mean(kept))) for name in names}


def _by_people(
    source: JobSource, panel: Panel, indication: Indication
) -> Iterator[tuple[str, Mapping[str, float] | Problem]]:
    tell = _telling(source)
    try:
        seen = parse_seen(
            panel, indication.lamps, indication.sound, tell, display=indication.display
        )
    except JobFileError as wrong:
        for problem in wrong.problems:
            yield "", problem
        return
    lamps = ", ".join(f"{lamp} {light}" for lamp, light in indication.lamps.items())
    shown = f"display {indication.display}" if indication.display else ""
    label = "panel: " + ", ".join(x for x in (lamps, indication.sound or "", shown) if x)
    yield label, indication_likelihoods(panel, seen, "customer")


def _telling(source: JobSource) -> Callable[[tuple[str | int, ...], str, str], Problem]:
    def tell(path: tuple[str | int, ...], what: str, mend: str) -> Problem:
        return source.document.problem(("indication", *path), what, mend)

    return tell


def _with_blank(values: Mapping[str, float]) -> dict[str, float]:
    return {BLANK if name == NOTHING_SHOWN else name: value for name, value in values.items()}


def _clip_problem(
    source: JobSource, panel: Panel, kind: str, values: Mapping[str, float]
) -> Problem | None:
    """What is wrong with the likelihoods of a recording, None where nothing is."""
    names = [*panel.indications, NOTHING_SHOWN]
    for name, value in values.items():
        place = ("clip", kind, name)
        if name not in names:
            what = f"the {panel.name} has no message '{name}'"
            return source.document.problem(place, what, or_one_of(name, names))
        if not (isfinite(value) and value > 0):
            what = f"a likelihood of {value:g} is none"
            return source.document.problem(place, what, "write a number above 0")
    missing = [name for name in names if name not in values]
    if missing:
        what = f"the {kind} of the clip say nothing of {', '.join(missing)}"
        mend = "give every message of the panel its likelihood"
        return source.document.problem(("clip", kind), what, mend)
    return None
