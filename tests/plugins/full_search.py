"""Every plan of one and two steps, tried one by one, and problems to try it on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tiny_models import tiny_model
from tubside.diagnosis.ahead import LEAST_BRANCH
from tubside.diagnosis.leaf import collapse, site_leaf
from tubside.diagnosis.next_step import LEAST_GAIN_BITS
from tubside.diagnosis.options import (
    CheckOption,
    Options,
    without_finding,
    without_remedy,
)
from tubside.pack.fault_model import FaultModel, Floats, Stop


def bits(weight: Floats) -> float:
    """Return the entropy of unnormalised chances."""
    p = weight[weight > 0] / weight.sum()
    return float(-(p * np.log2(p)).sum())


@dataclass(frozen=True)
class Search:
    """Expected cost of some steps and then the leaf, one outcome after the other."""

    callback: float

    def leaf(self, options: Options, belief: Floats, price: float, used: int = -1) -> float:
        """Return the planner's leaf for one belief over single causes, a way used up."""
        collapsed, _ = collapse(belief[:, None], options)
        after = options.own_after
        row = slice(used, used + 1) if used >= 0 else slice(-1, None)
        own = replace(after, cost=after.cost[row], later=after.later[row], price=after.price[row])
        return float(site_leaf(options, collapsed, price, own)[0])

    def bit_price(self, options: Options, belief: Floats, without: int = -1) -> float:
        """Return the least cost of a bit of doubt by checks of another finding."""
        best = options.stop_cost
        for check in options.checks:
            after = 0.0
            for column in check.said.T:
                chance = float((belief * column).sum())
                after += chance * bits(belief * column) if chance > 0.0 else 0.0
            gain = bits(belief) - after
            if gain > LEAST_GAIN_BITS and check.finding != without:
                best = min(best, check.cost / gain)
        return best

    def check(self, options: Options, belief: Floats, check: CheckOption, depth: int) -> float:
        """Return the cost of a check and of what follows each of its outcomes."""
        price = self.bit_price(options, belief, check.finding)
        later = without_finding(options, check.finding, check.index)
        total = check.cost
        for column in check.said.T:
            weight = belief * column
            chance = float(weight.sum())
            if chance <= 0.0:
                continue
            if depth == 1:
                value = self.leaf(options, weight / chance, price)
            elif chance <= LEAST_BRANCH:
                value = self.leaf(options, weight / chance, options.stop_cost)
            else:
                value = self.best(later, weight / chance, depth - 1)
            total += chance * value
        return total

    def remedy(self, options: Options, belief: Floats, way: int, depth: int) -> float:
        """Return the cost of a remedy, of failing at once, and of failing later."""
        ways = (*options.remedies, *options.refers)
        used, kind = ways[way], "remedy" if way < len(options.remedies) else "refer"
        stays = belief * (1.0 - used.clears[options.member.argmax(axis=1)])
        total = used.cost + self.callback * float((stays * (1.0 - options.shows)).sum())
        fails = stays * options.shows
        chance = float(fails.sum())
        later = without_remedy(options, used, kind)
        if chance <= 0.0:
            return total
        if depth == 1:
            value = self.leaf(options, fails / chance, self.bit_price(options, belief), way)
        elif chance <= LEAST_BRANCH:
            value = self.leaf(later, fails / chance, options.stop_cost)
        else:
            value = self.best(later, fails / chance, depth - 1)
        return total + chance * value

    def best(self, options: Options, belief: Floats, depth: int) -> float:
        """Return the least cost over all steps, ending the job among them."""
        return min(options.stop_cost, *self.values(options, belief, depth).values(), np.inf)

    def values(self, options: Options, belief: Floats, depth: int) -> dict[tuple[str, int], float]:
        """Return the cost of every step, each followed ``depth`` deep."""
        found = {("check", c.index): self.check(options, belief, c, depth) for c in options.checks}
        names = [("remedy", r.index) for r in options.remedies]
        names += [("refer", r.index) for r in options.refers]
        for way, name in enumerate(names):
            found[name] = self.remedy(options, belief, way, depth)
        return found


def random_problem(seed: int) -> FaultModel:
    """Return a problem of four causes, five remedies (two of them weak) and three checks."""
    rng = np.random.default_rng(seed)
    remedies = [(float(rng.uniform(5, 60)), {i: float(rng.uniform(0.7, 1.0))}) for i in range(4)]
    remedies.append((float(rng.uniform(30, 90)), {0: 0.9, 1: 0.9}))
    checks = [
        (float(rng.uniform(1, 8)), rng.dirichlet(np.full(2 + k % 2, 0.6), size=4).tolist())
        for k in range(3)
    ]
    model = tiny_model(rng.dirichlet(np.full(4, 2.0)).tolist(), remedies, checks, 300.0)
    refer = Stop("refer", 70.0, np.array([False, False, False, True]), float("inf"))
    return replace(model, shows=rng.uniform(0.6, 1.0, 4), stops=(*model.stops, refer))
