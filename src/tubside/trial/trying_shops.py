"""Learning tried on simulated shops: whether intervals hold, and whether it foretells better."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from tubside.learning.counts import Counts, counted
from tubside.learning.prequential import foretold
from tubside.learning.proposal import Whose
from tubside.learning.proposing import proposals
from tubside.learning.rates import rates
from tubside.pack.schema import Pack
from tubside.trial.shop_jobs import bench_of, closed_jobs
from tubside.trial.shops import Oddity, Truth, draw_truth, true_values

LEARNING_FIRST = 100
"""Jobs that are learned from before the second score begins."""
RARE = 0.01
"""Shares that the pack puts below that are counted apart."""


@dataclass(frozen=True, slots=True)
class Tries:
    """What to try: a pack, so many jobs a shop, and how shops depart from the model."""

    pack: Pack
    jobs: int = 400
    odd: Oddity = field(default_factory=Oddity)


@dataclass(frozen=True, slots=True)
class ShopTried:
    """One shop: intervals that held by kind of number, and mean log scores.

    ``held`` is kind -> (held, of). ``first`` and ``later`` are the mean log scores of what was
    learned and of the pack as it came, over the first hundred jobs and over those after them.
    """

    seed: int
    held: dict[str, tuple[int, int]]
    first: tuple[float, float]
    later: tuple[float, float]
    brier: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Summary:
    """All shops together."""

    shops: int
    held: dict[str, tuple[float, int]]
    """Kind -> share of intervals that held, and how many."""
    all_held: float
    better_first: float
    better_later: float
    hardly_worse_later: float
    """Share of shops at most one per cent worse after the first hundred jobs."""
    worst: ShopTried
    gain_later: float


def try_shop(tries: Tries, seed: int) -> ShopTried:
    """Draw one shop, have it close its jobs, learn, and compare with the truth."""
    rng = np.random.default_rng(seed)
    bench = bench_of(tries.pack)
    truth = draw_truth(tries.pack, rng, tries.odd)
    half = tries.jobs // 2 if tries.odd.changes else tries.jobs
    jobs = closed_jobs(bench, truth, half, rng, tries.odd)
    if tries.odd.changes:
        truth = draw_truth(tries.pack, rng, tries.odd)
        jobs += closed_jobs(bench, truth, tries.jobs - half, rng, tries.odd)
    held = _held(tries.pack, counted(jobs), truth)
    told = foretold(jobs, tries.pack)
    scores, early = told.log_scores(), told.numbers < LEARNING_FIRST
    first, later = scores[:, early].mean(axis=1), scores[:, ~early].mean(axis=1)
    brier = told.brier_scores().mean(axis=1)
    return ShopTried(
        seed,
        held,
        (float(first[0]), float(first[1])),
        (float(later[0]), float(later[1])),
        (float(brier[0]), float(brier[1]), float(brier[2])),
    )


def _held(pack: Pack, counts: Counts, truth: Truth) -> dict[str, tuple[int, int]]:
    """Kind of number -> how many of its intervals hold the true number, and of how many."""
    found: list[tuple[str, bool]] = []
    for one in proposals(counts, pack, Whose(pack.family)):
        for part, true in zip(one.parts, true_values(truth, one), strict=True):
            kind = one.what if one.unit or part.pack >= RARE else f"{one.what}, rare"
            found.append((kind, bool(part.low <= true <= part.high)))
    for rate in rates(counts, pack):
        at = truth.tables.origin(rate.cause)
        by_phone, callback = float(truth.by_phone[at]), float(truth.callbacks[at])
        found.append(("by phone", rate.by_phone.low <= by_phone <= rate.by_phone.high))
        found.append(("a return", rate.callback.low <= callback <= rate.callback.high))
    good: Counter[str] = Counter(kind for kind, holds in found if holds)
    return {kind: (good[kind], of) for kind, of in Counter(kind for kind, _ in found).items()}


def try_shops(
    tries: Tries, seeds: Sequence[int], executor: Executor | None = None
) -> list[ShopTried]:
    """Every shop, in the order of the seeds; any executor gives the same."""
    work = partial(try_shop, tries)
    found: Iterable[ShopTried] = map(work, seeds)
    if executor is not None:
        found = executor.map(work, seeds, chunksize=5)
    return list(found)


def summed_up(shops: Sequence[ShopTried]) -> Summary:
    """What all shops together show; shares a pack calls rare are left out of ``all_held``."""
    kinds = sorted({kind for shop in shops for kind in shop.held})
    held = {}
    for kind in kinds:
        good = sum(shop.held.get(kind, (0, 0))[0] for shop in shops)
        of = sum(shop.held.get(kind, (0, 0))[1] for shop in shops)
        held[kind] = (good / of, of)
    plain = [(share * of, of) for kind, (share, of) in held.items() if "rare" not in kind]
    gains = np.array([shop.later[0] - shop.later[1] for shop in shops])
    relative = gains / np.array([abs(shop.later[1]) for shop in shops])
    return Summary(
        shops=len(shops),
        held=held,
        all_held=sum(good for good, _ in plain) / sum(of for _, of in plain),
        better_first=float(np.mean([shop.first[0] > shop.first[1] for shop in shops])),
        better_later=float((gains > 0.0).mean()),
        hardly_worse_later=float((relative >= -0.01).mean()),
        worst=shops[int(np.argmin(relative))],
        gain_later=float(gains.mean()),
    )
