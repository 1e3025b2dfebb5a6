"""The shape of what a family costs, and of how its people report."""

from __future__ import annotations

from tubside.pack.record import Record, Source


class Costs(Record, frozen=True, kw_only=True):
    """Resource cost to both sides, whoever pays [dollars, minutes, days, years]."""

    technician_minute: float
    customer_minute: float
    visit: float
    second_visit: float
    waiting_day: float
    part_wait_days: float
    callback: float
    replacement: float
    disposal: float
    life_shape: float
    life_scale_years: float
    booking_days: float = 2.0
    restocking_share: float = 0.2
    source: Source


class Words(Record, frozen=True, kw_only=True):
    """How people report: chance of right, floors, and how repeats err again."""

    stage_right: float
    said_floor: float
    repeat_errs_same: float
    customer_error: float
    technician_error: float
    noticed: float
    source: Source
