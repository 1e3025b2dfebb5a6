"""Tests that what many ask at once is done in one go, each with its own answer."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from tubside.errors import FactError, StoreError
from tubside.service.advising_later import AdvisingLater
from tubside.service.gathering import Gathering


def squared(numbers: Sequence[int]) -> list[int]:
    """The answers, unless a number is below nought."""
    if min(numbers) < 0:
        msg = "a number below nought"
        raise FactError(msg)
    return [number * number for number in numbers]


class Slow:
    """Work whose first go waits until it is let on; it keeps how many came to each go."""

    def __init__(self, work: Callable[[Sequence[int]], list[int]] = squared) -> None:
        self.work = work
        self.on = Event()
        self.goes: list[int] = []

    def __call__(self, numbers: Sequence[int]) -> list[int]:
        """Work on what one go is given."""
        self.goes.append(len(numbers))
        assert self.on.wait(10.0)
        return self.work(numbers)


def asked(slow: Slow, numbers: Sequence[int], most: int) -> list[int | Exception]:
    """What each of many threads gets, the first one alone at work before the others come."""
    gathering = Gathering(slow, lambda _: 1, most)

    def one(number: int) -> int | Exception:
        try:
            return gathering(number)
        except (FactError, StoreError) as wrong:
            return wrong

    with ThreadPoolExecutor(len(numbers)) as threads:
        first = threads.submit(one, numbers[0])
        while not slow.goes:
            time.sleep(0.001)
        others = [threads.submit(one, number) for number in numbers[1:]]
        while len(gathering._waiting) < len(others):  # else the test would guess
            time.sleep(0.001)
        assert gathering.anybody()
        slow.on.set()
        found = [waiting.result(10.0) for waiting in (first, *others)]
    assert not gathering.anybody()
    return found


def test_who_waits_goes_together() -> None:
    """Tests that all who came meanwhile are served in as few goes as may be, rightly."""
    slow = Slow()
    assert asked(slow, range(12), most=8) == [number**2 for number in range(12)]
    assert slow.goes == [1, 8, 3]


def test_one_that_is_wrong_spoils_nobody_else() -> None:
    """Tests that the others get their answers, and that one is told what is wrong."""
    slow = Slow()
    found = asked(slow, [1, 2, -3, 4], most=8)
    assert [one for one in found if isinstance(one, int)] == [1, 4, 16]
    assert isinstance(found[2], FactError)


def test_a_store_that_is_away_is_told_to_all_at_once() -> None:
    """Tests that nobody waits for the store once more."""

    def away(numbers: Sequence[int]) -> list[int]:
        raise StoreError(str(len(numbers)))

    slow = Slow(away)
    found = asked(slow, [1, 2, 3], most=8)
    assert [str(one) for one in found] == ["1", "2", "2"]
    assert slow.goes == [1, 2]


def test_heavy_ones_go_alone() -> None:
    """Tests that one heavier than all that goes together is served all the same."""
    gathering = Gathering(squared, lambda number: number, 10)
    assert [gathering(number) for number in (3, 100)] == [9, 10_000]


def test_advice_waits_for_those_who_wait() -> None:
    """Tests that each job is advised on once, and not while somebody is served."""
    advised: list[str] = []
    looks = iter([True, True, False])

    def busy() -> bool:
        return next(looks, False)

    def advise(job: str) -> None:
        advised.append(job)
        assert next(looks, None) is None
        if job == "wrong":
            raise FactError(job)

    later = AdvisingLater(advise, busy)
    later(["one", "wrong", "one", "two"])
    assert advised == ["one", "wrong", "two"]
    later(["one"])
    assert advised[3:] == ["one"]


@pytest.mark.parametrize("wrong", [ValueError, KeyError])
def test_a_mishap_in_advice_is_not_the_end_of_it(wrong: type[Exception]) -> None:
    """Tests that jobs told of later are advised on after an error that nobody foresaw."""
    advised: list[str] = []

    def advise(job: str) -> None:
        if job == "bad":
            raise wrong
        advised.append(job)

    later = AdvisingLater(advise, lambda: False)
    with pytest.raises(wrong):
        later(["bad"])
    later(["good"])
    assert advised == ["good"]
