"""The next step: every step looked at one ahead, the best dozen two ahead, by money."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.leaf import Collapsed, PhonePlan, collapse, phone_leaf, site_leaf
from tubside.diagnosis.options import Options, RemedyOption, open_options
from tubside.diagnosis.situation import Situation, scrap_cost
from tubside.pack.fault_model import FaultModel, Floats, Ints

LEAST_GAIN_BITS = 0.01
LEAST_SAVING = 0.5


@dataclass(frozen=True, slots=True)
class Step:
    """One step and the expected total cost of the job if it comes next.

    ``kind`` is check, remedy, refer, visit, scrap or return; ``index`` counts
    within its kind (stops for refer, scrap and return). ``works`` is the chance
    that a remedy ends trouble that is there, ``ahead`` how many steps were looked at.
    ``saves`` is what the step is worth before its own cost, beyond what running a
    sound machine again would tell; one that saves less than half of its cost is
    never put before one that does.
    """

    kind: str
    index: int
    cost: float
    minutes: float
    expected_cost: float
    works: float = 0.0
    ahead: int = 1
    saves: float = np.inf

    @property
    def pays(self) -> bool:
        """Whether it is worth more than half its cost."""
        return self.saves > LEAST_SAVING * self.cost


@dataclass(frozen=True, slots=True)
class Place:
    """Where the next step happens: on site, or on the phone with a visit to come."""

    here: Options
    phone: PhonePlan | None
    callback: float

    def leaf(self, belief: Collapsed, bit_cost: float | Floats) -> Floats:
        """Expected cost from a belief on (B,)."""
        if self.phone is None:
            return site_leaf(self.here, belief, bit_cost)
        return phone_leaf(self.phone, belief, bit_cost)

    def otherwise(self) -> Floats:
        """Cost of each cause if known, with each remedy in turn used up, or none: (r + 1, n)."""
        return self.here.own_after.cost if self.phone is None else self.phone.known_after

    def leaf_used_up(self, belief: Collapsed, bit_cost: float) -> Floats:
        """The same after each remedy and referral in turn was used up, and after none."""
        if self.phone is None:
            return site_leaf(self.here, belief, bit_cost, self.here.own_after)
        return phone_leaf(self.phone, belief, bit_cost, used_up=True)


def place(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation, heaviest: Belief
) -> Place:
    """All that is open in this situation.

    What is open on site after a visit is laid out over the ``heaviest`` rows only.
    """
    here = open_options(model, evidence, belief, situation)
    phone = None
    if not situation.on_site:
        site = open_options(model, evidence, heaviest, replace(situation, on_site=True))
        phone = PhonePlan.of(here, site, least_bit_price(site, heaviest.probability))
    return Place(here, phone, model.costs.callback)


def one_step(where: Place, probability: Floats) -> list[Step]:
    """Every step but the endings, with the leaf after it."""
    now, _ = collapse(probability[:, None], where.here)
    checks, bit_cost = _check_steps(where, probability, now)
    remedies = _remedy_steps(where, probability, bit_cost)
    visits = [] if where.phone is None else [_visit(where, now, bit_cost)]
    return [*checks, *remedies, *visits]


def endings(model: FaultModel, situation: Situation) -> list[Step]:
    """Ends without repair that are open: not worth repairing, back to seller or insurer."""
    result = []
    for number, stop in enumerate(model.stops):
        if stop.kind == "scrap":
            cost = scrap_cost(model, situation.age_years)
            result.append(Step("scrap", number, cost, 0.0, cost))
        young = situation.age_years is not None and situation.age_years < stop.up_to_years
        if stop.kind == "return" and young:
            result.append(Step("return", number, stop.cost, 0.0, stop.cost))
    return result


def by_cost(step: Step) -> tuple[bool, float, str, int]:
    """Order of steps: those that pay first, then by expected total cost."""
    return (not step.pays, step.expected_cost, step.kind, step.index)


def _check_steps(where: Place, probability: Floats, now: Collapsed) -> tuple[list[Step], float]:
    """All checks, and the least cost of a bit among them [dollars per bit].

    Doubt that a check leaves is priced by the other checks: it cannot be asked again.
    """
    checks, stop = where.here.checks, where.here.stop_cost
    if not checks:
        return [], stop
    starts, after, chance = _answers(where.here, probability)
    prices = _bit_prices(where.here, now, np.add.reduceat(chance * after.entropy_bits(), starts))
    best = int(prices.argmin())
    same = np.array([c.finding == checks[best].finding for c in checks])
    same &= (checks[best].finding >= 0) | (np.arange(len(checks)) == best)
    least = (float(prices[best]), float(prices[~same].min(initial=stop)))
    others = np.where(same, least[1], least[0])
    sizes = [c.said.shape[1] for c in checks]
    value = np.add.reduceat(chance * where.leaf(after, np.repeat(others, sizes)), starts)
    before = [float(where.leaf(now, np.full(1, price))[0]) for price in least]
    saves = np.where(same, before[1], before[0]) - value
    steps = [
        Step("check", c.index, c.cost, c.minutes, c.cost + float(v), saves=float(s))
        for c, v, s in zip(checks, value, saves, strict=True)
    ]
    return steps, least[0]


def least_bit_price(options: Options, probability: Floats) -> float:
    """Least cost of a bit of doubt by the checks open [dollars per bit].

    Where no check can tell anything, a bit costs as much as ending the job.
    """
    if not options.checks:
        return options.stop_cost
    now, _ = collapse(probability[:, None], options)
    starts, after, chance = _answers(options, probability)
    doubt = np.add.reduceat(chance * after.entropy_bits(), starts)
    return float(_bit_prices(options, now, doubt).min())


def _bit_prices(options: Options, now: Collapsed, doubt_after: Floats) -> Floats:
    """Cost of a bit of doubt by each check, ending the job at most [dollars per bit]."""
    gain = np.maximum(float(now.entropy_bits()[0]) - doubt_after, 1e-300)
    price = np.array([c.cost for c in options.checks]) / gain
    return np.where(gain > LEAST_GAIN_BITS, np.minimum(price, options.stop_cost), options.stop_cost)


def _answers(options: Options, probability: Floats) -> tuple[Ints, Collapsed, Floats]:
    """Belief after every answer to every check, with its chance; where each check starts."""
    starts = np.cumsum([0, *(c.said.shape[1] for c in options.checks)])[:-1]
    said = np.concatenate([c.said for c in options.checks], axis=1)
    after, chance = collapse(said * probability[:, None], options)
    return starts, after, chance


def _remedy_steps(where: Place, probability: Floats, bit_cost: float) -> list[Step]:
    """All remedies and referrals, their failed re-runs valued in one go.

    What a remedy saves is what it clears, at the cost of clearing it otherwise.
    """
    options = where.here
    found = [("remedy", r) for r in options.remedies] + [("refer", r) for r in options.refers]
    if not found:
        return []
    nothing = RemedyOption(-1, 0.0, 0.0, np.zeros(options.member.shape[1]))
    tries = tried(options, probability, [*(option for _, option in found), nothing])
    later = tries.fails * where.leaf_used_up(tries.belief, bit_cost) + where.callback * tries.hidden
    left = tries.fails + tries.hidden
    now, _ = collapse(probability[:, None], options)
    saves = [
        (now.main[0] * o.clears) @ costs
        for (_, o), costs in zip(found, where.otherwise(), strict=False)
    ]
    return [
        replace(
            Step(
                kind, option.index, option.cost, option.minutes, option.cost + float(later[number])
            ),
            works=float(max(left[-1] - left[number], 0.0)),
            saves=float(saves[number]),
        )
        for number, (kind, option) in enumerate(found)
    ]


@dataclass(frozen=True, slots=True)
class Tried:
    """Remedies done: P(the re-run fails), P(it passes with a cause left), belief if it fails."""

    fails: Floats  # (r,)
    hidden: Floats  # (r,)
    belief: Collapsed


def tried(options: Options, probability: Floats, remedies: list[RemedyOption]) -> Tried:
    """What r remedies do to one belief, all at once.

    Shares of the main cause after a failed re-run are exact for single causes and
    scaled for larger sets, of which a part may have been cleared.
    """
    clears = np.array([r.clears for r in remedies])
    left = some_left(options, clears) * probability[:, None]
    fails = options.shows @ left
    hidden = (1.0 - options.shows) @ left
    shown = probability * options.shows
    scale = np.maximum(fails, 1e-300)[:, None]
    main = (shown @ options.share) * (1.0 - clears)
    main *= 1.0 / np.maximum(main.sum(axis=1, keepdims=True), 1e-300)
    present = (shown @ options.member) * (1.0 - clears) / scale
    return Tried(fails, hidden, Collapsed(main, present, np.zeros(len(remedies))))


def some_left(options: Options, clears: Floats) -> Floats:
    """P(some cause of the row is left) after each remedy: (M, r)."""
    with np.errstate(divide="ignore"):
        log_clear = np.maximum(np.log(clears), -60.0)
    faulty = np.asarray(options.member.any(axis=1))[:, None]
    return np.where(faulty, 1.0 - np.exp(options.member @ log_clear.T), 0.0)


def _visit(where: Place, now: Collapsed, bit_cost: float) -> Step:
    assert where.phone is not None
    cost = where.here.visit_cost
    value = cost + float(site_leaf(where.phone.site, now, bit_cost)[0])
    return Step("visit", 0, cost, 0.0, value)
