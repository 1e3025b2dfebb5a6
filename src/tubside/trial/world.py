"""Worlds that calls come from: as a pack says, or disturbed away from it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.machine.draws import base_draws
from tubside.pack.complaint import fit_first
from tubside.pack.fault_model import Complaint, FaultModel, Finding, Floats, Remedy
from tubside.pack.prior import main_shares, solve_odds
from tubside.trial.call import Drawn, drawable
from tubside.trial.meter import Machines

MACHINES = 1024
"""Machines drawn for a world; a call has one of them."""
LEAST_SHARE = 1e-3
"""What a disturbed table keeps for an outcome that the pack gives no chance."""


@dataclass(frozen=True, slots=True)
class World:
    """What calls obey: the fault model of the world, the sets and machines they come from.

    With ``by_physics`` a machine whose parameters a cause moves stops for what its
    simulated controller notices; else, and where that is nothing, as the tables say.
    """

    name: str
    model: FaultModel
    drawn: Drawn
    machines: Machines | None = None
    by_physics: bool = False


@dataclass(frozen=True, slots=True)
class Disturbance:
    """How far a world is moved away from its pack.

    ``weights`` is the factor by which each cause's weight is wrong, up or down;
    ``tables`` the size of the Dirichlet draws around each row of a table (larger is
    closer; 0 leaves the tables); ``odds`` the sigma on the log odds of other chances;
    ``machine`` how far the middle of each parameter is moved, in its own spreads, and
    the sigma on the logarithm of how far each cause moves it.
    """

    weights: float = 1.0
    tables: float = 0.0
    odds: float = 0.0
    machine: float = 0.0


def as_the_pack_says(model: FaultModel) -> World:
    """The world that the pack describes."""
    return World("as the pack says", model, drawable(model), machines_of(model, 0))


def machines_of(model: FaultModel, seed: int) -> Machines | None:
    """Machines drawn from the model's family, where it describes one."""
    if model.machine is None:
        return None
    return Machines(model.machine, base_draws(model.machine, MACHINES, seed))


def disturbed(model: FaultModel, by: Disturbance, seed: int, name: str) -> World:
    """A world drawn around the pack's: the same seed gives the same world."""
    rng = np.random.default_rng(seed)
    world = model
    if by.weights != 1.0:
        world = _other_weights(world, by.weights, rng)
    if by.tables:
        world = _other_tables(world, by.tables, rng)
    if by.odds:
        world = _other_chances(world, by.odds, rng)
    if by.machine:
        world = _other_machine(world, by.machine, rng)
    return World(name, world, drawable(world), machines_of(world, seed), bool(by.machine))


def _other_weights(model: FaultModel, factor: float, rng: np.random.Generator) -> FaultModel:
    """Half of the weights times the factor, half divided by it, scaled to the same total."""
    weights, several = main_shares(model.prior)
    half = np.where(np.arange(len(weights)) % 2 == 0, 1.0, -1.0)
    moved = weights * factor ** rng.permutation(half)
    moved *= weights.sum() / moved.sum()
    return replace(model, prior=solve_odds(moved, several, model.prior))


def _other_tables(model: FaultModel, size: float, rng: np.random.Generator) -> FaultModel:
    """Rows of findings, and of how causes are reported, drawn around the pack's."""
    findings = tuple(
        replace(f, healthy=_row(f.healthy, size, rng), rows=_rows(f.rows, size, rng))
        for f in model.findings
    )
    return replace(
        model, findings=_ordered(findings), complaint=_other_complaint(model.complaint, size, rng)
    )


def _ordered(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The same findings; a row that would be no distribution is an error."""
    for finding in findings:
        assert np.allclose(finding.rows.sum(axis=1), 1.0)
    return findings


def _other_complaint(said: Complaint, size: float, rng: np.random.Generator) -> Complaint:
    """Words and noisy-OR weights drawn around the pack's, the weights through their table."""
    words = _rows(said.said, size, rng)
    table = _rows(said.table, size, rng)
    first = fit_first(table, words)
    earlier = np.cumsum(first, axis=1) - first
    q = np.clip(first / np.maximum(1.0 - earlier, 1e-12), 0.0, 0.999)
    q = np.where(said.q > 0.0, np.maximum(q - said.leak, 0.0), 0.0)
    keeps = q.sum(axis=1) > 0.0
    return replace(said, said=words, q=np.where(keeps[:, None], q, said.q))


def _other_chances(model: FaultModel, sigma: float, rng: np.random.Generator) -> FaultModel:
    """Chances to show on one run and to be cleared by a remedy, moved on their log odds."""
    remedies = tuple(_other_remedy(remedy, sigma, rng) for remedy in model.remedies)
    return replace(model, shows=_moved(model.shows, sigma, rng), remedies=remedies)


def _other_remedy(remedy: Remedy, sigma: float, rng: np.random.Generator) -> Remedy:
    moved = _moved(remedy.clears, sigma, rng)
    return replace(remedy, clears=np.where(remedy.clears > 0.0, moved, 0.0))


def _other_machine(model: FaultModel, sigma: float, rng: np.random.Generator) -> FaultModel:
    """A family whose machines, and whose causes' moves, are not quite those of the pack."""
    family = model.machine
    if family is None:
        return model
    shift = sigma * family.spread * rng.standard_normal(len(family.middle))
    middle = np.where(family.logarithmic, family.middle * np.exp(shift), family.middle + shift)
    moves = tuple(
        replace(move, value=move.value * float(np.exp(sigma * rng.standard_normal())))
        for move in family.moves
    )
    middle = np.clip(middle, family.low, family.high)
    return replace(model, machine=replace(family, middle=middle, moves=moves))


def _moved(chance: Floats, sigma: float, rng: np.random.Generator) -> Floats:
    inside = np.clip(chance, 1e-6, 1.0 - 1e-6)
    log_odds = np.log(inside / (1.0 - inside)) + sigma * rng.standard_normal(chance.shape)
    return np.asarray(1.0 / (1.0 + np.exp(-log_odds)))


def _rows(rows: Floats, size: float, rng: np.random.Generator) -> Floats:
    return np.array([_row(row, size, rng) for row in rows]).reshape(rows.shape)


def _row(row: Floats, size: float, rng: np.random.Generator) -> Floats:
    drawn = rng.dirichlet(size * np.maximum(row, LEAST_SHARE))
    return np.asarray(np.maximum(drawn, 1e-9) / np.maximum(drawn, 1e-9).sum())
