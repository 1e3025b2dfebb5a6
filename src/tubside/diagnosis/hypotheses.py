"""Hypotheses: sets of causes, and what became of them through the remedies tried."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import Evidence, axis_vectors
from tubside.pack.fault_model import Bools, FaultModel, Floats, Ints, Prior
from tubside.pack.prior import log_mass, total_mass

FAULT = -1


@dataclass(frozen=True, slots=True)
class Sets:
    """Distinct sets of causes; ``healthy`` is 0 nothing wrong, 1 cleared itself, -1 a fault."""

    members: Bools  # (N, n)
    healthy: Ints  # (N,)

    def __len__(self) -> int:
        return len(self.members)


@dataclass(frozen=True, slots=True)
class Rows:
    """Sets with their path: ``states[e]`` (N, n) is what is left after e remedies."""

    sets: Sets  # what was wrong at the call, one row per path
    states: tuple[Bools, ...]
    log_path: Floats  # (N,)
    owner: Ints  # (N,) row of the original sets

    @property
    def now(self) -> Bools:
        """What is still wrong."""
        return self.states[-1]


def healthy_sets(n: int) -> Sets:
    """The two hypotheses without a cause."""
    return Sets(np.zeros((2, n), dtype=bool), np.array([0, 1]))


def single_sets(n: int) -> Sets:
    """Each cause alone."""
    return Sets(np.eye(n, dtype=bool), np.full(n, FAULT))


def joined(parts: list[Sets]) -> Sets:
    """One after the other."""
    return Sets(
        np.concatenate([p.members for p in parts]), np.concatenate([p.healthy for p in parts])
    )


def prior_now(model: FaultModel, evidence: Evidence) -> tuple[Prior, float]:
    """The prior with age and answers on variants worked in, and log((1 - w0) / (Z - 1)).

    The scale is that of the unchanged prior, so that ``left`` and kept masses
    stay on one footing with the healthy share.
    """
    prior = model.prior
    z = float(total_mass(prior, prior.odds[:, None])[0])
    scale = float(np.log((1.0 - prior.healthy.sum()) / (z - 1.0)))
    odds = prior.odds
    if evidence.age_years is not None:
        year = int(min(max(evidence.age_years, 0.0), model.age_factor.shape[1] - 1))
        odds = odds * model.age_factor[:, year]
    vectors = axis_vectors(model, evidence)
    axes = tuple(
        replace(axis, shares=axis.shares * vector)
        for axis, vector in zip(prior.axes, vectors, strict=True)
    )
    return replace(prior, odds=odds, axes=axes), scale


def log_prior(prior: Prior, scale: float, sets: Sets) -> Floats:
    """log P(S), healthy rows included; answers on variants are part of it."""
    mass = log_mass(prior, sets.members) + scale
    empty = sets.healthy >= 0
    if empty.any():
        variants = mass[empty] - scale
        mass[empty] = variants + np.log(prior.healthy[sets.healthy[empty]])
    return mass


def follow(evidence: Evidence, sets: Sets) -> Rows:
    """Split each set by what every remedy may have cleared; impossible paths are dropped."""
    rows = Rows(sets, (sets.members,), np.zeros(len(sets)), np.arange(len(sets)))
    for treatment in evidence.treatments:
        rows = _after(rows, treatment.clears)
    return rows


def _after(rows: Rows, clears: Floats) -> Rows:
    """One remedy: each present cause it can clear is cleared or stays."""
    now, log_path = rows.now.copy(), rows.log_path
    states, index = rows.states, np.arange(len(now))
    for cause in np.flatnonzero(clears):
        present = now[:, cause]
        stays = np.flatnonzero(present) if clears[cause] < 1.0 else np.zeros(0, dtype=np.int64)
        order = np.concatenate([np.arange(len(now)), stays])
        cleared = np.concatenate([present, np.zeros(len(stays), dtype=bool)])
        kept = np.concatenate([np.zeros(len(now), dtype=bool), np.ones(len(stays), dtype=bool)])
        now, index, log_path = now[order], index[order], log_path[order]
        now[cleared, cause] = False
        log_path = log_path + np.where(cleared, np.log(clears[cause]), 0.0)
        log_path = log_path + np.where(kept, np.log1p(-min(clears[cause], 1 - 1e-15)), 0.0)
    return Rows(
        Sets(rows.sets.members[index], rows.sets.healthy[index]),
        (*(s[index] for s in states), now),
        log_path,
        rows.owner[index],
    )
