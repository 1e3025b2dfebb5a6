"""Stock follows the facts of jobs: a part used leaves its place, a fact taken back returns it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from tubside.service.part_records import PartUsed
from tubside.service.parts.moving import Despite, Hand, Move, move_in
from tubside.service.replay import line_of
from tubside.store import parts as kept
from tubside.store.facts import FactRow
from tubside.store.parts import MoveRow

FOLLOWED = {"part-used", "retract"}


def stock_follows(
    opened: Connection, job: str, rows: Sequence[FactRow], fresh: Sequence[FactRow]
) -> None:
    """Move stock as the facts of a job say together; the same facts again change nothing.

    What was used counts also where the books hold fewer: the movement then says that it
    was told afterwards. A fact about a part that the shop does not have moves nothing.

    Parameters
    ----------
    job
        Its id.
    rows
        All its facts.
    fresh
        Those that were just added.
    """
    if not any(row.kind in FOLLOWED for row in fresh):
        return
    now = max(row.received_at for row in fresh)
    moved = kept.moves(opened, job=job)
    for entry in line_of(rows):
        if isinstance(entry.body, PartUsed):
            used = entry.body.units if entry.retracted_by is None else 0
            _settle(opened, (job, entry.id, entry.device), entry.body, used, (moved, now))


def _settle(
    opened: Connection,
    fact: tuple[str, str, str],
    body: PartUsed,
    used: int,
    known: tuple[list[MoveRow], datetime],
) -> None:
    job, name, device = fact
    moved, now = known
    mine = [_ref(name, number) for number in range(len(moved) + 1)]
    out = [move for move in moved if move.id in mine]
    net = sum(m.units if m.reason == "used" else -m.units for m in out)
    if net == used or kept.part(opened, body.part) is None:
        return
    by = Hand(mine[len(out)], device, now)
    units = abs(used - net)
    if used > net:
        held = kept.units_at(opened, body.part, body.place)
        despite: Despite | None = "told-afterwards" if held < units else None
        move_in(opened, Move(body.part, units, body.place, None, "used", despite, job), by)
    else:
        back = Move(body.part, units, None, body.place, "not-used-after-all", None, job)
        move_in(opened, back, by)


def _ref(fact: str, number: int) -> str:
    return sha256(f"{fact} {number}".encode()).hexdigest()[:32]
