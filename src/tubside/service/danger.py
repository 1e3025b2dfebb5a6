"""Danger reports: what must be said before any advice, and what may still be asked.

After one of these, no customer step that powers the machine or touches the plug
follows. The wording is common practice, no source; local codes decide.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tubside.diagnosis.next_step import Step
from tubside.pack.fault_model import Bools
from tubside.pack.schema import DANGERS, CustomerStep, Danger, Pack
from tubside.service.job_file import JobFile

SAY: dict[Danger, str] = {
    "gas": (
        "Switch nothing on or off, also not at the plug or the switchboard. No flame, no doorbell, "
        "no telephone inside. Open doors on the way, get everybody out, and ring the gas emergency "
        "service from outside. Go back in when they say so."
    ),
    "shock": (
        "Do not touch the machine, its plug, the taps or anything wet. Keep others away. Switch "
        "the circuit off at the switchboard, and leave it off. See a doctor after any shock."
    ),
    "burning": (
        "Switch off at the wall or the switchboard if you can reach it without leaning over the "
        "machine, and leave it off. If there is smoke or heat, leave the room and ring the fire "
        "service."
    ),
    "smoke": (
        "Leave the machine shut. Switch the circuit off at the switchboard if it is safe to reach, "
        "leave the room and ring the fire service."
    ),
    "tripping": (
        "Leave the breaker off. Do not reset it again and do not run the machine. It switches off "
        "because current goes where it must not."
    ),
    "water-at-plug": (
        "Do not touch the plug or the machine and do not stand in the water. Switch the circuit "
        "off at the switchboard with dry hands, then shut the taps if they are dry to reach."
    ),
}


def dangers(job: JobFile, pack: Pack) -> list[Danger]:
    """Every danger reported in a job, in a fixed order."""
    found = set(job.danger)
    for name in job.reported:
        condition = pack.conditions.get(name)
        if condition is not None and condition.danger is not None:
            found.add(condition.danger)
    for name, value in job.circumstances.items():
        if name in pack.context:
            flag = pack.context[name]
            found |= _by_outcome(pack, flag.check, flag.if_true if value else flag.if_false)
    for line in job.facts:
        if line.condition in pack.conditions and line.outcome == "yes":
            danger = pack.conditions[line.condition].danger
            found |= {danger} if danger else set()
        if line.check in pack.checks:
            found |= _by_outcome(pack, str(line.check), str(line.outcome))
    return [danger for danger in DANGERS if danger in found]


def _by_outcome(pack: Pack, check: str, outcome: str) -> set[Danger]:
    """The danger that an answer to a check reports, if any."""
    finding = pack.checks[check].finding
    danger = None if finding is None else pack.findings[finding].danger.get(outcome)
    return set() if danger is None else {danger}


def to_say(found: Sequence[Danger]) -> list[Danger]:
    """The dangers whose words are said, in a fixed order.

    Gas stands alone: the words for the others have something switched off, which may
    make the spark.
    """
    return ["gas"] if "gas" in found else [danger for danger in DANGERS if danger in found]


def customer_may(steps: Sequence[CustomerStep | None], found: Sequence[Danger]) -> Bools:
    """Which steps may be asked of a customer, given the dangers reported; after gas, none."""
    if "gas" in found:
        return np.zeros(len(steps), dtype=bool)
    return np.array([s is not None and (not found or harmless(s)) for s in steps], dtype=bool)


def left_after(steps: Sequence[Step], pack: Pack, found: Sequence[Danger]) -> list[Step]:
    """The steps that the dangers leave: after gas the gas fitter alone, if the pack has one.

    This stands above the ranking by cost: nobody is sent to a smell of gas who may not
    mend it.
    """
    stops = list(pack.stops.values())
    fitter = [s for s in steps if s.kind == "refer" and stops[s.index].trade == "gasfitter"]
    return fitter if "gas" in found and fitter else list(steps)


def harmless(step: CustomerStep) -> bool:
    """A pure question: touches nothing, runs nothing, needs no plug pulled or put in."""
    still = step.plug == "either" and not step.runs_machine and step.touches == "nothing"
    return step.after_danger and still
