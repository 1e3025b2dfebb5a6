"""The belief against a network of fully independent causes, on packs cut to few causes.

Each cause is a node of its own with chance odds / (1 + odds), each finding a child of
the causes that alter it, the first complaint a child of all of them with its division
inside the table. The network is conditioned on there being some cause; the two
hypotheses without one, whose shares a pack states apart, are mixed in by hand.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np
import pytest

from made_facts import outcomes
from made_models import every_set, of_few_causes
from tubside.diagnosis.belief import believe, believe_sets
from tubside.diagnosis.evidence import Answer, Evidence, FirstComplaint
from tubside.pack.fault_model import FaultModel, Finding, Floats
from tubside.pack.loading import LoadedPack

CAUSES = 10
JOBS = 25
SIZE = 300


def cut(model: FaultModel, seed: int) -> FaultModel:
    """Return the model of a few causes: the likeliest two findings' ones, others at random."""
    rng = np.random.default_rng(seed)
    busy = [f.touched for f in model.findings if 3 <= len(f.touched) <= 8] or [
        model.findings[0].touched
    ]
    first = busy[int(rng.integers(len(busy)))]
    rest = rng.permutation([i for i in range(model.n_causes) if i not in first])
    return of_few_causes(model, np.sort([*first, *rest][:CAUSES]).astype(np.int64))


def job(model: FaultModel, seed: int) -> Evidence:
    """Return a call and looks, most of them at findings that several causes alter."""
    rng = np.random.default_rng(seed)
    by_finding = {check.finding: number for number, check in enumerate(model.checks)}
    busy = sorted(by_finding, key=lambda f: -len(model.findings[f].touched))
    checks = [by_finding[f] for f in rng.choice(busy[:12], 4, replace=False)]
    answers = [
        Answer(c, int(rng.integers(outcomes(model, c))), int(rng.integers(2)), 0) for c in checks
    ]
    repeat = answers[0]
    answers.append(Answer(repeat.check, repeat.outcome, repeat.observer, 0, again=True))
    reported = (int(rng.integers(len(model.complaint.leak))),)
    words = model.complaint.at_stage[:, int(rng.integers(model.complaint.at_stage.shape[1]))]
    return Evidence(FirstComplaint(words, reported), answers=tuple(answers))


def states(model: FaultModel, finding: Finding) -> Floats:
    """Return P(state | which of its causes are there), written out: (2^m, k)."""
    rows = []
    for inside in every_combination(len(finding.touched)):
        row = grades(finding, inside) if finding.graded else kinds(finding, inside)
        if finding.needs_fault:
            shows = 1.0 - np.prod(1.0 - model.shows[finding.touched[inside]])
            row = shows * row + (1.0 - shows) * finding.healthy
        rows.append(np.maximum(row, 0.0) / row.sum())
    return np.array(rows)


def every_combination(count: int) -> list[list[int]]:
    """Return which of ``count`` parents are there, the last changing fastest."""
    return [[k for k in range(count) if code >> (count - 1 - k) & 1] for code in range(2**count)]


def grades(finding: Finding, inside: list[int]) -> Floats:
    """Return P(state) of graded outcomes by noisy-MAX."""
    tail: list[float] = []
    for o in range(len(finding.healthy)):
        healthy = max(finding.healthy[o:].sum(), 1e-12)
        ratios = [max(finding.rows[k][o:].sum(), 1e-12) / healthy for k in inside]
        tail.append(min(1.0, healthy * np.prod(ratios), *tail))
    return np.asarray(np.array(tail) - np.append(tail[1:], 0.0))


def kinds(finding: Finding, inside: list[int]) -> Floats:
    """Return P(state) where the first cause decides."""
    return np.asarray(finding.rows[inside[0]] if inside else finding.healthy)


def likelihoods(model: FaultModel, evidence: Evidence) -> dict[int, Floats]:
    """Return P(answers | state) for each finding looked at."""
    found: dict[int, Floats] = {}
    for answer in evidence.answers:
        check = model.checks[answer.check]
        finding = model.findings[check.finding]
        size, error = len(finding.healthy), check.error[answer.observer]
        fresh = np.array(
            [said(size, error, s, answer.outcome, finding.graded) for s in range(size)]
        )
        before = found.get(check.finding, np.ones(size))
        echo = model.repeat_errs_same if answer.again else 0.0
        found[check.finding] = before * (echo + (1.0 - echo) * fresh)
    return found


def said(size: int, error: float, state: int, outcome: int, graded: bool) -> float:
    """Return P(said | state)."""
    weight = [0.0 if o == state else 4.0 ** -abs(o - state) if graded else 1.0 for o in range(size)]
    return 1.0 - error if state == outcome else error * weight[outcome] / sum(weight)


def engine_says(gum: Any, model: FaultModel, evidence: Evidence) -> tuple[Floats, Floats]:
    """Return P(cause | facts) and P(nothing wrong, cleared itself | facts)."""
    independent = import_module("independent")
    odds, told = model.prior.odds, model.complaint
    chance = odds / (1.0 + odds)
    layers = independent.TwoLayers(chance, told.q, told.leak)
    net = independent.causes_net(chance)
    independent.add_first_complaint(net, layers, told.healthy[0])
    names = [f"x{i}" for i in range(model.n_causes)]
    some = np.ones((2**model.n_causes, 2)) * [0.0, 1.0]
    some[0] = [1.0, 0.0]
    independent.add_table(net, "some", names, some)
    assert evidence.complaint is not None
    call = evidence.complaint.words * told.said[:, evidence.complaint.reported[0]]
    healthy = told.healthy @ call
    looks = likelihoods(model, evidence)
    for number, likelihood in looks.items():
        finding = model.findings[number]
        parents = [f"x{i}" for i in finding.touched]
        independent.add_table(net, f"f{number}", parents, states(model, finding))
        healthy = healthy * float(finding.healthy @ likelihood)
    engine = gum.LazyPropagation(net)
    engine.addEvidence("first", call.tolist())
    engine.addEvidence("some", 1)
    for number, likelihood in looks.items():
        engine.addEvidence(f"f{number}", likelihood.tolist())
    engine.makeInference()
    faulty = (1.0 - model.prior.healthy.sum()) / (1.0 - np.prod(1.0 - chance))
    faulty *= engine.evidenceProbability()
    healthy = healthy * model.prior.healthy
    whole = faulty + healthy.sum()
    causes = np.array([engine.posterior(name)[1] for name in names])
    return causes * faulty / whole, healthy / whole


def compare(gum: Any, model: FaultModel, evidence: Evidence) -> None:
    """Assert agreement: to rounding over all sets, within the bound over kept ones."""
    causes, healthy = engine_says(gum, model, evidence)
    full = believe_sets(model, evidence, every_set(model.n_causes), bounded=False)
    assert full.at_call() == pytest.approx(causes, abs=1e-9)
    assert full.healthy() == pytest.approx(healthy, abs=1e-9)
    kept = believe(model, evidence, SIZE)
    bound = kept.left_out + 1e-9
    assert bound < 0.05
    assert np.abs(kept.at_call() - causes).max() <= bound
    assert np.abs(kept.healthy() - healthy).max() <= bound


def test_independent_causes(gum: Any, any_pack: LoadedPack) -> None:
    """Tests calls with looks on packs cut to ten causes."""
    for seed in range(JOBS):
        model = cut(any_pack.model, seed)
        compare(gum, model, job(model, seed))
