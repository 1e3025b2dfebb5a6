"""``tubside kit``: what to load for a day."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import click

from tubside.cli.app_extra import require_app
from tubside.service.wording import dollars

if TYPE_CHECKING:
    from tubside.service.parts.day_kit import DayKit, KitLine


@click.command("kit")
@click.argument("day", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE")
@click.option("--van", default="", help="The van's name; the first one, where none is named.")
@click.option("--room", type=float, help="Room on the van, in the unit that parts have theirs.")
@click.option(
    "--data", metavar="FOLDER", help="Where the shop's data is: a folder, or postgresql://..."
)
def kit_command(day: datetime, van: str, room: float | None, data: str | None) -> None:
    """Tell what to load for the visits booked on DATE, such as 2026-03-04.

    Each part is told with the share of the day's jobs that end only because of it, and
    the whole kit with what is proven of it. A job ends on its visit only when all its
    parts are there and fit.
    """
    require_app()
    found, name = _kit(day.date(), van, math.inf if room is None else room, data)
    click.echo(f"Kit for {day:%A}, {day.day} {day:%B %Y}, van {name}")
    if found is None:
        click.echo("No visit is booked for this day of which anything is known.")
        return
    for line in _told(found, f"{day:%A}"):
        click.echo(line)


def _kit(day: date, van: str, room: float, data: str | None) -> tuple[DayKit | None, str]:
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415  # start-up stays fast
    from tubside.service.parts.day_kit import day_kit  # noqa: PLC0415
    from tubside.service.parts.job_needs import visits_on  # noqa: PLC0415
    from tubside.service.parts.shelf import shelf, vans  # noqa: PLC0415

    with shop_data(data) as (store, library):
        name = van or next(iter(vans(shelf(store))), "1")
        views = visits_on(store, library, day, None)
        return day_kit(store, library, views, (name, room), datetime.now(UTC)), name


def _told(kit: DayKit, weekday: str) -> list[str]:
    more = "no kit saves more" if kit.gap < 0.0005 else f"none saves over {kit.gap:.1%} more"
    rates = f"{kit.fill_rate:.0%} of the jobs end on this visit, {kit.as_it_stands:.0%} with"
    lines = [f"{rates} what is aboard ({more})", ""]
    for job in kit.jobs:
        chance = "nothing known yet" if job.chance is None else f"{job.chance:.0%}"
        lines.append(f"  {chance:>17}  {job.label}")
    low, high = (dollars(cost) for cost in kit.trips)
    lines += ["", f"A second trip costs {high if low == high else f'{low} to {high}'}."]
    loads = [line for line in kit.lines if line.load]
    lines += ["", "Load:" if loads else "Load nothing."]
    lines += [_line(f"{line.load} x", line, f"of {weekday}'s jobs") for line in loads]
    there = [line for line in kit.lines if not line.load]
    lines += ["", "Aboard:"] * bool(there)
    lines += [_line(f"{line.aboard} x", line, "of the jobs") for line in there]
    lines += ["", "Would help, and is not in the kit:"] * bool(kit.lacking)
    lines += [_line("", line, "of the jobs more") for line in kit.lacking]
    return lines


def _line(units: str, line: KitLine, of: str) -> str:
    number = f" ({line.number})" if line.number else ", no article kept"
    fits = f", fits with {line.fits:.0%}" if line.fits < 0.985 else ""
    rates = f"{line.without:.0%} without, {line.with_it:.0%} with it"
    money = f"saves {dollars(line.saves)}"
    carried = line.load or (line.can_be_had and not line.aboard)
    money += f", costs {dollars(line.carry)} to carry" if carried else ""
    return f"  {units:>4} {line.title}{number}: {line.share:.0%} {of}; {rates}{fits}; {money}"
