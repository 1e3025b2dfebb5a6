"""Tests of compiling a pack into arrays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest

from tubside.pack.compiling import Solved, compile_pack, names_of, said_matrix
from tubside.pack.fault_model import CUSTOMER, TECHNICIAN, FaultModel
from tubside.pack.loading import LoadedPack
from tubside.pack.reading import PackSource


def arrays(value: object, place: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every leaf of nested dataclasses and tuples with its place."""
    if is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from arrays(getattr(value, field.name), f"{place}.{field.name}")
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            yield from arrays(item, f"{place}[{number}]")
    else:
        yield place, value


def test_kept_solution_gives_the_same_model(small_pack: PackSource) -> None:
    """Tests that compiling with what was solved before gives the same arrays, all of them."""
    whole = compile_pack(small_pack.pack, "small")
    solved = Solved(whole.prior.odds, whole.complaint.q)
    quick = compile_pack(small_pack.pack, "small", solved)
    pairs = list(zip(arrays(whole), arrays(quick), strict=True))
    assert len(pairs) > 300
    for (place, one), (_, other) in pairs:
        plain = one is None or isinstance(one, str | dict)
        same = one == other if plain else np.array_equal(one, other, equal_nan=True)
        assert same, place


def test_conditions_stand_in_the_order_in_which_they_show(small_pack: PackSource) -> None:
    """Tests that conditions are sorted by main stage, then by rank."""
    names = names_of(small_pack.pack)
    assert names.conditions == (
        "no_power",
        "tripping",
        "no_water",
        "wont_drain",
        "out_of_balance",
        "wont_spin",
    )
    model = compile_pack(small_pack.pack, "small")
    assert [names.stages[s] for s in model.complaint.stage] == [
        "power",
        "power",
        "fill",
        "drain",
        "spin",
        "spin",
    ]
    assert model.complaint.stopping.tolist() == [True] * 5 + [False]


def test_words_have_their_confusions_and_a_floor(small_pack: PackSource) -> None:
    """Tests P(said | first condition): stated confusions, the floor, the rest on itself."""
    names = names_of(small_pack.pack)
    said = said_matrix(small_pack.pack, names.conditions)
    drain, spin = names.conditions.index("wont_drain"), names.conditions.index("wont_spin")
    assert said[drain, spin] == pytest.approx(0.052)
    assert said[spin, drain] == pytest.approx(0.102)
    assert said[drain, 0] == pytest.approx(0.002)
    assert said[drain, drain] == pytest.approx(1.0 - 0.052 - 4 * 0.002)


def test_stage_named_is_shared_among_a_conditions_stages(small_model: FaultModel) -> None:
    """Tests that a condition of two stages is named at either of them."""
    names = small_model.names
    row = small_model.complaint.at_stage[names.conditions.index("wont_spin")]
    assert row[names.stages.index("spin")] == pytest.approx(0.4 + 0.04)
    assert row[names.stages.index("wash")] == pytest.approx(0.4 + 0.04)
    assert row[names.stages.index("power")] == pytest.approx(0.04)


def test_kinds_stand_in_order_of_dominance(small_model: FaultModel) -> None:
    """Tests that the cause which decides comes first, whatever order the rows have."""
    names = small_model.names
    finding = small_model.findings[names.findings.index("drain-noise")]
    assert [names.causes[i] for i in finding.touched] == ["pump-failed", "pump-object"]
    assert finding.rows[0] == pytest.approx([0.08, 0.3, 0.07, 0.55])
    assert not finding.graded
    assert finding.needs_fault


def test_variants_become_axes(small_model: FaultModel) -> None:
    """Tests shares, members and where they apply."""
    axis = small_model.prior.axes[0]
    assert axis.shares == pytest.approx([0.7, 0.3])
    assert [small_model.names.causes[i] for i in axis.members] == ["belt-worn"]
    assert axis.applies.tolist() == [[True, False]]
    assert axis.member_share == pytest.approx([0.7])


def test_checks_and_remedies_know_who_may_do_them(small_model: FaultModel) -> None:
    """Tests observers, places, errors, covers, parts and needs of steps."""
    names = small_model.names
    sound = small_model.checks[names.checks.index("drain-sound")]
    assert sound.by == (CUSTOMER, TECHNICIAN)
    assert sound.error == (0.15, 0.02)
    assert (sound.phone, sound.site, sound.cover) == (True, True, -1)
    belt = small_model.remedies[names.remedies.index("replace-belt")]
    assert (belt.by, belt.phone, belt.cover) == ((TECHNICIAN,), False, 0)
    assert [names.parts[p] for p in belt.parts] == ["belt"]
    assert belt.needs[0][1].tolist() == [True, False]
    clears = belt.clears[:, names.causes.index("belt-worn")]
    assert clears.tolist() == [0.0, 0.97]


def test_referral_clears_what_its_trade_clears(small_model: FaultModel) -> None:
    """Tests that a stop by trade covers the causes that trade may clear, and costs as stated."""
    names = small_model.names
    refer = small_model.stops[names.stops.index("refer-electrician")]
    assert [names.causes[i] for i in np.flatnonzero(refer.clears)] == ["socket-worn"]
    assert refer.cost == 180.0
    assert not small_model.stops[names.stops.index("not-worth-repairing")].clears.any()


def test_parts_and_covers_have_their_costs(small_model: FaultModel) -> None:
    """Tests mean part prices, what is carried, and minutes to open and close."""
    assert small_model.part_price == pytest.approx([30.0, 40.0, 14.0, 135.0])
    assert small_model.part_carried.tolist() == [True, True, True, False]
    assert small_model.cover_minutes == pytest.approx([6.0])


def test_every_row_is_a_distribution(any_pack: LoadedPack) -> None:
    """Tests findings, healthy rows, variants and chances of each pack as compiled."""
    model = any_pack.model
    for finding in model.findings:
        assert finding.rows.sum(axis=1) == pytest.approx(np.ones(len(finding.rows)), abs=1e-12)
        assert finding.healthy.sum() == pytest.approx(1.0, abs=1e-12)
        assert len(set(finding.touched.tolist())) == len(finding.touched)
    for axis in model.prior.axes:
        assert axis.shares.sum() == pytest.approx(1.0, abs=1e-6)
        assert axis.applies.any(axis=1).all()
    assert model.healthy_how_often.sum(axis=1) == pytest.approx([1.0, 1.0], abs=1e-6)
    assert (model.shows > 0.0).all()
    assert all((r.clears >= 0.0).all() and (r.clears <= 1.0).all() for r in model.remedies)
