"""What the simulated machine and the people at it answer to a check or a remedy."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import FAILS, WORKS, Measured, confusion
from tubside.diagnosis.reruns import STRAY_FAILURE
from tubside.diagnosis.situation import CANNOT_LOOK
from tubside.diagnosis.states import seen_table
from tubside.pack.fault_model import Bools, FaultModel
from tubside.trial.call import Call
from tubside.trial.chance import Chance
from tubside.trial.meter import Machines, Now, measure

NOTHING_LEARNED = -1


@dataclass(frozen=True, slots=True)
class Machine:
    """The machine as it stands: the world it obeys, its call, what is still wrong.

    ``machines`` is what its readings come from; without it there are none.
    """

    world: FaultModel
    call: Call
    chance: Chance
    left: Bools  # (n,)
    machines: Machines | None = None
    remedies_done: int = 0

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong any more, or never was."""
        return not self.left.any()


@dataclass(frozen=True, slots=True)
class Remembered:
    """The last answer of one observer on one finding, and after how many remedies."""

    outcome: int
    remedies_done: int


def has_construction(machine: Machine, needs: tuple[tuple[int, Bools], ...]) -> bool:
    """Whether this machine is built so that a step can be done on it."""
    return all(bool(allowed[machine.call.values[axis]]) for axis, allowed in needs)


def answer(machine: Machine, number: int, observer: int, before: Remembered | None) -> int:
    """Outcome said, or -1 for "could not look": the state, seen with the observer's error.

    An observer who looks at the same state again repeats the last answer with the
    world's chance of repeating.
    """
    world, chance = machine.world, machine.chance
    check = world.checks[number]
    lost = chance.happens(CANNOT_LOOK[observer], "cannot look", number, observer)
    if lost or not has_construction(machine, check.needs):
        return NOTHING_LEARNED
    if check.finding < 0:
        state, graded = machine.call.values[check.axis], False
        size = len(world.prior.axes[check.axis].shares)
    else:
        finding = world.findings[check.finding]
        state, size, graded = _state(machine, check.finding), len(finding.healthy), finding.graded
    key = ("answer", number, observer, machine.remedies_done)
    same_time = before is not None and before.remedies_done == machine.remedies_done
    if same_time and chance.happens(world.repeat_errs_same, "repeats", *key):
        assert before is not None
        return before.outcome
    row = confusion(size, check.error[observer], graded=graded)[state]
    return chance.pick(row, *key)


def read(machine: Machine, number: int, observer: int) -> Measured | None:
    """What an instrument shows, or None for "could not look"."""
    check, chance = machine.world.checks[number], machine.chance
    lost = chance.happens(CANNOT_LOOK[observer], "cannot look", number, observer)
    if lost or machine.machines is None or not has_construction(machine, check.needs):
        return None
    assert check.reading is not None
    present = np.flatnonzero(machine.left)
    quiet = float(np.prod(1.0 - machine.world.shows[present]))
    now = Now(
        present=machine.left,
        cleared=machine.call.causes & ~machine.left,
        shows=chance.happens(1.0 - quiet, "shows", number, machine.remedies_done),
        remedies_done=machine.remedies_done,
    )
    return measure(machine.machines, check.reading, (number, observer), now, chance)


def _state(machine: Machine, finding: int) -> int:
    """The true state of a finding now: one number for the call, whatever is left."""
    row = seen_table(machine.world, finding, machine.left[None, :])[0]
    return machine.chance.pick(row, "state", finding)


@dataclass(frozen=True, slots=True)
class Outcome:
    """After a remedy: how the re-run went, and the machine then."""

    rerun: int
    machine: Machine


def treat(machine: Machine, clears: np.ndarray, name: str, number: int) -> Outcome:
    """Clear each present cause with its chance (n,), and run the machine again."""
    left = machine.left.copy()
    for cause in np.flatnonzero(left & (clears > 0.0)):
        if machine.chance.happens(float(clears[cause]), "clears", name, number, int(cause)):
            left[cause] = False
    after = replace(machine, left=left, remedies_done=machine.remedies_done + 1)
    return Outcome(FAILS if _fails_again(after) else WORKS, after)


def _fails_again(machine: Machine) -> bool:
    """Whether the trouble shows on the re-run."""
    world, call = machine.world, machine.call
    number = machine.remedies_done
    if call.healthy >= 0:
        fails = float(world.healthy_rerun_fails[call.healthy])
        return machine.chance.happens(fails, "rerun", number)
    raised = np.flatnonzero(call.raised & machine.left)
    quiet = float(np.prod(1.0 - world.shows[raised]))
    return machine.chance.happens(1.0 - quiet * (1.0 - STRAY_FAILURE), "rerun", number)
