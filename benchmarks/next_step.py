"""Time of the next step, and how far one step plus the best dozen is from a full look-ahead."""

from __future__ import annotations

from collections.abc import Iterator

from timing import line, median_ms

from tubside.diagnosis.ahead import AHEAD_ROWS, best_steps, narrowed, two_step
from tubside.diagnosis.belief import heaviest_rows
from tubside.diagnosis.next_step import Step, endings, one_step, place
from tubside.service.advise import Advice, advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of


def report() -> Iterator[str]:
    """Rows for a typical call and a typical visit of both packs."""
    gaps: list[float] = []
    for family in ("top_load", "front_load"):
        for where in ("phone", "site"):
            for reported in ("wont_spin", "no_water", "wont_drain", "noisy", "out_of_balance"):
                advice = _advice(f"family: {family}\nreported: [{reported}]\nwhere: {where}\n")
                gaps.append(_gap(advice))
            took = median_ms(lambda a=advice: _steps(a, 12))  # type: ignore[misc]
            yield line(f"{family}, {where}: next step at 5000 sets", took, "ms", "<= 200 ms")
    worst, mean = 100 * max(gaps), 100 * sum(gaps) / len(gaps)
    yield line("gap to a full two-step look-ahead: mean", mean, "%", "reported")
    yield line("gap to a full two-step look-ahead: worst", worst, "%", "reported")


def _advice(text: str) -> Advice:
    source = parse_job(text)
    return advise(source, knowledge_of(source.job))


def _steps(advice: Advice, count: int) -> list[Step]:
    model = advice.known.model
    ahead = (count, AHEAD_ROWS)
    return best_steps(model, advice.evidence, advice.belief, advice.situation, ahead)


def _gap(advice: Advice) -> float:
    """Chosen first step against the best of all steps, every one valued two ahead."""
    model, belief = advice.known.model, advice.belief
    heaviest = heaviest_rows(belief, AHEAD_ROWS)
    where = place(model, advice.evidence, belief, advice.situation, heaviest)
    steps = [*one_step(where, belief.probability), *endings(model, advice.situation)]
    small = narrowed(where, belief, AHEAD_ROWS)
    every = [two_step(small, heaviest.probability, step) for step in steps]
    value = {(s.kind, s.index): s.expected_cost for s in every}
    chosen = _steps(advice, 12)[0]
    return value[chosen.kind, chosen.index] / min(value.values()) - 1.0
