"""A whole trial: calls shared out over workers, the same result however many there are."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass, replace

from tubside.pack.fault_model import FaultModel
from tubside.trial.job import Shop
from tubside.trial.measuring import Calibration, Row, calibration, rows
from tubside.trial.policies import Advised, ByList, ChanceOverCost, JobPolicy
from tubside.trial.working import Stated, Worked, try_calls
from tubside.trial.world import World

CHUNK = 5
BASELINE = "list"


@dataclass(frozen=True, slots=True)
class Trial:
    """What to try: a world, a shop that knows its pack, how many calls from which seed.

    ``prepared`` makes the shop's model ready to predict readings; each worker does it for
    itself.
    """

    world: World
    shop: Shop
    calls: int
    seed: int
    prepared: Callable[[FaultModel], FaultModel] | None = None


@dataclass(frozen=True, slots=True)
class Result:
    """Every call by every policy, and what it amounts to."""

    world: str
    seed: int
    left_out: float
    worked: tuple[Worked, ...]
    rows: tuple[Row, ...]
    calibration: Calibration


def all_policies() -> tuple[JobPolicy, ...]:
    """Ours first, then the trade's list, the list without checks, and P/C."""
    return (
        Advised(),
        ByList(BASELINE),
        ByList("plain list", checks=False),
        ChanceOverCost(),
    )


def run(
    trial: Trial, executor: Executor | None = None, done: Callable[[int], None] | None = None
) -> Result:
    """Try every policy on every call; ``done`` is told how many calls are finished.

    Any executor gives the same result: every call has its own random numbers.
    """
    found: dict[int, tuple[list[Worked], list[Stated]]] = {}
    finished = 0
    for first, part in _parts(trial, executor):
        found[first] = part
        finished += min(CHUNK, trial.calls - first)
        if done is not None:
            done(finished)
    worked = [one for first in sorted(found) for one in found[first][0]]
    beliefs = [one for first in sorted(found) for one in found[first][1]]
    return Result(
        world=trial.world.name,
        seed=trial.seed,
        left_out=trial.world.drawn.left_out,
        worked=tuple(worked),
        rows=tuple(rows(worked, BASELINE)),
        calibration=calibration(beliefs),
    )


Part = tuple[int, tuple[list[Worked], list[Stated]]]


def _parts(trial: Trial, executor: Executor | None) -> Iterator[Part]:
    """(first call, what was found) of each chunk, in the order in which they finish."""
    starts = range(0, trial.calls, CHUNK)
    if executor is None:
        for first in starts:
            yield first, _chunk(trial, _numbers(trial, first))
        return
    waiting = {executor.submit(_chunk, trial, _numbers(trial, first)): first for first in starts}
    for future in as_completed(waiting):
        yield waiting[future], future.result()


def _numbers(trial: Trial, first: int) -> Sequence[int]:
    return range(first, min(first + CHUNK, trial.calls))


def _chunk(trial: Trial, numbers: Sequence[int]) -> tuple[list[Worked], list[Stated]]:
    shop = trial.shop
    if trial.prepared is not None:
        shop = replace(shop, model=trial.prepared(shop.model))
    return try_calls(trial.world, shop, all_policies(), trial.seed, numbers)
