"""Tests of alarms: seldom without cause, soon with one."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.learning.alarms import QUIET_MONTHS, Alarm, alarms
from tubside.learning.counts import Counts, Key
from tubside.learning.history import MILLION
from tubside.learning.proportions import Floats
from tubside.pack.reading import PackSource
from tubside.trial.shops import draw_truth

JOBS_A_MONTH = 80.0


def names(count: int) -> list[str]:
    """Return so many months in a row."""
    return [f"{2020 + month // 12}-{month % 12 + 1:02}" for month in range(count)]


def shop(pack: PackSource, seed: int, months: int, rises: tuple[int, int] = (-1, 0)) -> Counts:
    """Return months of jobs; one origin is met twice as often from some month on."""
    rng = np.random.default_rng(seed)
    truth = draw_truth(pack.pack, rng).tables
    found: dict[Key, int] = {}
    for at, month in enumerate(names(months)):
        weights: Floats = truth.weights.copy()
        if rises[0] >= 0 and at >= rises[1]:
            weights[rises[0]] *= 2.0
        for model in ("tern-8", "tern-9"):
            jobs = rng.poisson(JOBS_A_MONTH / 2.0)
            drawn = rng.multinomial(jobs, weights / weights.sum())
            for origin, met in zip(truth.origins, drawn.tolist(), strict=True):
                key = Key("own", truth.family, model, "month", origin, "", month)
                found[key] = met * MILLION
    return Counts({key: met for key, met in found.items() if met})


def quiet_alarms(pack: PackSource, shops: int, months: int = 24) -> tuple[float, float]:
    """Return alarms a month in shops where nothing changes, and the standard error."""
    found = [
        len(alarms(shop(pack, seed, months), pack.pack)) / (months - 2) for seed in range(shops)
    ]
    return float(np.mean(found)), float(np.std(found) / np.sqrt(shops))


def of_shop(found: tuple[Alarm, ...], cause: str) -> list[Alarm]:
    """Return the alarms of one cause on all models."""
    return [one for one in found if one.cause == cause and not one.model]


def test_a_doubled_cause_is_found(small_pack: PackSource) -> None:
    """Tests that a common cause that doubles is told with its month and about what was expected."""
    origin = 3
    found = alarms(shop(small_pack, 1, 30, (origin, 24)), small_pack.pack)
    cause = draw_truth(small_pack.pack, np.random.default_rng(1)).tables.origins[origin]
    told = of_shop(found, cause)[-1]
    assert told.at >= names(30)[24]
    assert told.since <= told.at
    assert told.met > 1.4 * told.expected
    assert told.false_alarm_months >= QUIET_MONTHS


def test_a_month_knows_nothing_of_those_after_it(small_pack: PackSource) -> None:
    """Tests that alarms up to a month are those of the months up to it, told alone."""
    counts = shop(small_pack, 1, 30, (3, 20))
    seen = names(30)[:27]
    early = Counts({key: met for key, met in counts.by_key.items() if key.value in seen})
    whole = [one for one in alarms(counts, small_pack.pack) if one.at in seen]
    assert [(one.cause, one.model, one.at, one.since, one.met) for one in whole] == [
        (one.cause, one.model, one.at, one.since, one.met) for one in alarms(early, small_pack.pack)
    ]


def test_only_the_last_months(small_pack: PackSource) -> None:
    """Tests that asking for the last months gives those of all that began there."""
    counts = shop(small_pack, 1, 30, (3, 20))
    found = alarms(counts, small_pack.pack)
    assert found
    last = 30 - names(30).index(found[-1].at)
    wanted = tuple(one for one in found if one.at >= names(30)[30 - last])
    assert alarms(counts, small_pack.pack, last=last) == wanted


def test_more_looks_are_stricter(small_pack: PackSource) -> None:
    """Tests that a month looked at often needs a clearer rise."""
    counts = shop(small_pack, 1, 30, (3, 20))
    often = alarms(counts, small_pack.pack, looks=1000)
    assert len(often) < len(alarms(counts, small_pack.pack))


def test_few_alarms_without_cause(small_pack: PackSource) -> None:
    """Tests that shops in which nothing changes alarm no more often than said: four sigma."""
    rate, error = quiet_alarms(small_pack, 12)
    assert rate <= 1.0 / QUIET_MONTHS + 4.0 * error


@pytest.mark.soak
def test_alarms_without_cause_as_stated(small_pack: PackSource) -> None:
    """Tests 500 shops: alarms without cause at most once in 24 months, and no less than in 96."""
    rate, error = quiet_alarms(small_pack, 500)
    assert rate <= 1.0 / QUIET_MONTHS + 2.0 * error
    assert rate >= 0.25 / QUIET_MONTHS
