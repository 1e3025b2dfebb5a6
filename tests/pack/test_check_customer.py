"""Each rule for customers' steps finds what breaks it, judged by fields."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tubside.pack.check import check_pack
from tubside.pack.reading import PackSource

Edits = tuple[str, ...]
EditPack = Callable[..., PackSource]

SCREENS = (
    "{plug: out, taps: shut, touches: hose-nut, water: cold, litres: .5, tray: true}\n"
    "    source: cp\n  valve-coil"
)
TRAP = "{plug: out, taps: shut, touches: strainer, water: below-40, litres: 10, tray: true}"
LISTEN = "{plug: in, taps: as-is, touches: settings, water: none, litres: 0, runs_machine: true}"
MOVED = "touches: nothing, water: none, litres: 0, after_danger: true}"
LAMP = "touches: socket, water: none"
TRIPS = "{plug: either, taps: as-is, touches: nothing, water: none, litres: 0, after_danger: true}"

CUSTOMER_CASES: dict[str, tuple[Edits, str]] = {
    "no words": (("water", "    say: Open the tap as far as it goes.\n", ""), "no words"),
    "no fields": (("drain", f"    customer_step: {TRAP}\n", ""), "does not state plug"),
    "cover": (
        ("drain", f"customer_step: {TRAP}", f"behind: back-panel\n    customer_step: {TRAP}"),
        "cover",
    ),
    "tool": (
        ("drain", f"customer_step: {TRAP}", f"tools: [tray, pliers]\n    customer_step: {TRAP}"),
        "'pliers'",
    ),
    "on site": (("drive", "where: phone", "where: site"), "on site only"),
    "runs without plug": (
        ("drain", LISTEN, LISTEN.replace("plug: in", "plug: either")),
        "runs the machine",
    ),
    "plug in at the trap": (
        ("drain", TRAP, TRAP.replace("plug: out", "plug: in")),
        "touches the strainer with the plug in",
    ),
    "plug either at the trap": (
        ("drain", TRAP, TRAP.replace("plug: out", "plug: either")),
        "without stating the plug",
    ),
    "plug either at settings": (
        ("drain", LISTEN, LISTEN.replace("plug: in", "plug: either").replace("true", "false")),
        "touches the settings without stating",
    ),
    "live with plug out": (
        ("drain", LISTEN, LISTEN.replace("plug: in", "plug: out").replace("true", "false")),
        "wants power",
    ),
    "dead with plug in": (("drain", "power: live", "power: dead"), "wants no power"),
    "litres with plug in": (
        ("drain", LISTEN, LISTEN.replace("litres: 0", "litres: 3")),
        "lets water out with the plug",
    ),
    "litres of no water": (("drain", TRAP, TRAP.replace("below-40", "none")), "says there is none"),
    "hot trap": (("drain", TRAP, TRAP.replace("below-40", "unknown")), "may be hot"),
    "trap not known cool": (
        ("drain", TRAP, TRAP.replace("below-40", "cold")),
        "not known to be cool",
    ),
    "open tap at the nut": (
        ("water", SCREENS, SCREENS.replace("taps: shut", "taps: open")),
        "tap not shut",
    ),
    "trap without tray": (("drain", TRAP, TRAP.replace(", tray: true", "")), "without a tray"),
    "touching after danger": (
        ("drive", LAMP, LAMP + ", after_danger: true"),
        "touches or runs something after danger",
    ),
    "remedy after danger": (
        ("drain", TRAP, TRAP.replace("tray", "after_danger: true, tray")),
        "is a remedy",
    ),
    "retry of danger": (
        ("drive", TRIPS, LISTEN, "drive", "how: Ask whether and when", "how: Try"),
        "runs the machine to see a danger",
    ),
    "idle fields": (
        ("drain", "parts: [drain-pump]", f"customer_step: {TRAP}\n    parts: [drain-pump]"),
        "is not for customers",
    ),
}


@pytest.mark.parametrize("case", CUSTOMER_CASES)
def test_an_unsafe_step_is_found(edit_pack: EditPack, case: str) -> None:
    """Tests that one edit that makes a step unsafe is one error, with a way to mend it."""
    edits, what = CUSTOMER_CASES[case]
    found = [p for p in check_pack(edit_pack(*edits)).errors if what in p.what]
    assert len(found) == 1
    assert found[0].line > 1
    assert found[0].mend


@pytest.mark.parametrize("thing", ["tray", "bucket", "torch"])
def test_household_things_are_no_tools(edit_pack: EditPack, thing: str) -> None:
    """Tests that a customer may be asked to have a thing ready that opens nothing."""
    source = edit_pack(
        "drain", f"customer_step: {TRAP}", f"tools: [{thing}]\n    customer_step: {TRAP}"
    )
    assert check_pack(source).errors == ()


def test_household_water_needs_no_plug(edit_pack: EditPack) -> None:
    """Tests that running a tap of the house into a bucket may leave the plug as it is."""
    old = "touches: taps, water: cold, litres: 0}\n    source: cp\n  moved-lately"
    new = old.replace("touches: taps", "touches: household").replace("litres: 0", "litres: 10")
    assert check_pack(edit_pack("water", old, new)).errors == ()
