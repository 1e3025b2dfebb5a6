"""Which tests this appliance needs after this work, in order: look first, function last."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Literal

from tubside.safety.appliance import Appliance, Touched
from tubside.safety.limits import Confirmed, Held, limit_for
from tubside.safety.profile_schema import Profile, Test

Kind = Literal["look", "reading", "rcd", "run"]


@dataclass(frozen=True, slots=True)
class Item:
    """One test: ``held`` is its limit where it is a reading and the country names one.

    ``beware`` comes before ``how``.
    """

    id: str
    title: str
    kind: Kind
    beware: str
    how: str
    held: Held | None = None

    @property
    def acknowledged(self) -> bool:
        """Whether the caution is ticked before the result counts: where current can hurt."""
        return self.beware != DEAD


DEAD = "Plug out and in sight; let stored energy go and prove it gone."
LIVE = "The appliance is live: covers on, dry floor and hands, nothing and nobody touching metal."
LOOK = Item(
    "look",
    "Look: cord, plug, grip, covers, hoses",
    "look",
    DEAD,
    "Cord and plug whole, cord held by its grip, no wire trapped, every cover and earth screw "
    "back, hoses tight, no trace of heat or water on electrics.",
)
POLARITY = Item(
    "polarity",
    "Polarity at the plug",
    "look",
    DEAD,
    "With a meter from each pin to its end in the appliance: phase, neutral and earth each on "
    "its own, and on no other. Phase and earth changed over makes the metal live.",
)
DEVICES = Item(
    "devices",
    "Protective devices work",
    "look",
    DEAD,
    "Door or lid lock, level and heat limits, fuse: each fitted, of the right kind, none bridged.",
)
RUN = Item(
    "run",
    "Function and leak run",
    "run",
    LIVE,
    "A short programme with water in and out: it runs, heats, spins and stops as it should, "
    "and floor and underside stay dry.",
)
RCD = Item(
    "rcd",
    "Residual-current device",
    "rcd",
    "Everything behind the device goes dead; warn those who need it.",
    "With a tester at the socket: at half its rated current it holds, at its rated current and "
    "at five times it trips in time.",
)


TITLES: dict[str, str] = {
    **{item.id: item.title for item in (LOOK, POLARITY, DEVICES, RCD, RUN)},
    "conductor": "Protective conductor",
    "insulation": "Insulation",
    "protective-current": "Current in the protective conductor",
    "touch-current": "Touch current",
}
"""Test -> its title, for every test of every country."""


def beware_of(test: str) -> str:
    """What can hurt in a test, without the voltage that the country sets for it.

    >>> beware_of("look") == DEAD, beware_of("run") == LIVE
    (True, True)
    """
    if test == "insulation":
        return f"{DEAD} The tester gives hundreds of volts: hands off; let it discharge after."
    if test == RCD.id:
        return RCD.beware
    return LIVE if test in {"run", "protective-current", "touch-current"} else DEAD


def plan_for(
    profile: Profile,
    appliance: Appliance,
    touched: Collection[Touched],
    confirmed: dict[str, Confirmed] | None = None,
) -> tuple[Item, ...]:
    """The tests in order; each reading with the limit that holds.

    Look, polarity, protective conductor, insulation, currents, function: the order that
    every account of the standards gives (second hand). Polarity is always part of it, also
    where the cord was not touched (common practice, no source).

    Examples
    --------
    >>> from tubside.safety.profiles import load_profile
    >>> machine = Appliance("I", 2.0, 1.5, 1.0)
    >>> [item.id for item in plan_for(load_profile("NZ").profile, machine, ["cover-opened"])]
    ['look', 'polarity', 'devices', 'conductor', 'insulation', 'run']
    """
    items = [LOOK, POLARITY, DEVICES]
    items += (_reading(profile, appliance, test, confirmed) for test in _tests(profile, appliance))
    if profile.rcd is not None and (appliance.rcd or "shock-or-tripping" in touched):
        items.append(RCD)
    return (*items, RUN)


def _tests(profile: Profile, appliance: Appliance) -> Iterator[Test]:
    """Which readings: by class, and by what the insulation test reaches."""
    if appliance.protection == "I":
        yield "conductor"
    insulation = limit_for(profile, "insulation", appliance) is not None
    if insulation and not appliance.electronic_switch:
        yield "insulation"
    powered = profile.method.leakage == "always" or appliance.electronic_switch or not insulation
    if powered and appliance.protection == "I":
        yield "protective-current"
    touch = limit_for(profile, "touch-current", appliance) is not None
    if powered and (touch or appliance.protection == "II"):
        yield "touch-current"


def _reading(
    profile: Profile, appliance: Appliance, test: Test, confirmed: dict[str, Confirmed] | None
) -> Item:
    held = limit_for(profile, test, appliance, confirmed)
    beware, how = _words(profile, appliance)[test]
    return Item(test, TITLES[test], "reading", beware, how, held)


def _words(profile: Profile, appliance: Appliance) -> dict[Test, tuple[str, str]]:
    method = profile.method
    surge = method.insulation_volts_surge_parts if appliance.surge_parts else None
    volts = method.insulation_volts if surge is None else surge
    return {
        "conductor": (
            DEAD,
            (
                "From the plug's earth pin to bare metal at several places; move the cord, "
                "at plug and grip most. Write the highest reading."
            ),
        ),
        "insulation": (
            f"{DEAD} The tester gives {volts:g} V: hands off; let the appliance discharge after.",
            (
                f"At {volts:g} V d.c., plug out, the appliance switched on: phase and neutral "
                "joined, against earth; class II against metal that can be touched."
            ),
        ),
        "protective-current": (
            LIVE,
            (
                "Under power, with the heater on, both ways round where the plug allows. Write the "
                "highest reading."
            ),
        ),
        "touch-current": (
            LIVE,
            (
                "Under power, from every bare part that is not joined to earth. Write the highest "
                "reading."
            ),
        ),
    }
