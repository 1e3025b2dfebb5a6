"""``tubside day``: who goes where in which order."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from tubside.cli.app_extra import require_app

if TYPE_CHECKING:
    from tubside.day.timetable import Visit
    from tubside.service.visits.shop_day import ShopDay


@click.command("day")
@click.argument("date", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE")
@click.option("--who", help="Only this technician's round.")
@click.option(
    "--data", metavar="FOLDER", help="Where the shop's data is: a folder, or postgresql://..."
)
def day_command(date: datetime, who: str | None, data: str | None) -> None:
    """Tell who goes where in which order on DATE, such as 2026-03-04.

    Each visit is told with the window promised, when it is likely to begin (eight of ten
    days) and the chance to be late. A day that has begun is planned from now on.
    """
    require_app()
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415  # start-up stays fast
    from tubside.service.visits.shop_day import Shop, shop_day  # noqa: PLC0415

    with shop_data(data) as (store, library):
        day = shop_day(Shop(store, library), date.date(), datetime.now(UTC))
    click.echo(f"{date:%A}, {date.day} {date:%B %Y}")
    for line in _told(day, who):
        click.echo(line)


def _told(day: ShopDay, who: str | None) -> list[str]:
    lines: list[str] = []
    labels = {one.job: one for one in day.visits}
    for one in day.plan.rounds:
        if who is not None and one.technician != who:
            continue
        back = day.at(one.finish.mean)
        way = f"{one.driving / 60:.0f} min and {one.metres / 1000:.1f} km on the road"
        lines += ["", f"{one.technician}: {way}, back about {back:%H:%M}"]
        for number, visit in enumerate(one.visits, 1):
            booked = labels[visit.stop]
            lines.append(f"  {number}. {_times(day, visit)}  {booked.label}, {booked.street}")
        lines += ["  no visits"] * (not one.visits)
    done = [one.label for one in day.visits if one.state != "to come"]
    lines += ["", f"Done or under way: {', '.join(done)}"] if done else []
    lines += [f"Nobody can go to {labels[x.stop].label}: {x.why}" for x in day.plan.left_out]
    notes = (*day.notes, day.unknown_note(who))
    return lines + [f"Note: {note}" for note in notes if note]


def _times(day: ShopDay, visit: Visit) -> str:
    low, high = day.at(visit.begins.low), day.at(visit.begins.high)
    promised = "no window"
    booked = next(one.visit for one in day.visits if one.job == visit.stop)
    if booked.arrive_from is not None and booked.arrive_until is not None:
        begin, end = (moment.astimezone() for moment in (booked.arrive_from, booked.arrive_until))
        promised = f"promised {begin:%H:%M} to {end:%H:%M}"
    return f"{low:%H:%M} to {high:%H:%M} ({promised}, late {visit.late:.0%})"
