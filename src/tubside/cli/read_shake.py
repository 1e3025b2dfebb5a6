"""``tubside read shake``: bounces and damping of a tub, from a phone's log."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

MANY = 20


@click.command("shake")
@click.argument("log", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def shake(log: Path, *, as_json: bool) -> None:
    """Tell bounces, damping and frequency of a tub from LOG, a table of time, x, y and z.

    Columns may stand in any order and be separated by anything; units are guessed where the
    heading does not name them, and said. The phone lies on the tub, the plug is out, and
    the tub was pushed down once and let go. A log of an empty spin that speeds up tells
    its speed and resonance.
    """
    from tubside.recordings.apart import read_apart  # noqa: PLC0415  # keeps --help quick

    told = read_apart("shake", [log], {"name": str(log)})
    if as_json:
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for line in in_words(told):
        click.echo(line)


def in_words(told: dict[str, Any]) -> list[str]:
    """The answer in lines."""
    from tubside.service.shaking import whole_words  # noqa: PLC0415  # keeps --help quick

    lines = [f"{told['length_s']:.1f} s at {told['rate_hz']:.0f} samples a second; {told['units']}"]
    lines += [f"  {note}" for note in told["notes"]]
    ran = told["run_up"]
    if ran is not None:
        lines += _run_up(ran)
    elif told["bounces"] is not None:
        low, high = told["interval"]["bounces"]
        many = f"over {MANY}" if told["bounce_count"] > MANY else f"{told['bounce_count']:.1f}"
        whole = whole_words(told)
        eye = f", {whole} counted by eye" if whole else ""
        lines.append(f"Bounces to a tenth: {many} ({low:.1f} to {high:.1f}){eye}")
        low, high = told["interval"]["damping_ratio"]
        lines.append(f"Damping ratio: {told['damping_ratio']:.3f} ({low:.3f} to {high:.3f})")
        low, high = told["interval"]["frequency_hz"]
        lines.append(f"Natural frequency: {told['frequency_hz']:.2f} Hz ({low:.2f} to {high:.2f})")
        if told["by_tops"] is not None:
            lines.append(f"  by the tops of the swings alone: {told['by_tops']:.3f}")
    lines += [f"{flag[:1].upper()}{flag[1:]}." for flag in told["flags"]]
    return lines + [f"  {words}" for words in told["advice"]]


def _run_up(ran: dict[str, Any]) -> list[str]:
    lines = [f"Run-up to {ran['end_rpm']:.0f} rpm; first order {100 * ran['first_order']:.0f} %"]
    if ran["resonance_hz"] is not None:
        rpm = 60.0 * ran["resonance_hz"]
        lines.append(f"Resonance: {ran['resonance_hz']:.2f} Hz ({rpm:.0f} rpm)")
        lines.append(f"Damping ratio there: {ran['damping_ratio']:.2f}")
    return lines
