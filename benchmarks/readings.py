"""Readings: what they come to, worked out and kept; a belief after one; the next step with them."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from pathlib import Path

from timing import line, median_ms

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import believe, update_reading
from tubside.diagnosis.evidence import IS, Evidence, FirstComplaint, Measured
from tubside.diagnosis.predicted import SOUND
from tubside.pack.fault_model import FaultModel
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.service.advise import advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of, knowledge_of_family
from tubside.service.predictions import quantities_read, with_predictions

SETS = 5000
FAMILIES = ("top_load", "front_load")


def report() -> Iterator[str]:
    """Rows for both packs."""
    for name in ("scipy.special", "scipy.stats"):
        import_module(name)  # its import is no part of the time
    for family in FAMILIES:
        yield from _compiled(family)
        yield from _updated(family)
        yield from _next_step(family)


def _compiled(family: str) -> Iterator[str]:
    """All readings of a pack, made anew and read back."""
    model = load_pack(pack_folder(family)).model
    count = len(quantities_read(model))
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        _first(model, folder)
        cold = time.perf_counter() - start
        kept = median_ms(lambda: _first(model, folder))
    yield line(f"{family}: densities of {count} readings, cold", cold, "s", "<= 3 s")
    yield line(f"{family}: the same, kept", kept, "ms", "<= 50 ms")


def _first(model: FaultModel, folder: str) -> None:
    predicting = with_predictions(model, Path(folder)).predicting
    assert predicting is not None
    predicting.values(quantities_read(model)[0], [SOUND])


def _updated(family: str) -> Iterator[str]:
    """One more reading over many sets, and a second one that shares its machines."""
    model = knowledge_of_family(family).model
    complaint = model.complaint.said[:, model.names.conditions.index("no_water")]
    belief = believe(model, Evidence(FirstComplaint(complaint)), SETS)
    first = Measured(model.names.checks.index("hose-end-flow"), 1e-4, IS, 1)
    second = Measured(model.names.checks.index("fill-time"), 500.0, IS, 1)
    for name, before, now in (("a reading", (), first), ("a second one", (first,), second)):
        took = median_ms(lambda b=before, m=now: update_reading(model, belief, b, m).now())
        what = f"{family}: belief after {name}, {len(belief.probability)} sets"
        yield line(what, took, "ms", "<= 2 ms" if not before else "reported")


def _next_step(family: str) -> Iterator[str]:
    """The next step on site, with the readings and without."""
    source = parse_job(f"family: {family}\nreported: [wont_drain]\nwhere: site\n")
    advice = advise(source, knowledge_of(source.job))
    model = advice.known.model
    for name, one in (("with", model), ("without", replace(model, predicting=None))):
        took = median_ms(
            lambda m=one: best_steps(m, advice.evidence, advice.belief, advice.situation)
        )
        yield line(f"{family}: next step {name} readings", took, "ms", "<= 200 ms")
