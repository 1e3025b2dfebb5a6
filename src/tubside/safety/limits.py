"""From a country's rules to the limit that holds for one appliance."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from tubside.physics.electrics.copper import FLEXIBLE_WIRE, wire_resistance
from tubside.safety.appliance import Appliance
from tubside.safety.profile_schema import Limit, Profile, Steps, Test

A_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What the shop found in its own licensed copy: the limit as it stands, or another value.

    ``value`` None confirms the limit with its formula; a value stands in its place, in the
    limit's unit.
    """

    reference: str
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """The limit that holds for an appliance, worked out.

    ``decides`` tells whether it may say pass or fail: only a limit whose own text was read,
    or that the shop confirmed or put in its place.
    """

    id: str
    limit: Limit
    value: float
    how: str
    decides: bool
    confirmed: Confirmed | None


def cord_resistance(length: float, area: float) -> float:
    """Resistance [ohm] of one conductor of a flexible cord at 20 C.

    ``length`` [m], ``area`` one of ``FLEXIBLE_WIRE`` [mm2]; IEC 60228, table 3, class 5.

    Examples
    --------
    >>> round(cord_resistance(3.0, 1.0), 4)
    0.0585
    """
    return length * FLEXIBLE_WIRE[area]


def stepped(value: float, steps: Steps, length: float, area: float) -> float:
    """Limit [ohm] that rises with each started length of cord, up to a most.

    DIN VDE 0701-0702, clause 5.3: value to the first metres, then a step for each started
    length. A cord thicker than the rule holds for has l / (kappa A) instead (the form of
    EN 50699), not below ``steps.least`` nor above ``steps.most``; nothing is added for its
    contacts, which keeps to the strict side.

    Examples
    --------
    >>> rule = Steps(first_m=5, each_m=7.5, each=0.1, most=1, up_to_mm2=1.5, kappa=56, least=0.1)
    >>> [round(stepped(0.3, rule, m, 1.5), 3) for m in (3, 5, 5.5, 12.5, 20, 100)]
    [0.3, 0.3, 0.4, 0.4, 0.5, 1.0]
    """
    if area > steps.up_to_mm2:
        bare = float(wire_resistance(length, area * 1e-6, steps.kappa * 1e6))
        return float(min(steps.most, max(steps.least, bare)))
    started = max(0, ceil((length - steps.first_m) / steps.each_m - A_HAIR))
    return float(min(steps.most, value + steps.each * started))


def with_power(base: float, each: float, most: float, kilowatts: float) -> float:
    """Limit [mA] that rises with power: the more of base and each x kW, up to a most.

    Examples
    --------
    >>> [with_power(3.5, 1.0, 10.0, kw) for kw in (2.0, 6.0, 12.0)]
    [3.5, 6.0, 10.0]
    """
    return float(min(most, max(base, each * kilowatts)))


def limit_for(
    profile: Profile,
    test: Test,
    appliance: Appliance,
    confirmed: dict[str, Confirmed] | None = None,
) -> Held | None:
    """The limit of a test that holds for an appliance; None where the country names none.

    Earlier editions are kept to be looked up and never hold.
    """
    for name, limit in profile.limits.items():
        if limit.test == test and not limit.earlier_edition and _fits(limit, appliance):
            return _held(name, limit, appliance, (confirmed or {}).get(name))
    return None


def _fits(limit: Limit, appliance: Appliance) -> bool:
    over, up_to = limit.heater_over_kw, limit.heater_up_to_kw
    return (
        appliance.protection in limit.classes
        and (over is None or appliance.heater_kw > over)
        and (up_to is None or appliance.heater_kw <= up_to)
    )


def _held(name: str, limit: Limit, appliance: Appliance, confirmed: Confirmed | None) -> Held:
    decides = confirmed is not None or limit.source.known == "read"
    if confirmed is not None and confirmed.value is not None:
        return Held(name, limit, confirmed.value, "the shop's own value", decides, confirmed)
    value, how = _worked_out(limit, appliance)
    return Held(name, limit, value, how, decides, confirmed)


def _worked_out(limit: Limit, of: Appliance) -> tuple[float, str]:
    if limit.cord_added:
        cord = cord_resistance(of.cord_m, of.cord_mm2)
        how = f"{limit.value:g} + {cord:.3f} for {of.cord_m:g} m of {of.cord_mm2:g} mm2"
        return limit.value + cord, how
    if limit.steps is not None:
        value = stepped(limit.value, limit.steps, of.cord_m, of.cord_mm2)
        return value, f"for {of.cord_m:g} m of {of.cord_mm2:g} mm2"
    per = limit.per_kilowatt
    if per is not None and of.heater_kw > per.over_kw:
        value = with_power(limit.value, per.each, per.most, of.heater_kw)
        return value, f"for a heater of {of.heater_kw:g} kW"
    return limit.value, ""
