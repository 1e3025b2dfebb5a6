"""Calls as they are taken: a panel that blinks, and a danger before anything else."""

from __future__ import annotations

from tubside.service.records import Body, DangerTold, Indication, Machine

CALL: list[Body] = [
    DangerTold(),
    Machine(model="aldermoor-tern", age_years=9),
    Indication(lamps={"pause": "3 blinks"}),
]
DANGEROUS: list[Body] = [DangerTold(kinds=["water-at-plug", "shock"])]
