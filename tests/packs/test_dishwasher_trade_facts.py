"""What every dishwasher repairer knows, held against the dishwasher pack's numbers.

Common practice, no source: each fact is stated here as a relation, first of the pack
as read, then of the belief and the steps computed from it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tubside.pack.reading import read_pack
from tubside.pack.schema import Check, Pack, Remedy
from tubside.service.advise import advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.telling import as_data

PACKS = Path(__file__).parents[2] / "packs"
SETS = 300
MOST_STEPS = 14
SOUND = {
    "drain-sound": "runs-dry",
    "fitted-lately": '"no"',
    "sink-drain": "free",
    "sink-runs-back": '"no"',
    "drain-hose-look": "right",
    "drain-end": "sink-spigot",
    "filter": "clear",
    "glass-lately": '"no"',
    "watch-sink": "none",
    "which-dishes": "all",
    "flap-after": "open",
    "warm-after": "warm",
    "wash-sound": "swishes",
    "soap-used": "right",
    "load-look": "good",
    "arms": "free",
    "arms-moved": "moved",
    "salt-look": "full",
    "rinse-aid-look": "there",
    "vinegar-glass": "clear",
    "smell-asked": "none",
    "fat-look": "clean",
    "panel-look": "normal",
    "leak-where": "none",
    "foam-look": "none",
}
"""What a customer answers who sees nothing wrong."""
TIMES = {"drain-time": "over 5 min", "fill-time": "70 s"}

Told = dict[str, Any]
Tell = Callable[[str], Told]
Believe = Callable[..., dict[str, float]]


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The dishwasher pack as shipped."""
    return read_pack(PACKS / "dishwasher").pack


@pytest.fixture(scope="module")
def known() -> Knowledge:
    """The dishwasher pack compiled."""
    return knowledge_of(parse_job("family: dishwasher\n").job, PACKS)


@pytest.fixture(scope="module")
def tell(known: Knowledge) -> Tell:
    """Lines of a job file -> the advice as data."""
    return lambda lines: as_data(advise(parse_job(f"family: dishwasher\n{lines}"), known, SETS))


@pytest.fixture(scope="module")
def belief(tell: Tell) -> Believe:
    """(complaint, {check: outcome}, {variant: value}) -> probability of each cause."""

    def believed(
        complaint: str, told: dict[str, str] | None = None, built: dict[str, str] | None = None
    ) -> dict[str, float]:
        facts = [f"{{check: {c}, outcome: {o}, by: customer}}" for c, o in (told or {}).items()]
        variants = ", ".join(f"{axis}: {value}" for axis, value in (built or {}).items())
        lines = f"variants: {{{variants}}}\nfacts: [{', '.join(facts)}]\n"
        causes = tell(f"reported: [{complaint}]\n{lines}")["causes"]
        return {cause["id"]: cause["probability"] for cause in causes}

    return believed


def first(chances: dict[str, float]) -> str:
    """Likeliest cause."""
    return max(chances, key=chances.__getitem__)


def by_phone(
    tell: Tell, complaint: str, water: str, told: dict[str, str] | None = None
) -> list[str]:
    """Steps that are asked of a customer one after another before somebody goes."""
    answers = {**SOUND, "water-left": water, **(told or {})}
    facts: list[str] = []
    asked: list[str] = []
    for _ in range(MOST_STEPS):
        step = tell(f"reported: [{complaint}]\nfacts: [{', '.join(facts)}]\n")["steps"][0]
        if step["kind"] not in {"check", "remedy"} or step["where"] == "site":
            break
        name = step["id"]
        asked.append(name)
        if step["kind"] == "remedy":
            facts.append(f"{{remedy: {name}, outcome: still-fails, by: customer}}")
        elif name in TIMES:
            facts.append(f"{{check: {name}, value: {TIMES[name]}, by: customer}}")
        else:
            facts.append(f"{{check: {name}, outcome: {answers[name]}, by: customer}}")
    return asked


def test_wont_drain_asks_filter_and_sink_before_a_pump(tell: Tell) -> None:
    """Tests that filter and sink are settled by phone before anybody goes for a pump."""
    asked = by_phone(tell, "wont_drain", "stands")
    assert {"filter", "clean-filter"} & set(asked)
    assert {"sink-drain", "clear-drain"} & set(asked)
    assert "replace-drain-pump" not in asked


def test_a_new_sink_points_to_the_plug_left_in(belief: Believe) -> None:
    """Tests that a new disposer or trap brings what was never opened first."""
    told = belief("wont_drain", {"fitted-lately": '"yes"'})
    assert first(told) == "knockout-left-in"
    pipe = belief("wont_drain", {"fitted-lately": '"yes"'}, {"outlet": "standpipe"})
    assert pipe["knockout-left-in"] < 0.05  # no more than that the outlet was told wrong


def test_glass_lost_and_a_rattle_is_glass_in_the_pump(belief: Believe) -> None:
    """Tests that a rattle after a broken glass points to the wheel, not to a dead pump."""
    told = belief("wont_drain", {"drain-sound": "rattles", "glass-lately": '"yes"'})
    assert first(told) == "pump-object"
    assert told["pump-object"] > 5 * told["drain-pump-failed"]


def test_air_gap_and_high_loop_have_their_own_signs(belief: Believe) -> None:
    """Tests that a spitting cap and a sink that runs back name the house's side."""
    spits = belief("wont_drain", {"air-gap-look": '"yes"'}, {"outlet": "air-gap"})
    assert first(spits) == "air-gap-blocked"
    assert first(belief("smell", {"sink-runs-back": '"yes"'})) == "no-high-loop"


def test_water_in_the_base_asks_for_the_tap_first(tell: Tell, pack: Pack) -> None:
    """Tests that a flood stop shuts the tap first, and that its base is never a customer's."""
    step = tell("reported: [flood_stop]\n")["steps"][0]
    assert step["id"] == "pump-runs-on"
    fields = pack.checks["pump-runs-on"].customer_step
    assert fields is not None
    assert (fields.touches, fields.taps) == ("taps", "shut")
    told = tell("reported: [flood_stop]\nfacts: [{check: pump-runs-on, outcome: 'yes'}]\n")
    leak = {c["id"]: c["probability"] for c in told["causes"]}
    assert leak["internal-leak"] + leak["flood-float-stuck"] > 0.85
    for record in (pack.checks["base-look"], pack.remedies["dry-base-mend-leak"]):
        assert record.who == ["technician"]
        assert "base-live" in record.cautions


def test_a_cover_is_never_a_customers(pack: Pack) -> None:
    """Tests that no step behind a cover names the customer, and all of them are dead or warn."""
    steps: list[Check | Remedy] = [*pack.checks.values(), *pack.remedies.values()]
    covered = [step for step in steps if step.behind is not None]
    assert len(covered) > 30
    for step in covered:
        assert step.who == ["technician"], step.title
        live = step.power == "live"
        assert ({"live-work", "live-water"} if live else {"isolate"}) & set(step.cautions)


def test_hands_in_the_sump_are_warned_of_glass(pack: Pack) -> None:
    """Tests that whoever reaches under the filter has power off, cool water, and is warned."""
    for step in (pack.checks["filter"], pack.remedies["clean-filter"]):
        fields = step.customer_step
        assert fields is not None
        assert (fields.plug, fields.water) == ("out", "below-40")
        assert step.cautions[0] == "broken-glass"
        assert "scald" in step.cautions


def test_bad_washing_asks_arms_and_load_first(tell: Tell, belief: Believe, pack: Pack) -> None:
    """Tests that arms, load, filter, soap and salt outweigh every part and are asked by phone."""
    told = belief("washes_badly")
    cheap = ("spray-arms-blocked", "loading-wrong", "filter-blocked", "soap-or-programme")
    assert sum(told[c] for c in (*cheap, "salt-empty", "dispenser-catch")) > 0.5
    parts = [told[c] for c, cause in pack.causes.items() if cause.kind == "component"]
    assert max(parts) < min(told[c] for c in cheap)
    asked = set(by_phone(tell, "washes_badly", "little"))
    assert {"arms", "clean-arms"} & asked
    assert {"load-look", "load-right"} & asked


def test_water_left_sends_bad_washing_to_the_filter(belief: Believe) -> None:
    """Tests that dirty water over the filter makes the filter the first cause of bad washing."""
    assert first(belief("washes_badly", {"water-left": "stands"})) == "filter-blocked"


def test_chalk_is_salt_and_etching_is_the_setting(belief: Believe) -> None:
    """Tests that what clears in vinegar is missing salt, what stays is water made too soft."""
    chalk = belief("film", {"vinegar-glass": "chalk"})
    assert first(chalk) == "salt-empty"
    etched = belief("film", {"vinegar-glass": "etched"})
    assert first(etched) == "softener-set-wrong"
    assert etched["salt-empty"] < 0.5 * belief("film")["salt-empty"]
    without = belief("film", built={"softener": "none"})
    salt = ("salt-empty", "softener-set-wrong", "softener-fault")
    assert sum(without[c] for c in salt) < 0.05  # no more than that it was told wrong


def test_wet_dishes_are_rinse_aid_unless_they_are_cold(belief: Believe) -> None:
    """Tests that dishes that stay wet want rinse aid, and the heater when they come out cold."""
    assert first(belief("not_dry")) == "rinse-aid-empty"
    cold = belief("not_dry", {"rinse-aid-look": "there", "warm-after": "cold"})
    assert first(cold) == "heater-open"


def test_no_water_is_told_by_tap_and_guard(belief: Believe) -> None:
    """Tests that a shut tap and a shut guard answer before the valve is suspected."""
    assert first(belief("no_water", {"tap-open": "shut"})) == "tap-closed"
    assert first(belief("no_water", {"guard-look": "shut"})) == "leak-guard-shut"
    both = belief("no_water", {"tap-open": "open", "guard-look": "open", "other-taps": "strong"})
    assert first(both) == "inlet-valve-stuck"


def test_water_poured_in_splits_supply_from_the_rest(belief: Believe) -> None:
    """Tests that a programme that runs on poured water leaves the supply and its valve alone."""
    told = belief("no_water", {"pour-in": "runs"})
    supply = ("tap-closed", "leak-guard-shut", "inlet-hose-kinked", "inlet-screen-blocked")
    assert sum(told[c] for c in (*supply, "inlet-valve-stuck", "low-pressure", "frozen")) > 0.85


def test_tripping_in_the_heat_is_the_heater_and_no_retry(tell: Tell, belief: Believe) -> None:
    """Tests that it stops first, that nothing runs again, and that the heater leads."""
    told = tell("reported: [tripping]\n")
    assert told["danger"]
    for step in told["steps"]:
        if "customer" in step["who"] and step["where"] == "phone":
            assert step["kind"] != "remedy"
    heating = belief("tripping", {"when-trips": "heating"})
    assert first(heating) == "heater-earth"
    assert heating["heater-earth"] > 0.8


def test_burning_smells_are_told_apart(belief: Believe, pack: Pack) -> None:
    """Tests that molten plastic lies on the heater, and a wired-in machine may burn its splice."""
    plastic = belief("burning_smell", {"smell-asked": "plastic"}, {"supply": "plug"})
    assert first(plastic) == "item-on-heater"
    wired = belief("burning_smell", {"smell-asked": "electrical"}, {"supply": "hard-wired"})
    assert first(wired) == "supply-splice-burned"
    assert pack.causes["supply-splice-burned"].cleared_by == ["electrician"]


def test_foam_is_the_soap_and_a_left_tablet_is_the_flap(belief: Believe) -> None:
    """Tests that foam comes of the wrong soap, a left tablet of its flap or a dish before it."""
    assert belief("suds")["wrong-soap"] > 0.5
    assert first(belief("soap_left")) == "dispenser-catch"
    before = belief("soap_left")["loading-wrong"]
    assert belief("soap_left", {"load-look": "bad"})["loading-wrong"] > 2 * before


def test_a_door_that_drops_has_lost_its_spring(belief: Believe) -> None:
    """Tests that a dropping door is its spring, and a silent one its latch."""
    assert first(belief("door_not_shut", {"door-drop": "drops"})) == "hinge-spring"
    assert first(belief("wont_start", {"door-pressed": '"yes"'})) in {"door-latch", "door-not-shut"}
