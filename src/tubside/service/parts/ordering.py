"""What to order: what each van should hold, against what is held and on order."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import StringIO

import numpy as np
from sqlalchemy import Connection, func, select

from tubside.kit.demand import Rate, prior_rate
from tubside.kit.van_stock import Carried, van_stock
from tubside.pack.fault_model import FaultModel
from tubside.service.library import Library
from tubside.service.parts.articles import serves
from tubside.service.parts.shelf import Shelved, shelf_in, vans
from tubside.store import parts as kept
from tubside.store.opening import Store
from tubside.store.parts import MoveRow
from tubside.store.tables import JOBS

YEAR = 365.0
TARGET = 0.9
JOBS_A_YEAR = 300.0
"""Jobs of a shop in a year where nothing is known yet (common practice, no source)."""
LEAST_HISTORY = 30.0
"""Days from which the shop's own number of jobs is used, and which the books of a part count
for at least: a first use on the first day tells little (common practice, no source)."""
LEAD_DAYS = 7.0
DEAR = 20.0
"""Price of a part without any offer [money]."""
CLEARS_WELL = 0.5


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A part: what all vans together should hold, what they do, and how many to order.

    ``least`` is the stock, held and on order together, below which to order; ``a_year`` the
    units asked for in a year, of which the shop itself used ``used`` in ``days`` days.
    """

    part: Shelved
    least: int
    order: int
    a_year: float
    used: int
    days: float

    @property
    def cents(self) -> int | None:
        """Price of what to order at the cheapest offer, None without any [cents]."""
        return self.order * self.part.offers[0].price if self.part.offers else None


@dataclass(frozen=True, slots=True)
class OrderList:
    """Every part that is bought, what to order first, and the fill rate it reaches at least."""

    lines: tuple[OrderLine, ...]
    fill_rate: float
    target: float
    jobs_a_year: float
    vans: int

    @property
    def to_order(self) -> tuple[OrderLine, ...]:
        """The lines of which something is to be ordered."""
        return tuple(line for line in self.lines if line.order)

    @property
    def cents(self) -> int:
        """What the order costs, as far as prices are known [cents]."""
        return sum(line.cents or 0 for line in self.to_order)


def order_list(store: Store, library: Library, now: datetime, target: float = TARGET) -> OrderList:
    """What to order so that a share ``target`` of the jobs that need a kept part lack none.

    Jobs that need one are counted by what each part is wanted for, which is exact where a
    job needs one part and promises too little or too much by a few jobs where it needs
    several at once. Only parts of a kind that the packs know, or that were used before,
    have a demand.
    """
    with store.reading() as opened:
        parts = [one for one in shelf_in(opened) if not one.article.retired]
        used, families = kept.moves(opened), _families(opened, library)
        jobs_a_year = _jobs_a_year(opened, now)
    number = max(len(vans(parts)), 1)
    wanted = wanted_a_job(library, parts, families)
    moved: dict[str, list[MoveRow]] = {}
    for row in used:
        moved.setdefault(row.part, []).append(row)
    demands = [
        _demand(
            moved.get(one.article.number, []),
            wanted.get(one.article.number, 0.0) * jobs_a_year,
            now,
        )
        for one in parts
    ]
    carried = [
        _carried(one, demand, wanted.get(one.article.number, 0.0), (number, jobs_a_year))
        for one, demand in zip(parts, demands, strict=True)
    ]
    asked = [part for part in carried if part is not None]
    needing = min(sum(part.wanted for part in asked), 1.0)
    found = van_stock(asked, 1.0 - (1.0 - target) * needing if asked else 0.0)
    units = iter(found.units)
    least = [0 if part is None else next(units) * number for part in carried]
    lines = [_line(*told) for told in zip(parts, least, demands, strict=True)]
    lines.sort(key=lambda line: (-line.order, line.part.article.number))
    reached = 1.0 - (1.0 - found.fill_rate) / needing if needing else 1.0
    return OrderList(tuple(lines), max(reached, 0.0), target, jobs_a_year, number)


def wanted_a_job(
    library: Library, parts: list[Shelved], families: Mapping[str, float]
) -> dict[str, float]:
    """Article -> chance that a job needs it, by the packs and the shop's mix of families.

    Several articles of one kind share its chance evenly, as nobody knows which.
    """
    chance: dict[str, float] = {}
    for family in library.families():
        known = library.family(family)
        weights = np.array([known.pack.causes[c].weight for c in known.model.names.causes])
        for kind, each in kinds_a_job(known.model, weights / 1000.0).items():
            of_kind = [one.article for one in parts if serves(one.article, family, kind)]
            for article in of_kind:
                more = each * families.get(family, 0.0) / len(of_kind)
                chance[article.number] = chance.get(article.number, 0.0) + more
    return chance


def kinds_a_job(model: FaultModel, weights: np.ndarray) -> dict[str, float]:
    """Part kind -> chance that a call needs it: each cause by what best clears it.

    Of the remedies that clear a cause with at least a half, the one with the cheapest parts
    counts, as the packs' own numbers say (worked out from the packs).
    """
    found: dict[str, float] = {}
    clears = np.array([np.nan_to_num(remedy.clears).max(axis=0) for remedy in model.remedies])
    price = [sum(float(model.part_price[p]) for p in r.parts) for r in model.remedies]
    for cause, weight in enumerate(weights):
        able = np.flatnonzero(clears[:, cause] >= CLEARS_WELL)
        if len(able):
            best = min(able, key=lambda r: (price[r], model.remedies[r].minutes))
            for part in model.remedies[best].parts:
                name = model.names.parts[part]
                found[name] = found.get(name, 0.0) + float(weight)
    return found


def order_csv(found: OrderList) -> str:
    """The order as a table for a spreadsheet; a cell never begins like a formula."""
    out = StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    names = ["number", "title", "units", "supplier", "code", "price", "total", "lead_days"]
    table.writerow(names)
    for line in found.to_order:
        offer = line.part.offers[0] if line.part.offers else None
        money = (
            ["", "", "", "", ""]
            if offer is None
            else [
                offer.supplier,
                offer.code,
                f"{offer.price / 100:.2f}",
                f"{line.order * offer.price / 100:.2f}",
                f"{offer.lead_days:g}",
            ]
        )
        article = line.part.article
        row = [article.number, article.title, str(line.order), *money]
        table.writerow([_no_formula(cell) for cell in row])
    return out.getvalue()


def _no_formula(cell: str) -> str:
    return f"'{cell}" if cell[:1] in {"=", "+", "-", "@", "\t"} else cell


def _families(opened: Connection, library: Library) -> dict[str, float]:
    """Each family's share of the shop's jobs; every family counts one job more than it had."""
    query = select(JOBS.c.family, func.count()).where(JOBS.c.family.is_not(None))
    counts = dict.fromkeys(library.families(), 1)
    for family, jobs in opened.execute(query.group_by(JOBS.c.family)):
        name = family.replace("-", "_")
        counts[name] = counts.get(name, 1) + int(jobs)
    total = sum(counts.values())
    return {name: count / total for name, count in counts.items()}


def _jobs_a_year(opened: Connection, now: datetime) -> float:
    first: datetime | None = opened.execute(select(func.min(JOBS.c.opened_at))).scalar()
    if first is None:
        return JOBS_A_YEAR
    since = max(first, now - timedelta(days=YEAR))
    days: float = (now - since).total_seconds() / 86_400.0
    if days < LEAST_HISTORY:
        return JOBS_A_YEAR
    query = select(func.count()).select_from(JOBS).where(JOBS.c.opened_at >= since)
    jobs = float(opened.execute(query).scalar() or 0)
    return max(jobs, 1.0) * YEAR / days


@dataclass(frozen=True, slots=True)
class _Demand:
    """The rate of a part's demand in the shop, None where nothing speaks for any."""

    rate: Rate | None
    used: int
    days: float


def _demand(mine: list[MoveRow], prior: float, now: datetime) -> _Demand:
    """The demand of one part from its movements and what the packs expect in a year."""
    since = now - timedelta(days=YEAR)
    recent = [move for move in mine if move.at >= since]
    units = sum(m.units for m in recent if m.reason == "used")
    units -= sum(m.units for m in recent if m.reason == "not-used-after-all")
    days = min((now - mine[0].at).total_seconds() / 86_400.0, YEAR) if mine else 0.0
    if prior <= 0.0 and units <= 0:
        return _Demand(None, max(units, 0), days)
    start = prior_rate(prior) if prior > 0.0 else Rate(0.5, YEAR)
    seen = max(days, LEAST_HISTORY) if units > 0 else days
    return _Demand(start.after(max(units, 0), max(seen, 0.0)), max(units, 0), days)


def _carried(
    one: Shelved, demand: _Demand, wanted: float, shop: tuple[int, float]
) -> Carried | None:
    if demand.rate is None:
        return None
    number, jobs_a_year = shop
    lead = one.offers[0].lead_days if one.offers else LEAD_DAYS
    price = one.offers[0].price / 100.0 if one.offers else DEAR
    a_job = min(max(wanted, demand.rate.mean * YEAR / jobs_a_year), 1.0)
    rate = Rate(demand.rate.shape, demand.rate.time * number)
    return Carried(rate, lead, a_job, max(price, 0.01))


def _line(one: Shelved, least: int, demand: _Demand) -> OrderLine:
    order = max(least - one.in_hand - one.on_order, 0)
    a_year = 0.0 if demand.rate is None else demand.rate.mean * YEAR
    return OrderLine(one, least, order, a_year, demand.used, demand.days)
