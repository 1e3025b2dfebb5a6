"""Which reports show one indication, against every parting of a few reports."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from random import Random

import pytest

from tubside.panel.lights import FLASHING, OFF, SOUNDS, STEADY, Light, blinks
from tubside.panel.misreading import RATES, sayable
from tubside.panel.quick_sketch import Look
from tubside.panel.same_look import Group, chance_told, clear_members, grouped, weight

CUSTOMER = RATES["customer"]


def partings(items: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to part some numbers into groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for parts in partings(rest):
        yield [[first], *parts]
        for n in range(len(parts)):
            yield [*parts[:n], [first, *parts[n]], *parts[n + 1 :]]


def best(reports: Sequence[Look]) -> float:
    """The largest weight of any parting, each group with the look that suits it best."""
    return max(
        sum(
            max(weight([Group(tuple(part), reports[n])], reports, CUSTOMER) for n in part)
            for part in parts
        )
        for parts in partings(range(len(reports)))
    )


def test_a_row_sums_to_one() -> None:
    """Tests that, but for the wholly misread panel, all that can be told has the chance one."""
    lights = sayable(counts=True)
    true = Look((blinks(3), OFF), "pulses")
    whole = sum(
        chance_told(Look((a, b), sound), true) for a, b, sound in product(lights, lights, SOUNDS)
    )
    others = sum(
        chance_told(look, look)
        for a, b, sound in product(lights, lights, SOUNDS)
        for look in (Look((a, b), sound),)
    )
    am = CUSTOMER.another_message
    assert whole == pytest.approx((1 - am) + am / 12 * (others / ((1 - am) + am / 12)), rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_joining_two_at_a_time_against_every_parting(seed: int) -> None:
    """Tests that no parting of six misread reports of two indications weighs more."""
    chosen = Random(seed)  # noqa: S311  # reports made up
    truths = [Look((blinks(2), OFF)), Look((OFF, STEADY))]
    said: list[Light] = [OFF, STEADY, FLASHING, blinks(2), blinks(3)]
    reports = []
    for _ in range(6):
        lights = list(chosen.choice(truths).lights)
        if chosen.random() < 0.4:
            lights[chosen.randrange(2)] = chosen.choice(said)
        reports.append(Look(tuple(lights)))
    found = weight(grouped(reports), reports, CUSTOMER)
    assert found == pytest.approx(best(reports), abs=1e-9)


def test_equal_reports_and_a_slip_are_one() -> None:
    """Tests that a lone "flashing" goes to the three blinks, and two blinks stay apart."""
    three, uncounted, two = Look((blinks(3),)), Look((FLASHING,)), Look((blinks(2),))
    groups = grouped([three, three, uncounted, two, three, two])
    assert [group.members for group in groups] == [(0, 1, 2, 4), (3, 5)]
    assert groups[0].look == three


def test_steady_and_flashing_of_one_lamp_are_two() -> None:
    """Tests that on a panel of many dark lamps the one that differs is what counts."""
    steady, flashing = Look((STEADY, *[OFF] * 5)), Look((FLASHING, *[OFF] * 5))
    assert len(grouped([steady, flashing])) == 2


def test_known_indications_are_never_joined() -> None:
    """Tests that two known ones stay two, however alike, and reports go to the nearer."""
    known = [Look((blinks(8),)), Look((blinks(9),))]
    reports = [*known, *[Look((blinks(9),))] * 4, Look((blinks(8),))]
    groups = grouped(reports, apart=2)
    assert [group.members for group in groups] == [(1, 2, 3, 4, 5), (0, 6)]


def test_a_report_in_doubt_counts_for_neither() -> None:
    """Tests that a person who is not sure of the lamp that differs is not counted."""
    one, other = Look((STEADY, OFF)), Look((OFF, STEADY))
    unsure = Look((None, None), "pulses")
    reports = [one, one, other, other, unsure]
    groups = clear_members(grouped(reports), reports)
    assert sorted(group.members for group in groups) == [(0, 1), (2, 3)]
