"""Which check decided a cause, and that learning leaves it aside."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from tubside.learning.calls import told_chances
from tubside.learning.history import CheckTold
from tubside.learning.tables import Tables, tables_of
from tubside.pack.reading import PackSource
from tubside.service.learning.deciding import Deciding


@pytest.fixture
def tables(small_pack: PackSource) -> Tables:
    """The tables of the small pack."""
    return tables_of(small_pack.pack)


def every_telling(tables: Tables) -> list[CheckTold]:
    """Return every check with every outcome, told by a technician."""
    return [
        CheckTold(check, outcome, "technician")
        for check, (finding, _) in tables.said.items()
        for outcome in tables.findings[finding].outcomes
    ]


def by_hand(tables: Tables, told: CheckTold, cause: str) -> float:
    """Return ln P(told | cause) / P(told | another cause), a sum at a time."""
    chances = told_chances(tables)(told.check, told.outcome, told.by)
    assert chances is not None
    at = tables.origin(cause)
    others = [i for i in range(len(tables.origins)) if i != at]
    share = sum(tables.weights[i] for i in others)
    return log(chances[at] / (sum(tables.weights[i] * chances[i] for i in others) / share))


def test_weights_by_hand(tables: Tables) -> None:
    """Tests each telling's weight of evidence for a cause, without a complaint."""
    cause = tables.origins[-1]
    deciding = Deciding(tables)
    for told in every_telling(tables):
        assert deciding.weight(told, cause, "") == pytest.approx(by_hand(tables, told, cause))


def test_the_one_that_spoke_most(tables: Tables) -> None:
    """Tests that of all tellings the strongest decided, and one against the cause never does."""
    deciding, told = Deciding(tables), every_telling(tables)
    for cause in tables.origins[2:]:
        weights = [by_hand(tables, one, cause) for one in told]
        strongest = told[int(np.argmax(weights))]
        assert deciding.decided(told, [cause], "") == {strongest.check}
        against = [one for one, weight in zip(told, weights, strict=True) if weight < 0.0]
        assert deciding.decided(against, [cause], "") == frozenset()


def test_each_of_two_causes_has_its_own(tables: Tables) -> None:
    """Tests that two causes are decided by what spoke most for each."""
    deciding, told = Deciding(tables), every_telling(tables)
    pair = tables.origins[2:4]
    alone = [deciding.decided(told, [cause], "") for cause in pair]
    assert deciding.decided(told, list(pair), "") == alone[0] | alone[1]


def test_the_complaint_counts(tables: Tables) -> None:
    """Tests that the others are those with the same complaint."""
    deciding, told = Deciding(tables), every_telling(tables)[0]
    cause = tables.origins[-1]
    weights = {deciding.weight(told, cause, name) for name in tables.conditions}
    assert len(weights) > 1


def test_what_the_pack_does_not_know_says_nothing(tables: Tables) -> None:
    """Tests that a check or a cause of another pack decides nothing."""
    strange = CheckTold("no-such-check", "yes", "technician")
    assert Deciding(tables).decided([strange], [tables.origins[-1]], "") == frozenset()
    assert Deciding(tables).decided(every_telling(tables), ["no-such-cause"], "") == frozenset()
