"""What every washer repairer knows, held against the top-load pack's numbers.

Common practice, no source: each fact is stated here as a relation between numbers,
first of the pack as read, then of the belief computed from it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tubside.diagnosis.belief import believe
from tubside.diagnosis.facts import evidence_of
from tubside.pack.reading import read_pack
from tubside.pack.schema import Pack
from tubside.service.coding import coded_facts
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of

PACKS = Path(__file__).parents[2] / "packs"
FILL = ("no_water", "fills_slowly")
LOAD = ("load-bunched", "sparse-load", "bulky-item")
SUSPENSION = ("suspension-worn", "damper-pads-worn")

Believe = Callable[..., dict[str, float]]


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The top-load pack as shipped."""
    return read_pack(PACKS / "top_load").pack


@pytest.fixture(scope="module")
def belief() -> Believe:
    """(complaint, {check: outcome}, {variant: value}) -> probability of each cause."""

    def believed(
        complaint: str, told: dict[str, str] | None = None, built: dict[str, str] | None = None
    ) -> dict[str, float]:
        facts = [
            f'{{check: {check}, outcome: "{outcome}", by: customer}}'
            for check, outcome in (told or {}).items()
        ]
        variants = ", ".join(f"{axis}: {value}" for axis, value in (built or {}).items())
        source = parse_job(
            f"family: top_load\nreported: [{complaint}]\n"
            f"variants: {{{variants}}}\nfacts: [{', '.join(facts)}]\n"
        )
        known = knowledge_of(source.job, PACKS)
        evidence = evidence_of(known.model, coded_facts(source, known))
        chances = believe(known.model, evidence).at_call()
        return dict(zip(known.model.names.causes, map(float, chances), strict=True))

    return believed


def reported(pack: Pack, cause: str, *conditions: str) -> float:
    """Calls per 1000 that this cause brings in with these complaints."""
    row = pack.causes[cause].reported_as
    return pack.causes[cause].weight * sum(row.get(condition, 0.0) for condition in conditions)


def chance(pack: Pack, finding: str, outcome: str, cause: str) -> float:
    """P(outcome | cause), the healthy machine's where the cause does not alter it."""
    record = pack.findings[finding]
    row = record.causes.get(cause, record.healthy)
    return row[list(record.outcomes).index(outcome)]


def first(chances: dict[str, float]) -> str:
    """Likeliest cause."""
    return max(chances, key=chances.__getitem__)


def test_cold_screens_block_more_often_than_hot_ones(pack: Pack, belief: Believe) -> None:
    """Tests that the cold screen outweighs the hot one, in weight and in belief."""
    assert pack.causes["cold-screen-blocked"].weight >= 2 * pack.causes["hot-screen-blocked"].weight
    told = belief("fills_slowly")
    assert told["cold-screen-blocked"] > 1.5 * told["hot-screen-blocked"]


def test_dirty_hose_screen_tells_of_the_valve_screen(pack: Pack) -> None:
    """Tests that P(valve screen dirty | hose screen dirty, fill trouble) is high."""
    calls = {c: reported(pack, c, *FILL) for c in pack.causes}
    hose = {c: w * chance(pack, "hose-screens", "dirty", c) for c, w in calls.items()}
    both = 0.0
    valve = 0.0
    for cause, weight in calls.items():
        clean = 1.0
        for side in ("cold-valve-screen", "hot-valve-screen"):
            clean *= 1.0 - chance(pack, side, "dirty", cause)
        both += hose[cause] * (1.0 - clean)
        valve += weight * (1.0 - clean)
    given_dirty_hose = both / sum(hose.values())
    assert given_dirty_hose > 0.8
    assert given_dirty_hose > 2.5 * valve / sum(calls.values())


def test_missing_screen_leads_to_a_passing_valve(pack: Pack, belief: Believe) -> None:
    """Tests that a missing screen raises the passing valve, and creeping water both."""
    assert pack.causes["screen-missing"].leads_to["inlet-valve-passing"] >= 10.0
    assert chance(pack, "creeps-in", "yes", "screen-missing") > 0.5
    before, after = belief("leak"), belief("leak", {"water-hours-later": "yes"})
    for cause in ("screen-missing", "inlet-valve-passing"):
        assert after[cause] > 5 * before[cause]


def test_cold_trouble_may_be_crossed_hoses(belief: Believe) -> None:
    """Tests that the wrong temperature on cold washes points to crossed hoses first."""
    assert first(belief("wrong_temperature", {"hot-or-cold": "cold"})) == "hoses-swapped"


@pytest.mark.parametrize(("seen", "cause"), [("late", "hot-late"), ("never", "hot-supply")])
def test_hot_trouble_is_late_or_absent_hot_water(belief: Believe, seen: str, cause: str) -> None:
    """Tests that trouble on hot washes goes to the supply, and the tap tells which."""
    hot = belief("wrong_temperature", {"hot-or-cold": "hot"})
    assert hot["hot-supply"] + hot["hot-late"] > 0.4
    told = belief("wrong_temperature", {"hot-or-cold": "hot", "hot-tap": seen})
    assert first(told) == cause


def test_true_overload_is_rare(pack: Pack, belief: Believe) -> None:
    """Tests that level and large pieces outweigh a true overload, in calls and in belief."""
    calls = {c: reported(pack, c, "overload") for c in pack.causes}
    assert calls["overloaded"] < 0.2 * sum(calls.values())
    told = belief("overload")
    assert told["level-set-low"] > 2 * told["overloaded"]
    assert told["level-set-low"] + told["bulky-item"] > 4 * told["overloaded"]


def test_overload_with_a_small_load_points_to_the_basket(pack: Pack, belief: Believe) -> None:
    """Tests that a repeat with a small load brings the basket first, where it floats."""
    assert pack.causes["basket-not-floating"].variants == {"drive": ["floating-basket"]}
    floating = {"drive": "floating-basket"}
    told = belief("overload", {"small-load": "yes"}, floating)
    assert first(told) == "basket-not-floating"
    belt = belief("overload", {"small-load": "yes"}, {"drive": "belt"})
    assert belt["basket-not-floating"] < 0.02  # no more than that the drive was told wrong


def test_suds_come_from_the_dose(pack: Pack, belief: Believe) -> None:
    """Tests that the dose outweighs a slow drain at least ten times, yet not for ever."""
    dose, slow = (reported(pack, c, "suds") for c in ("too-much-suds", "slow-drain"))
    assert slow > 0
    assert dose > 10 * slow
    told = belief("suds", {"dose": "label", "watch-pump-out": "trickle"})
    assert told["slow-drain"] > 10 * belief("suds")["slow-drain"]


def test_out_of_balance_is_among_the_commonest(pack: Pack) -> None:
    """Tests that it is one of the three commonest complaints."""
    calls = {k: sum(reported(pack, c, k) for c in pack.causes) for k in pack.conditions}
    assert sorted(calls, key=calls.__getitem__).index("out_of_balance") >= len(calls) - 3


def test_the_load_comes_before_the_suspension(belief: Believe) -> None:
    """Tests that suspension overtakes the load only when an even load shakes as well."""
    before = belief("out_of_balance")
    assert sum(before[c] for c in LOAD) > sum(before[c] for c in SUSPENSION)
    even = belief("out_of_balance", {"half-load-spin": "same"})
    assert first(even) == "suspension-worn"
    assert sum(even[c] for c in LOAD) < 0.25 * sum(even[c] for c in SUSPENSION)
    assert first(belief("out_of_balance", {"half-load-spin": "spins"})) == "load-bunched"


def test_reported_lid_is_an_open_lid_where_the_machine_reports_it(belief: Believe) -> None:
    """Tests that on a floating basket the open lid outweighs the failed lock ten times."""
    told = belief("lid_not_locked", built={"drive": "floating-basket"})
    assert first(told) == "lid-not-shut"
    failed = sum(told[c] for c in ("lid-switch", "lid-lock", "lid-switch-reporting"))
    assert told["lid-not-shut"] > 10 * failed


def test_older_lid_switches_fail_and_are_told_as_no_spin(pack: Pack, belief: Believe) -> None:
    """Tests that an older machine's lid switch is common and seldom told as a lid."""
    row = pack.causes["lid-switch"].reported_as
    assert row["wont_spin"] + row["wont_drain"] > 4 * row["lid_not_locked"]
    for drive in pack.causes["lid-switch"].variants["drive"]:
        told = belief("wont_spin", built={"drive": drive})
        assert told["lid-switch"] > 5 * told["lid-not-shut"]


def test_a_tap_may_look_open_and_be_shut(pack: Pack, belief: Believe) -> None:
    """Tests that a broken tap looks open, and that the bucket tells."""
    assert "tap-broken-inside" not in pack.findings["tap-position"].causes
    assert chance(pack, "tap-flow", "poor", "tap-broken-inside") > 0.9
    look = {"taps-open": "open", "other-taps": "strong"}
    before = belief("no_water", look)
    after = belief("no_water", {**look, "bucket-tap": "poor"})
    assert after["tap-broken-inside"] > 5 * before["tap-broken-inside"]
    assert first(after) == "tap-broken-inside"
