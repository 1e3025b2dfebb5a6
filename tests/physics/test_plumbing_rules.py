"""Tests of the rules of plumbing."""

from __future__ import annotations

import pytest

from tubside.physics import plumbing_rules
from tubside.physics.plumbing_rules import AIR_GAPS, RULES, STANDPIPE, STATIC


def test_every_rule_is_a_band_with_a_source() -> None:
    """Tests that every rule sets an end, in order, and says where it comes from."""
    for rule in RULES:
        ends = [end for end in (rule.low, rule.high) if end is not None]
        assert ends
        assert ends == sorted(ends)
        assert rule.source
        assert rule.clause or rule.mark == "common practice, no source"


def test_what_was_not_found_is_empty() -> None:
    """Tests that no standpipe rule is made up for New Zealand, nor a gap for anywhere else."""
    assert plumbing_rules.rules_for("NZ", STANDPIPE) == ()
    assert plumbing_rules.air_gap_for("FR") is None


def test_two_codes_are_both_told() -> None:
    """Tests that a country with two codes gets both, which differ above 762 mm."""
    codes = plumbing_rules.rules_for("US", STANDPIPE)
    assert [bool(plumbing_rules.keeps(rule, 0.9)) for rule in codes] == [False, True]


@pytest.mark.parametrize(("kilopascal", "kept"), [(0, True), (500, True), (501, False)])
def test_ends_belong_to_the_band(kilopascal: int, kept: bool) -> None:
    """Tests that a limit itself is allowed, and that an open end is open."""
    (rule,) = plumbing_rules.rules_for("NZ", STATIC)
    assert bool(plumbing_rules.keeps(rule, kilopascal * 1e3)) is kept


def test_gap_is_the_larger_of_both() -> None:
    """Tests that a thin outlet needs the fixed height and a wide one two bores."""
    for rule in AIR_GAPS:
        assert float(plumbing_rules.least_gap(rule, 0.005)) == rule.least
        assert float(plumbing_rules.least_gap(rule, 0.050)) == pytest.approx(0.1)
