"""The shipped panels: coded ways of speaking that can be told apart."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from tubside.pack.reading import read_pack
from tubside.panel.distance import confusions
from tubside.panel.lights import OFF
from tubside.panel.schema import Panel

PACKS = Path(__file__).parents[2] / "packs"
STOPPING = {
    "no_power",
    "wont_start",
    "no_water",
    "overflow",
    "overload",
    "motor_locked",
    "wont_drain",
    "suds",
    "out_of_balance",
    "tripping",
}
TELLING = {
    "drain",
    "pump",
    "water",
    "tap",
    "lid",
    "door",
    "motor",
    "balance",
    "suds",
    "heat",
    "spin",
}


def meant(panel: Panel) -> list[str]:
    """Return the conditions in the order in which the panel's indications mean them."""
    return [condition for shown in panel.indications.values() for condition in shown.conditions]


def test_each_stopping_condition_has_one_indication(tern: Panel, wren: Panel) -> None:
    """Tests that everything the controller stops for is shown, and shown once."""
    assert sorted(meant(tern)) == sorted(STOPPING | {"lid_not_locked"})
    assert sorted(meant(wren)) == sorted(STOPPING | {"door_not_locked", "wont_heat"})


@pytest.mark.parametrize("name", ["tern", "wren", "teal"])
def test_no_lamp_is_named_after_a_fault(name: str, request: pytest.FixtureRequest) -> None:
    """Tests that no lamp names a fault, and that every message makes the same sound."""
    panel: Panel = request.getfixturevalue(name)
    for lamp in panel.lamps.values():
        assert not set(lamp.label.casefold().split()) & TELLING
    sounds = {
        shown.sound
        for indication, shown in panel.indications.items()
        if any(light.changes for light in panel.lights(indication).values())
    }
    assert len(sounds) == 1


def test_tern_counts_each_from_two_to_nine(tern: Panel) -> None:
    """Tests that counts are 2 to 9, once each, and common troubles two apart."""
    counts = {
        shown.conditions[0]: tern.lights(name)["pause"].count
        for name, shown in tern.indications.items()
        if tern.lights(name)["pause"].count
    }
    assert sorted(counts.values()) == list(range(2, 10))
    common = [counts[c] for c in ("out_of_balance", "no_water", "wont_drain", "lid_not_locked")]
    assert min(abs(a - b) for a, b in combinations(common, 2)) == 2


def test_wren_messages_differ_on_three_dots(wren: Panel) -> None:
    """Tests that two messages differ on three dots at least, and are seldom mixed up."""
    messages = [name for name in wren.indications if name != "dark"]
    for one, other in combinations(messages, 2):
        here, there = wren.lights(one), wren.lights(other)
        assert sum(here[lamp] != there[lamp] for lamp in wren.lamps) >= 3
    lit = [sum(light != OFF for light in wren.lights(name).values()) for name in messages]
    assert set(lit) == {2, 3}
    assert confusions(wren, "customer")[0].chance < 0.02
    assert confusions(wren, "technician")[0].chance < 0.002


def test_lark_holds_one_bar_and_counts_another(lark: Panel) -> None:
    """Tests that a message is one bar held and one that counts, seldom mixed up."""
    messages = [name for name in lark.indications if name not in {"dark", "all-held"}]
    seen = set()
    for name in messages:
        lights = {lamp: light for lamp, light in lark.lights(name).items() if light != OFF}
        assert sorted(light.kind for light in lights.values()) == ["blinks", "steady"]
        seen.add(tuple(sorted((light.kind, lamp) for lamp, light in lights.items())))
    assert len(seen) == len(messages)  # no two differ by the count alone
    assert confusions(lark, "customer")[0].chance < 0.025
    assert confusions(lark, "technician")[0].chance < 0.003


def test_lark_calls_only_where_somebody_at_home_can_help(lark: Panel) -> None:
    """Tests that the long tone goes with door, tank and damp laundry, and not with repairs."""
    loud = {c for i in lark.indications.values() if i.sound != "none" for c in i.conditions}
    assert loud == {"door_not_shut", "tank_full", "takes_too_long"}
    assert {"no_tumble", "no_heat", "too_hot", "wont_start"} <= set(meant(lark)) - loud


def test_teal_keeps_one_light_dark_and_any_two_tell_the_rest(teal: Panel) -> None:
    """Tests that messages differ on three of four lights: two lights tell the other two."""
    messages = [name for name in teal.indications if name != "dark"]
    for name in messages:
        lights = teal.lights(name)
        assert sum(light == OFF for light in lights.values()) == 1
        assert {light.kind for light in lights.values()} <= {"off", "steady", "flashing"}
    for one, other in combinations(teal.indications, 2):
        here, there = teal.lights(one), teal.lights(other)
        assert sum(here[lamp] != there[lamp] for lamp in teal.lamps) == 3
    assert confusions(teal, "customer")[0].chance < 0.02
    assert confusions(teal, "technician")[0].chance < 0.002


def test_teal_shows_whatever_its_family_stops_for(teal: Panel) -> None:
    """Tests that each stopping condition of the dishwashers is shown, and shown once."""
    conditions = read_pack(PACKS / "dishwasher").pack.conditions
    stopping = [name for name, record in conditions.items() if record.kind == "stopping"]
    assert sorted(meant(teal)) == sorted(stopping)
