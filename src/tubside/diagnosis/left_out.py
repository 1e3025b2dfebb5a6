r"""How much the sets that were not kept could matter, and never less.

With m the left-out prior mass, L the product of each fact's largest likelihood
and Z the joint mass kept, no posterior probability is wrong by more than
mL / (Z + mL). That is safe but loose once there are several facts. It is
tightened here: nearly every fact's likelihood is a signed sum of products over
the causes of a set, so the sum over *all* sets of prior times likelihood is a
sum of closed products (the idea of Heckerman 1989, "A tractable inference
algorithm for diagnosing multiple diseases", UAI, for positive findings of a
noisy-OR net). What was kept is taken off, and the rest is the joint mass left
out. Facts that are no such sum (after a remedy, how often, rows that speak for
health) are replaced by their largest value, so the result stays a bound.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import Evidence, FirstComplaint, Look, looks
from tubside.diagnosis.hypotheses import Rows, Sets, log_prior, prior_now
from tubside.diagnosis.left_out_readings import Others, with_readings
from tubside.diagnosis.likelihood import Heard, complaint_terms, look_log, ways_of_telling
from tubside.diagnosis.states import log_quiet, log_ratios
from tubside.pack.complaint import off_chances
from tubside.pack.fault_model import FaultModel, Finding, Floats
from tubside.pack.prior import total_mass

MOST_TERMS = 12_000
SERIES = 3
NEVER = -700.0


@dataclass(frozen=True, slots=True)
class Products:
    r"""f(S) = sum_t coefficient_t prod_{i in S} exp(log_each_ti)."""

    coefficient: Floats  # (t,)
    log_each: Floats  # (t, n)

    def times(self, other: Products) -> Products:
        """The product of two such sums."""
        coefficient = np.multiply.outer(self.coefficient, other.coefficient).ravel()
        log_each = self.log_each[:, None, :] + other.log_each[None, :, :]
        return Products(coefficient, log_each.reshape(len(coefficient), -1))

    def without_zeros(self) -> Products:
        """Terms that matter."""
        keep = np.abs(self.coefficient) > 1e-15
        return Products(self.coefficient[keep], self.log_each[keep])


def left_out_bound(model: FaultModel, evidence: Evidence, sets: Sets, log_evidence: float) -> float:
    """Bound on the posterior mass of sets that were not kept, in [0, 1]."""
    prior, scale = prior_now(model, evidence)
    fault = sets.healthy < 0
    kept = Sets(sets.members[fault], sets.healthy[fault])
    weight = np.exp(log_prior(prior, scale, kept))
    empty = float(np.prod([axis.shares.sum() for axis in prior.axes]))
    whole = float(np.exp(scale)) * (float(total_mass(prior, prior.odds[:, None])[0]) - empty)
    plan = _plan(model, evidence)
    loose = max(whole - float(weight.sum()), 0.0) * plan.largest * plan.rest
    x = prior.odds[:, None] * np.exp(plan.products.log_each.T)
    everything = plan.products.coefficient @ (total_mass(prior, x) - empty)
    seen = weight * _kept_likelihood(model, plan, kept)
    rounding = 1e-13 * float(np.abs(plan.products.coefficient).sum()) * whole
    tight = max(float(np.exp(scale)) * float(everything) - float(seen.sum()), 0.0) + rounding
    left = min(loose, tight * plan.rest)
    if evidence.readings:
        others = Others(
            lambda z: (
                float(np.exp(scale))
                * float(plan.products.coefficient @ (total_mass(prior, x * z[:, None]) - empty))
            ),
            kept.members,
            seen,
            plan.rest,
            rounding,
        )
        left = with_readings(model, evidence, left, others)
    return left / (float(np.exp(log_evidence)) + left) if left > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class _Plan:
    """Which facts are summed exactly, and the largest values of the others."""

    products: Products
    complaint: FirstComplaint | None
    exact: tuple[Look, ...]
    largest: float  # of the facts summed exactly
    rest: float  # of the facts that are not


def _plan(model: FaultModel, evidence: Evidence) -> _Plan:
    products = Products(np.ones(1), np.zeros((1, model.n_causes)))
    complaint, largest, rest = None, 1.0, 1.0
    if evidence.complaint is not None:
        complaint = _without_panel(model, evidence.complaint)
        products = said_products(model, complaint)
        largest *= float(complaint.words.max())
    exact: list[Look] = []
    for look in sorted(
        looks(model, evidence), key=lambda one: float(np.ptp(one.likelihood)), reverse=True
    ):
        factor = look_products(model, look) if look.epoch == 0 else None
        top = float(look.likelihood.max())
        if factor is None or len(factor.coefficient) * len(products.coefficient) > MOST_TERMS:
            rest *= top
            continue
        products = products.times(factor).without_zeros()
        largest *= top
        exact.append(look)
    return _Plan(products, complaint, tuple(exact), largest, rest)


def _without_panel(model: FaultModel, complaint: FirstComplaint) -> FirstComplaint:
    """What was said, with what was seen on the panel at its largest chance over sets."""
    if complaint.panel is None:
        return complaint
    stops = model.complaint.stopping
    top = max(float(complaint.panel[stops].max()), complaint.panel_none)
    return replace(
        complaint, words=complaint.words * np.where(stops, complaint.panel, top), panel=None
    )


def said_products(model: FaultModel, complaint: FirstComplaint) -> Products:
    """Everything said at the call as products: each way of telling, each condition on or off."""
    by_off: dict[tuple[int, ...], Floats] = {}
    for words, others in ways_of_telling(model, complaint):
        parts: dict[tuple[int, ...], Floats] = {(): complaint.words * words}
        for heard in others:
            parts = _with_heard(parts, heard)
        for off, part in parts.items():
            by_off[off] = by_off.get(off, np.zeros_like(part)) + part
    found = [
        complaint_products(model, words).times(_all_off(model, off))
        for off, words in by_off.items()
        if np.abs(words).max() > 0.0
    ]
    return Products(
        np.concatenate([p.coefficient for p in found]), np.concatenate([p.log_each for p in found])
    )


def _with_heard(
    parts: dict[tuple[int, ...], Floats], heard: Heard
) -> dict[tuple[int, ...], Floats]:
    """Multiply by a - b P(off): conditions known to be off are listed in the keys."""
    result: dict[tuple[int, ...], Floats] = {}
    for off, words in parts.items():
        more = tuple(sorted((*off, heard.condition)))
        for key, factor in ((off, heard.a), (more, -heard.b)):
            result[key] = result.get(key, np.zeros_like(words)) + words * factor
    return result


def _all_off(model: FaultModel, conditions: tuple[int, ...]) -> Products:
    columns = list(conditions)
    log_each = np.log1p(-model.complaint.q[:, columns]).sum(axis=1)
    return Products(np.array([np.prod(1.0 - model.complaint.leak[columns])]), log_each[None, :])


def complaint_products(model: FaultModel, words: Floats) -> Products:
    """Upper bound of sum_f words_f P(first = f | S) / P(some | S) as products.

    1 / (1 - x), with x = P(nothing shows | S), is cut after x^3; what is cut off
    is at most x^3 x_max / (1 - x_max).
    """
    q, leak = model.complaint.q, model.complaint.leak
    hidden = np.concatenate([np.zeros((len(q), 1)), np.cumsum(np.log1p(-q), axis=1)], axis=1).T
    base = np.concatenate([[1.0], np.cumprod(1.0 - leak)])
    step = np.concatenate([[words[0]], np.diff(words), [-words[-1]]])
    first = Products(step * base, hidden)
    alone = np.eye(len(q), dtype=bool)
    top = float(np.prod(off_chances(alone, q, leak), axis=1).max())
    power = np.arange(SERIES + 1)
    coefficient = base[-1] ** power
    coefficient[-1] *= 1.0 + top / (1.0 - top)
    return first.times(Products(coefficient, power[:, None] * hidden[-1])).without_zeros()


def look_products(model: FaultModel, look: Look) -> Products | None:
    """Likelihood of the answers on one finding as products; None if it is no such sum."""
    finding = model.findings[look.finding]
    shown = _graded(model, finding, look) if finding.graded else _kinds(model, finding, look)
    if shown is None or not finding.needs_fault:
        return shown
    hides = np.zeros((1, model.n_causes))
    hides[0, finding.touched] = log_quiet(model, finding)
    unseen = Products(-np.ones(1), hides).times(shown)
    healthy = Products(np.array([finding.healthy @ look.likelihood]), hides)
    parts = (shown, unseen, healthy)
    return Products(
        np.concatenate([p.coefficient for p in parts]), np.concatenate([p.log_each for p in parts])
    ).without_zeros()


def _graded(model: FaultModel, finding: Finding, look: Look) -> Products | None:
    ratio = log_ratios(finding)
    if (ratio > 1e-9).any():
        return None
    log_each = np.zeros((len(finding.healthy), model.n_causes))
    log_each[:, finding.touched] = ratio.T
    tail = np.cumsum(finding.healthy[::-1])[::-1]
    step = np.diff(look.likelihood, prepend=0.0)
    return Products(step * tail, log_each).without_zeros()


def _kinds(model: FaultModel, finding: Finding, look: Look) -> Products:
    chances = np.append(finding.rows @ look.likelihood, finding.healthy @ look.likelihood)
    log_each = np.zeros((len(chances), model.n_causes))
    for position, cause in enumerate(finding.touched):
        log_each[position + 1 :, cause] = NEVER
    return Products(np.diff(chances, prepend=0.0), log_each).without_zeros()


def _kept_likelihood(model: FaultModel, plan: _Plan, kept: Sets) -> Floats:
    """The same facts on the kept sets, each at its exact value."""
    result = np.ones(len(kept))
    if plan.complaint is not None:
        result = complaint_terms(model, plan.complaint, kept).sum(axis=1)
    rows = Rows(kept, (kept.members,), np.zeros(len(kept)), np.arange(len(kept)))
    for look in plan.exact:
        result = result * np.exp(look_log(model, look, rows))
    return result
