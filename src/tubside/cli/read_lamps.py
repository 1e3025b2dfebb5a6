"""``tubside read lamps``: what the lamps of a panel do, from clips of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from rich.console import RenderableType

    from tubside.cli.look import Marks

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("lamps")
@click.argument("clips", nargs=-1, required=True, type=FILE, metavar="CLIP...")
@click.option("--panel", type=FILE, help="The model's file: places the lamps that are not tapped.")
@click.option(
    "--taps",
    type=FILE,
    multiple=True,
    help='Where lamps are in the first frame: {"lamp id": [x, y], ...}; one file, or one a clip.',
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def lamps(
    *, clips: tuple[Path, ...], panel: Path | None, taps: tuple[Path, ...], as_json: bool
) -> None:
    """Tell what the lamps in CLIP do: off, steady, flashing, or unknown.

    A camera shows the lamps of many panels flickering or dark although they are lit; this
    tells what the eye would see, and says "unknown" where the clip cannot settle it. Tap the
    lamps in the first frame, as it is shown upright. Several clips of the same panel in the
    same state are read together. The probabilities are likelihoods under a flat prior.
    """
    from tubside.recordings.apart import read_apart  # noqa: PLC0415  # start-up stays fast

    answer = read_apart("lamps", clips, places(panel, taps))
    if as_json:
        import msgspec  # noqa: PLC0415

        click.echo(msgspec.json.format(msgspec.json.encode(answer)).decode())
        return
    _print(answer)


def places(panel: Path | None, taps: tuple[Path, ...]) -> dict[str, Any]:
    """Return the options of the reader: taps, and the panel's lamps where it has a file.

    Raises
    ------
    RecordingError
        No taps, or a file of taps that cannot be read.
    PanelError
        A panel's file that cannot be read.
    """
    from tubside.errors import RecordingError  # noqa: PLC0415
    from tubside.recordings.clip.extra import require_recordings  # noqa: PLC0415

    require_recordings()
    from tubside.recordings.clip.placing import drawn_lamps  # noqa: PLC0415
    from tubside.recordings.clip.taps import read_taps  # noqa: PLC0415

    if not taps:
        msg = 'say where the lamps are: --taps TAPS.json with {"lamp id": [x, y], ...} in pixels'
        raise RecordingError(msg + " of the first frame")
    told: dict[str, Any] = {"taps": [read_taps(path) for path in taps]}
    if panel is not None:
        drawn = drawn_lamps(panel).items()
        told["drawn"] = {name: {"x": at.x, "y": at.y, "size": at.size} for name, at in drawn}
    return told


def _print(answer: dict[str, Any]) -> None:
    """Print a table of the lamps, then the advice."""
    from tubside.cli.look import Flow, marks_of, page  # noqa: PLC0415

    console = page(None)
    console.print(table(answer, marks_of(console)))
    for line in answer["advice"]:
        console.print(Flow(f"{marks_of(console).bullet} {line}"))


def table(answer: dict[str, Any], marks: Marks) -> RenderableType:
    """Return the lamps as a table, one in a row."""
    from rich import box  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    shown = Table(box=box.ASCII if marks.poor else box.SIMPLE_HEAD, padding=(0, 2, 0, 0))
    for name in ("lamp", "state", "likelihood", "how it flashes"):
        shown.add_column(name, justify="right" if name == "likelihood" else "left")
    for name, lamp in answer["lamps"].items():
        likely = max(lamp["probability"].values())
        shown.add_row(name, lamp["state"], f"{100 * likely:.0f} %", marks.words(_how(lamp)))
    return shown


def _how(lamp: dict[str, Any]) -> str:
    """How one lamp flashes, in words; of an unknown one what it may be."""
    if lamp["state"] == "unknown":
        return "may be " + " or ".join(n for n, p in lamp["probability"].items() if p > 0.03)
    if lamp["state"] != "flashing":
        return ""
    told = []
    if lamp["counts"]:
        told.append("counts " + ", ".join(str(count) for count in lamp["counts"]))
    if lamp["period_s"] is not None:
        told.append(f"every {lamp['period_s']:.2f} s")
    if lamp["duty"] is not None:
        told.append(f"lit {100 * lamp['duty']:.0f} % of it")
    if lamp["group"] is not None:
        told.append(f"group {lamp['group']}")
    return ", ".join(told)
