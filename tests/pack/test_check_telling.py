"""How far apart causes are, and when it does not matter."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tubside.pack.check import check_pack
from tubside.pack.check_telling import distances
from tubside.pack.reading import PackSource

EditPack = Callable[..., PackSource]

SAME_NOISE = (*("drain", "pump-object: [.1, .5, .3, .1]", "pump-object: [.08, .3, .07, .55]"),)


def between(source: PackSource, one: str, two: str) -> float:
    """Return the distance between two causes."""
    names = list(source.pack.causes)
    return float(distances(source.pack)[names.index(one), names.index(two)])


def test_distance_is_the_largest_total_variation(small_pack: PackSource) -> None:
    """Tests the distance of two pairs against sums by hand."""
    noise = (abs(0.1 - 0.08) + abs(0.5 - 0.3) + abs(0.3 - 0.07) + abs(0.1 - 0.55)) / 2
    assert between(small_pack, "pump-object", "pump-failed") == pytest.approx(noise)
    assert between(small_pack, "tap-closed", "inlet-screens-blocked") == pytest.approx(0.94)
    table = distances(small_pack.pack)
    assert table == pytest.approx(table.T)
    assert table.diagonal() == pytest.approx(0.0)


def test_a_pair_that_nothing_tells_apart_is_named(edit_pack: EditPack) -> None:
    """Tests that two causes with the same rows and different remedies are an error."""
    source = edit_pack(*SAME_NOISE)
    (problem,) = check_pack(source).errors
    assert problem.what.startswith("nothing tells 'pump-failed' from 'pump-object'")
    assert between(source, "pump-object", "pump-failed") == pytest.approx(0.02)


def test_a_pair_that_is_cleared_alike_is_harmless(edit_pack: EditPack) -> None:
    """Tests that a pair which the same remedies clear as well needs no telling apart."""
    both = "{technician: .92, customer: .6}"
    source = edit_pack(
        *SAME_NOISE,
        *("drain", f"pump-object: {both}", f"pump-object: {both}\n      pump-failed: {both}"),
        *("drain", "pump-object: {technician: .9}", "pump-object: {technician: .97}"),
        *("drain", "cleared_by: [technician]", "cleared_by: [customer, technician]"),
    )
    assert check_pack(source).errors == ()


def test_a_finding_that_nobody_looks_at_tells_nothing_apart(edit_pack: EditPack) -> None:
    """Tests that rows of a finding without a check do not count."""
    source = edit_pack("drain", "finding: drain-noise", "finding: water-standing")
    assert between(source, "pump-object", "pump-failed") == pytest.approx(0.02)


def test_variants_tell_apart_when_a_check_settles_them(edit_pack: EditPack) -> None:
    """Tests that causes of different constructions are apart, given a check of the variant."""
    first = (
        "drain",
        "kind: user\n    weight: 180",
        "kind: user\n    variants: {drive: [belt]}\n    weight: 180",
    )
    second = ("drain", "kind: component", "variants: {drive: [direct]}\n    kind: component")
    source = edit_pack(*SAME_NOISE, *first, *second)
    assert between(source, "pump-object", "pump-failed") == 1.0


def test_a_lead_across_variants_is_an_error(edit_pack: EditPack) -> None:
    """Tests that a cause may not lead to one that depends on another variant."""
    source = edit_pack(
        *(
            "pack",
            "variants:\n",
            (
                "variants:\n  trap: {title: t, question: q, source: cp, "
                "values: {user: {title: u, share: .5}, none: {title: n, share: .5}}}\n"
            ),
        ),
        *("drain", "kind: component", "variants: {trap: [user]}\n    kind: component"),
        *(
            "drive",
            "shows: .7",
            "shows: .7\n    variants: {drive: [belt]}\n    leads_to: {pump-failed: 4}",
        ),
    )
    what = "'load-bunched' leads to 'pump-failed', which depends on another variant"
    assert [problem.what for problem in check_pack(source).errors] == [what]
