"""``tubside read sound``: notes and pulses of a machine, from a sound or a clip."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

SAID = {
    "notes": "Notes",
    "pulses": "Pulses",
    "mixed": "Notes, then pulses",
    "steady": "One steady tone",
    "none": "No message heard",
}


@click.command("sound")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def sound(file: Path, *, as_json: bool) -> None:
    """Tell what a machine sounds in FILE: notes, pulses, a steady tone, or nothing.

    FILE is an m4a, ogg, wav or mp3, or a clip with sound. Speech, music and the noise of the
    machine itself count as nothing. The first two minutes are read. docs/recordings.md tells
    how, and how often it is wrong.
    """
    from tubside.recordings.apart import read_apart  # noqa: PLC0415  # keeps --help quick

    told = read_apart("sound", [file])
    if as_json:
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for line in in_words(told):
        click.echo(line)


def in_words(told: dict[str, Any]) -> list[str]:
    """The answer in lines."""
    share = told["probability"][told["kind"]]
    lines = [f"{SAID[told['kind']]} ({100 * share:.0f} % likely, were all kinds as common)"]
    if told["notes"]:
        lines.append(f"{len(told['notes'])} notes:")
        lines += [
            f"  {one['start_s']:.2f} s: {one['pitch_hz']:.0f} Hz for {one['length_s']:.2f} s"
            for one in told["notes"]
        ]
    beeps = told["pulses"]
    if beeps is not None:
        groups = " + ".join(str(n) for n in beeps["groups"])
        every = "" if beeps["period_s"] is None else f", one every {beeps['period_s']:.2f} s"
        many = "1 pulse" if beeps["count"] == 1 else f"{beeps['count']} pulses ({groups})"
        lines.append(f"{many}{every}, at {beeps['pitch_hz']:.0f} Hz")
    if told["pitch_hz"] is not None:
        lines.append(f"at {told['pitch_hz']:.0f} Hz")
    return lines + [f"  {words}" for words in told["advice"]]
