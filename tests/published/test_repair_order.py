"""Published examples of the order of repair and of looking."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import pytest

import printed
from tubside.diagnosis.looking import (
    Search,
    after_looks,
    observe_and_repair,
    series_cost,
    series_order,
)
from tubside.diagnosis.order import (
    SingleFault,
    best_sequence,
    efficiency,
    expected_cost,
    pc_order,
    perfect,
    updating_order,
    wrong_pair,
)
from tubside.diagnosis.shared_costs import best_blocks, blocks_cost

MOST, VIRUS = Fraction(99, 100), Fraction(95, 100)
COMPUTER = SingleFault(
    [Fraction(80, 100), Fraction(15, 100), Fraction(5, 100)],
    [1, 2, 25, 500],
    [[1, 0, 0], [0, VIRUS, 0], [MOST, MOST, 0], [1, 1, 1]],
)
P = [Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)]
THREE = perfect(P, [6, 3, 4])
BOARD_COSTS, BOARD_FAILING = [51.75, 2.00, 52.40], [0.125, 0.075, 0.140]
THIRD = Fraction(1, 3)
PLANE = Search([THIRD, THIRD, THIRD], [Fraction(4, 10), 0, 0], [1, 1, 1])
CRASH = Search([0.4, 0.1, 0.2, 0.3], [0.5, 0.5, 0.5, 0.1], [1, 1, 1, 1])
WARS = SingleFault([0.9, 0.1], [1, 1], [[1, 0], [0.8, 0.8]])


def computer() -> dict[str, float]:
    """Return costs of the computer exercise: reboot, virus tool, reformat, new."""
    cost = {
        "ECR reboot, virus tool, reformat, new": (0, 1, 2, 3),
        "ECR virus tool, reboot, reformat, new": (1, 0, 2, 3),
        "ECR reboot, virus tool, new": (0, 1, 3),
        "ECR reboot, reformat, virus tool, new": (0, 2, 1, 3),
    }
    names = ("reboot", "virus tool", "reformat", "new")
    at_first = {f"first p/c {name}": efficiency(COMPUTER, [], a) for a, name in enumerate(names)}
    ecr = {item: expected_cost(COMPUTER, sequence) for item, sequence in cost.items()}
    return {item: float(value) for item, value in (ecr | at_first).items()}


def each_order() -> dict[str, float]:
    """Return ECR of the six orders of three perfect remedies, numbered from 1."""
    return {
        "ECR " + "".join(str(a + 1) for a in p): float(expected_cost(THREE, p))
        for p in permutations(range(3))
    }


def board() -> dict[str, float]:
    """Return the cost of testing the board in each of six orders."""
    return {
        "cost " + "".join("XYZ"[i] for i in p): float(series_cost(BOARD_COSTS, BOARD_FAILING, p))
        for p in permutations(range(3))
    }


def two_causes(chance: Fraction, first: int, second: int) -> float:
    """Return how much dearer it is to look at cause 1 first, mending costing 70 and 90."""
    one = observe_and_repair([chance, 1 - chance], [first, second], [70, 90])
    two = observe_and_repair([1 - chance, chance], [second, first], [90, 70])
    return float(one.cost - two.cost)


def crash() -> dict[str, float]:
    """Return the chance of each grid square after one search of the fourth in vain."""
    after = after_looks(CRASH, [0, 0, 0, 1])
    return {f"p of grid {i + 1} after grid 4": float(chance) for i, chance in enumerate(after)}


OURS: dict[str, dict[str, float]] = {
    "jensen_nielsen_2007_computer": computer(),
    "kadane_simon_1977": each_order(),
    "ottosen_jensen_2010": {
        "ECR blocks 12, 3": float(blocks_cost(P, [4, 1, 2], 2, [[0, 1], [2]])),
        "ECR re-run after each": float(best_sequence(perfect(P, [6, 3, 4]))[1]),
    },
    "ottosen_jensen_2008": {
        "first action of efficiency .9": float(efficiency(WARS, [], 0)),
        "second action of efficiency .8": float(efficiency(WARS, [0], 1)),
        "ECR of both": float(expected_cost(WARS, (0, 1))),
    },
    "ross_first_course": {
        "difference at C1/p = C2/(1-p)": two_causes(Fraction(1, 4), 10, 30),
        "difference at p = 1/2": two_causes(Fraction(1, 2), 10, 30),
    },
    "board_exercise": board(),
    "ross_2004": {"P(region 1 | searched in vain)": float(after_looks(PLANE, [1, 0, 0])[0])},
    "mccaffrey_2017": crash(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("table", OURS)
def test_every_value_is_listed(table: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(table)} == set(OURS[table])


def test_computer_exercise_order() -> None:
    """Tests that the search and the updated p/c rule both find the best order."""
    assert best_sequence(COMPUTER) == ((0, 1, 2, 3), Fraction(27875, 1000))
    assert updating_order(COMPUTER) == (0, 1, 2, 3)
    assert wrong_pair(COMPUTER, (0, 1, 2, 3)) is None


def test_pc_rule_order() -> None:
    """Tests that the order is 2, 1, 3 and its cost exactly 8."""
    assert pc_order(P, [6, 3, 4]) == (1, 0, 2)
    assert best_sequence(THREE) == ((1, 0, 2), 8)


def test_postponed_rerun_blocks() -> None:
    """Tests that the best blocks are {1, 2} and {3}, at exactly 39/5."""
    assert best_blocks(P, [4, 1, 2], 2) == (((0, 1), (2,)), Fraction(39, 5))


def test_board_order() -> None:
    """Tests that Y, Z, X is the cheapest order."""
    assert series_order(BOARD_COSTS, BOARD_FAILING) == (1, 2, 0)
