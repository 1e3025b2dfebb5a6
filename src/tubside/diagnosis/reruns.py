r"""Whether what raised the first condition shows again: re-runs, and how often it was.

A cause i that is there raised condition c with chance :math:`q_{ic}`, and shows on
one run with chance :math:`s_i`. Of what is left, R, after a remedy

.. math:: r = \frac{1 - \prod_{i \in R} (1 - q_{ic})}{P(c \mid S)}, \qquad
          g = \frac{1 - \prod_{i \in R} (1 - q_{ic} s_i)}{1 - \prod_{i \in R} (1 - q_{ic})}

are the chances that something in it raised c, and that it shows if it did. What
raised c is one state however often the machine is run: it is summed out once, over
the last remedy after which something that raised c was left.
"""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import EVERY_TIME, FAILS, ONCE, SOMETIMES, Evidence
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.pack.complaint import off_chances
from tubside.pack.fault_model import Bools, FaultModel, Floats

RUNS_REMEMBERED = 4
"""Runs before the call that people go by (common practice, no source)."""
MISREMEMBERED = 0.1
"""Share of "how often" answers that say nothing (common practice, no source)."""
STRAY_FAILURE = 0.005
"""A re-run can fail for a reason of its own (common practice, no source)."""


def reruns(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """P(outcome of every re-run | row, first condition): (N, c)."""
    results = [treatment.rerun for treatment in evidence.treatments]
    total = np.zeros((len(rows.owner), len(model.complaint.leak)))
    here, shown = np.ones_like(total), np.ones_like(total)
    for epoch, result in enumerate([*results, None], start=1):
        last = epoch > len(results)
        left = np.zeros_like(rows.now) if last else rows.states[epoch]
        later = raised_by(model, rows.sets, left)
        stray = np.prod([float(_came_out(r, np.zeros(1))[0]) for r in results[epoch - 1 :]])
        total += (here - later) * shown * stray
        here, shown = later, shown * _came_out(result, shows_again(model, left))
    healthy = rows.sets.healthy
    fails = model.healthy_rerun_fails
    sound = np.prod([_either(r, fails) for r in results if r is not None] or [np.ones(2)], axis=0)
    total[healthy >= 0] = sound[healthy[healthy >= 0], None]
    return total


def raised_by(model: FaultModel, sets: Sets, left: Bools) -> Floats:
    """P(something in ``left`` raised the first condition | set, first condition): (N, c)."""
    at_all = 1.0 - off_chances(sets.members, model.complaint.q, model.complaint.leak)
    return np.asarray(np.minimum(_any_of(left, model.complaint.q) / at_all, 1.0))


def shows_again(model: FaultModel, left: Bools) -> Floats:
    """P(what is left shows on one run | something in it raised the condition): (N, c)."""
    raised = _any_of(left, model.complaint.q)
    shown = _any_of(left, model.complaint.q * model.shows[:, None])
    return np.asarray(shown / np.where(raised > 0.0, raised, 1.0))


def how_often(model: FaultModel, sets: Sets, word: int) -> Floats:
    """P(every time, sometimes or once | set, first condition): (N, c).

    Of the last few runs, given that at least one went wrong: all, one, or something
    between; a tenth is misremembered. Where no cause of the set raised the condition
    nothing is known of it.
    """
    raised = raised_by(model, sets, sets.members)
    table = raised * _remembered(shows_again(model, sets.members), word) + (1.0 - raised) / 3.0
    empty = sets.healthy >= 0
    table[empty] = model.healthy_how_often[sets.healthy[empty], word, None]
    return np.asarray(table)


def _remembered(shows: Floats, word: int) -> Floats:
    """P(word | chance of showing on one run), in the shape of ``shows``."""
    shows = np.clip(shows, 1e-6, 1.0)
    rang = 1.0 - (1.0 - shows) ** RUNS_REMEMBERED
    every = shows**RUNS_REMEMBERED / rang
    once = RUNS_REMEMBERED * shows * (1.0 - shows) ** (RUNS_REMEMBERED - 1) / rang
    between = np.maximum(1.0 - every - once, 0.0)
    chance = {EVERY_TIME: every, SOMETIMES: between, ONCE: once}[word]
    return np.asarray((1.0 - MISREMEMBERED) * chance + MISREMEMBERED / 3.0)


def _came_out(result: int | None, again: Floats) -> Floats:
    """P(a re-run came out so | chance that the fault shows on it)."""
    if result is None:
        return np.ones_like(again)
    return _either(result, STRAY_FAILURE + (1.0 - STRAY_FAILURE) * again)


def _either(result: int, fails: Floats) -> Floats:
    return np.asarray(fails if result == FAILS else 1.0 - fails)


def _any_of(sets: Bools, chance: Floats) -> Floats:
    """1 - prod over the set of (1 - chance): (N, c)."""
    return np.asarray(-np.expm1(sets @ np.log1p(-chance)))
