"""``tubside read spin``: spin speed, pump and bearings, from a sound or a clip."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

PUMP = {
    "loaded": "moving water",
    "free": "running free, with air in it",
    "blocked": "humming without moving water: held, or blocked",
    "silent": "no start or stop of it is heard",
}
STORED = click.Path(path_type=Path, exists=True, dir_okay=False)


@click.command("spin")
@click.argument("file", type=STORED)
@click.option("--before", type=STORED, help="An earlier recording of this machine: bearings.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def spin(file: Path, *, before: Path | None, as_json: bool) -> None:
    """Tell the spin speed in FILE and its course, what the pump does, and how bearings change.

    FILE is an m4a, ogg, wav or mp3, or a clip with sound. The pump is told from the change as
    it starts or stops; bearings only as a trend, against an earlier recording of the same
    machine at the same speed. docs/recordings.md tells how, and how often it is wrong.
    """
    from tubside.recordings.apart import read_apart  # noqa: PLC0415  # keeps --help quick

    told = read_apart("spin", [file] if before is None else [file, before])
    if as_json:
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for line in in_words(told):
        click.echo(line)


def in_words(told: dict[str, Any]) -> list[str]:
    """The answer in lines."""
    lines = []
    if told["rpm"] is None:
        lines.append("No steady spin heard")
    else:
        low, high = told["interval"]
        sure = 100 * told["probability"]
        lines.append(f"Spin: {told['rpm']:.0f} rpm ({low:.0f} to {high:.0f}; {sure:.0f} % likely)")
    ran = told["run_up"]
    if ran is not None:
        lines.append(
            f"Run-up from {ran['from_rpm']:.0f} to {ran['to_rpm']:.0f} rpm, "
            f"{ran['start_s']:.1f} to {ran['end_s']:.1f} s"
        )
    return [
        *lines,
        *_pump(told["pump"]),
        *_bearing(told["bearing"]),
        *(f"  {words}" for words in told["advice"]),
    ]


def _pump(pump: dict[str, Any] | None) -> list[str]:
    if pump is None:
        return []
    sure = 100 * pump["probability"][pump["state"]]
    when = "" if pump["change_s"] is None else f"; changes at {pump['change_s']:.1f} s"
    return [f"Pump, if this is one: {PUMP[pump['state']]} ({sure:.0f} % likely{when})"]


def _bearing(bearing: dict[str, Any] | None) -> list[str]:
    if bearing is None:
        return []
    lines = [f"Bearings: {bearing['trend']}"]
    for name, what in (("hiss", "High noise"), ("peaks", "Peaks in it")):
        if bearing[f"{name}_db"] is not None:
            low, high = bearing[f"{name}_interval"]
            lines.append(f"  {what}: {bearing[f'{name}_db']:+.1f} dB ({low:+.1f} to {high:+.1f})")
    return lines
