r"""What it costs from here, estimated without looking further ahead.

A belief is collapsed to x (share of each cause as the main one), m (chance that
each is there) and h (chance that the machine is sound). Two estimates:

* **P/C**: remedies in order of chance over cost until one works (Kadane & Simon
  1977, *Optimal strategies for a class of constrained sequential problems*,
  Ann. Statist. 5:237-255; from memory), cut off where ending the job is cheaper.
* **Known cause plus doubt**: the cost if the cause were known, plus k for each
  bit of doubt, with k the least cost at which a bit can be had now (an idea of
  Warnquist & Nyberg 2008 as recalled; from memory).

The leaf is the lower of the two: the first is the cost of a real plan, the
second sees what checks are worth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.options import Options
from tubside.diagnosis.own_costs import OwnCosts
from tubside.pack.fault_model import Floats

TRIED_IN_ORDER = 24
"""Remedies in the P/C order before the rest is taken to end the job."""


@dataclass(frozen=True, slots=True)
class Collapsed:
    """B beliefs by cause: x, m (B, n) and h (B,)."""

    main: Floats
    present: Floats
    sound: Floats

    def entropy_bits(self) -> Floats:
        """Doubt about what to do: entropy over causes and soundness (B,) [bit]."""
        everything = np.concatenate([self.main, self.sound[:, None]], axis=1)
        safe = np.maximum(everything, 1e-300)
        return np.asarray(-(everything * np.log2(safe)).sum(axis=1))


def collapse(weights: Floats, options: Options) -> tuple[Collapsed, Floats]:
    """Beliefs from unnormalised row weights (M, B), and their totals (B,)."""
    total = weights.sum(axis=0)
    scale = np.maximum(total, 1e-300)[:, None]
    main = (weights.T @ options.share) / scale
    present = (weights.T @ options.member) / scale
    sound = np.clip(1.0 - main.sum(axis=1), 0.0, 1.0)
    return Collapsed(main, present, sound), total


def site_leaf(
    options: Options, belief: Collapsed, bit_cost: float | Floats, own: OwnCosts | None = None
) -> Floats:
    """Expected cost from here on site [dollars]: (B,); ``own`` if some remedies are used up."""
    own = own or options.own
    known = (belief.present * own.cost).sum(axis=1) + bit_cost * belief.entropy_bits()
    tried = by_chance_over_cost(options, belief, own)
    return np.asarray(np.minimum(np.minimum(tried, known), options.stop_cost))


def by_chance_over_cost(options: Options, belief: Collapsed, own: OwnCosts) -> Floats:
    """Cost of trying the remedies in P/C order, ending the job where that is cheaper: (B,).

    A remedy that does not clear its cause leaves what then follows for that cause.
    """
    if not own.groups.shape[1]:
        return np.full(len(belief.sound), options.stop_cost)
    chance = belief.main @ own.groups
    later = (belief.main * own.later) @ own.groups
    price = np.broadcast_to(own.price, chance.shape)
    expected = price + later / np.maximum(chance, 1e-300)
    order = np.argsort(-chance / expected, axis=1, kind="stable")[:, :TRIED_IN_ORDER]
    chance = np.take_along_axis(chance, order, axis=1).T
    later = np.take_along_axis(later, order, axis=1).T
    cost = np.take_along_axis(price, order, axis=1).T
    left = np.maximum(1.0 - belief.sound - np.cumsum(chance, axis=0), 0.0)
    before = np.concatenate([np.ones((1, len(belief.sound))), left[:-1]])
    spend, end = cost * before + later, options.stop_cost * before
    value = options.stop_cost * left[-1]
    for step in range(len(spend) - 1, -1, -1):
        value = np.minimum(end[step], spend[step] + value)
    return np.asarray(value)


@dataclass(frozen=True, slots=True)
class PhonePlan:
    """What the phone leaf needs: both places, and the cost of a known cause by phone.

    ``site_bit_cost`` is the least cost of a bit once there [dollars per bit].
    """

    phone: Options
    site: Options
    site_bit_cost: float
    known_cost: Floats  # (n,)
    known_after: Floats  # (remedies + 1, n) with one remedy used up, or none
    clears: Floats  # (remedies, n)
    cost: Floats  # (remedies,)

    @classmethod
    def of(cls, phone: Options, site: Options, site_bit_cost: float) -> PhonePlan:
        """Join the two places."""
        steps = (*phone.remedies, *phone.refers)
        clears = np.array([r.clears for r in steps]).reshape(len(steps), phone.member.shape[1])
        cost = np.array([r.cost for r in steps])
        visit = phone.visit_cost + site.own.cost
        by_phone = np.vstack([cost[:, None] + (1.0 - clears) * visit, visit[None, :]])
        by_phone = np.minimum(by_phone, phone.stop_cost)
        known, known_after = by_phone.min(axis=0), _least_of_others(by_phone)
        return cls(phone, site, site_bit_cost, known, known_after, clears, cost)


def _least_of_others(costs: Floats) -> Floats:
    """For each row but the last, the least of the other rows; for the last, of all: (r, n)."""
    rows = np.tile(costs, (len(costs), 1, 1))
    index = np.arange(len(costs) - 1)
    rows[index, index] = np.inf
    return np.asarray(rows.min(axis=1))


def phone_leaf(
    plan: PhonePlan, belief: Collapsed, bit_cost: float | Floats, *, used_up: bool = False
) -> Floats:
    """Expected cost from here while still on the phone [dollars]: (B,).

    ``used_up`` says that belief b comes after remedy b, the last one after none.
    """
    visit = plan.phone.visit_cost + site_leaf(plan.site, belief, plan.site_bit_cost)
    bit_cost = np.minimum(bit_cost, plan.site_bit_cost)
    cost = plan.known_after if used_up else plan.known_cost
    known = (belief.present * cost).sum(axis=1) + bit_cost * belief.entropy_bits()
    best = np.minimum(np.minimum(visit, known), plan.phone.stop_cost)
    if not len(plan.cost):
        return np.asarray(best)
    return np.asarray(np.minimum(best, _phone_tries(plan, belief, visit, used_up=used_up)))


def _phone_tries(plan: PhonePlan, belief: Collapsed, visit: Floats, *, used_up: bool) -> Floats:
    """Cost of trying by phone every remedy that pays, then a visit: (B,)."""
    chance = belief.main @ plan.clears.T
    pays = chance * visit[:, None] > plan.cost
    if used_up:
        pays[np.arange(len(plan.cost)), np.arange(len(plan.cost))] = False
    order = np.argsort(-chance / plan.cost, axis=1, kind="stable")
    chance = np.take_along_axis(np.where(pays, chance, 0.0), order, axis=1)
    cost = np.take_along_axis(np.where(pays, plan.cost, 0.0), order, axis=1)
    before = np.maximum(1.0 - (np.cumsum(chance, axis=1) - chance), 0.0)
    spent = (cost * before).sum(axis=1)
    stays = np.exp(pays.astype(float) @ np.log1p(-np.minimum(plan.clears, 1.0 - 1e-12)))
    main = belief.main * stays
    left = main.sum(axis=1) + belief.sound
    scale = np.maximum(left, 1e-300)[:, None]
    rest = Collapsed(main / scale, belief.present * stays / scale, belief.sound / scale[:, 0])
    there = by_chance_over_cost(plan.site, rest, plan.site.own)
    there = np.minimum(there, plan.phone.stop_cost)
    return np.asarray(spent + left * (plan.phone.visit_cost + there))
