"""``tubside steady``: a clip again, its lamps as the eye would have seen them."""

from __future__ import annotations

from pathlib import Path

import click

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("steady")
@click.argument("clip", type=FILE)
@click.option("--panel", type=FILE, help="The model's file: places the lamps that are not tapped.")
@click.option(
    "--taps",
    type=FILE,
    required=True,
    help='Where lamps are in the first frame: {"lamp id": [x, y], ...}.',
)
@click.option("--out", type=FILE, required=True, help="Where to write: .mp4, .mov or .mkv.")
@click.option("--mark", is_flag=True, help="Ring each lamp, with its id and what it does.")
def steady_command(*, clip: Path, panel: Path | None, taps: Path, out: Path, mark: bool) -> None:
    """Write CLIP again with its lamps as the eye would have seen them.

    A lamp that is on stays on, a flashing one flashes at its real rate; all else is as it
    was, and sound is copied. Without a panel's file, any spots that are tapped are done so.
    Lamps of which the clip cannot tell what they do are left as they are.
    """
    from tubside.cli.look import Flow, marks_of, page  # noqa: PLC0415  # start-up stays fast
    from tubside.cli.read_lamps import table  # noqa: PLC0415
    from tubside.recordings.clip.extra import require_recordings  # noqa: PLC0415

    require_recordings()
    import msgspec  # noqa: PLC0415

    from tubside.recordings.clip.placing import drawn_lamps, placed  # noqa: PLC0415
    from tubside.recordings.clip.redrawing import steady  # noqa: PLC0415
    from tubside.recordings.clip.taps import read_taps  # noqa: PLC0415
    from tubside.recordings.lamps_in_clip import told  # noqa: PLC0415

    lamps = placed(read_taps(taps), None if panel is None else drawn_lamps(panel))
    read = told(steady(clip, lamps, out, marked=mark))
    console = page(None)
    console.print(table(msgspec.to_builtins(read), marks_of(console)))
    for line in read.advice:
        console.print(Flow(f"{marks_of(console).bullet} {line}"))
    console.print(Flow(f"Written to {out}"))
