"""Panels that the tests of this folder share."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.pack.reading import read_pack
from tubside.panel.reading import parse_panel, read_panel
from tubside.panel.schema import Panel

PACKS = Path(__file__).parents[2] / "packs"

SMALL = """\
model: small-panel
name: Small Panel
family: top_load
about: Two lamps and a buzzer.
plate:
  variants: {drive: belt}
sources:
  own: {kind: invented, text: Only for tests.}
drawing:
  front: {width: 200, height: 100, corner: 8}
  shapes:
    - {draw: box, x: 0, y: 0, width: 200, height: 100, corner: 8, paint: plate}
    - {draw: disc, x: 30, y: 30, radius: 10, paint: hair}
    - {draw: dome, x: 100, y: 100, radius_x: 40, radius_y: 20, paint: glass}
    - {draw: stroke, points: [[5, 5], [60, 5]]}
    - {draw: lettering, x: 10, y: 60, text: Small Panel, size: 8}
    - {draw: dial, x: 30, y: 30, radius: 14, marks: 5}
    - {draw: button, x: 60, y: 20, width: 20, height: 8, label: go}
    - {draw: display, x: 90, y: 10, width: 30, height: 12}
lamps:
  a: {label: left, x: 100, y: 50, size: 14}
  b: {label: right, x: 160, y: 50, size: 14, shape: bar}
sounds:
  pulses: Short pulses.
indications:
  dark:
    conditions: [no_power]
    lamps: {}
    sound: none
    note: Nothing lights.
    source: own
  fill:
    conditions: [no_water, overflow]
    lamps: {a: flashing, b: steady}
    sound: pulses
    period_s: 1.0
    note: Water.
    source: own
  drain:
    conditions: [wont_drain]
    lamps: {a: 3 blinks}
    sound: pulses
    period_s: 0.8
    gap_s: 3
    note: Drain.
    source: own
  drain-again:
    conditions: [wont_drain]
    lamps: {a: 4 blinks}
    sound: pulses
    period_s: 0.8
    gap_s: 3
    note: Drain, tried twice.
    source: own
"""

TOP = [
    "no_power",
    "wont_start",
    "lid_not_locked",
    "no_water",
    "fills_slowly",
    "overflow",
    "wrong_temperature",
    "overload",
    "motor_locked",
    "wont_drain",
    "suds",
    "out_of_balance",
    "wont_spin",
    "tripping",
    "noisy",
    "leak",
    "burning_smell",
    "washes_badly",
    "smell_or_mould",
]


@pytest.fixture(scope="session")
def small_text() -> str:
    """A panel file of two lamps that has every kind of shape."""
    return SMALL


@pytest.fixture(scope="session")
def small() -> Panel:
    """The small panel, read."""
    return parse_panel(SMALL, "small-panel.yaml", TOP)


def shipped(family: str, model: str) -> Panel:
    """Return a shipped panel, read with the names of its own pack."""
    pack = read_pack(PACKS / family).pack
    variants = {axis: list(variant.values) for axis, variant in pack.variants.items()}
    path = PACKS / family / "models" / f"{model}.yaml"
    return read_panel(path, pack.conditions, variants=variants, family=pack.family)


@pytest.fixture(scope="session")
def tern() -> Panel:
    """The shipped top-loader that counts on one lamp."""
    return shipped("top_load", "aldermoor-tern")


@pytest.fixture(scope="session")
def wren() -> Panel:
    """The shipped front-loader with six dots."""
    return shipped("front_load", "brackwater-wren")


@pytest.fixture(scope="session")
def lark() -> Panel:
    """The shipped dryer with four bars."""
    return shipped("dryer", "cindle-lark")


@pytest.fixture(scope="session")
def teal() -> Panel:
    """The shipped dishwasher with three marks and a light on the floor."""
    return shipped("dishwasher", "dunmere-teal")


@pytest.fixture(scope="session", params=["small", "tern", "wren", "lark", "teal"])
def panel(request: pytest.FixtureRequest) -> Panel:
    """Each of the panels in turn."""
    found: Panel = request.getfixturevalue(request.param)
    return found


@pytest.fixture(scope="session")
def conditions() -> list[str]:
    """Condition ids of a top-loader's pack."""
    return list(TOP)
