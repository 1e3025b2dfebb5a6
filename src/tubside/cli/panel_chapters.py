"""``tubside panel chapters``: what to film for customers, with the clips for it."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from tubside.cli.own import own_option, place_of

if TYPE_CHECKING:
    from tubside.service.knowledge import Knowledge


@click.command("chapters")
@click.argument("name", metavar="FAMILY|MODEL")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder to write; a new or an empty one.",
)
@click.option("--width", default=640, show_default=True, help="Pixels across a clip.")
@click.option("--gif", is_flag=True, help="Clips as GIF instead of MP4.")
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@own_option
def chapters_command(
    *, name: str, out: Path, width: int, gif: bool, packs: Path | None, own: str | None
) -> None:
    """Write what to film for customers: a chapter for each thing that a model shows.

    For one MODEL, or for every model of a FAMILY. The folder has a page to film by
    (chapters.html), the words to read out (words.txt), and a clip and a still for each
    chapter. What can hurt comes before what to do; only steps for customers are there.
    """
    from tubside.service.moving.chapter_files import Lesson, files_of  # noqa: PLC0415  # heavy
    from tubside.service.moving.chapters import chapters_of, stop_words  # noqa: PLC0415

    if out.exists() and any(out.iterdir()):
        msg = f"the folder {out} is not empty; name a new one"
        raise click.UsageError(msg)
    title, known = _known(name, packs, own)
    clip: Literal["gif", "mp4"] = "gif" if gif or find_spec("av") is None else "mp4"
    chapters = chapters_of(known)
    stops = stop_words(next(iter(known.values())).pack)
    lesson = Lesson(f"{title}: what it shows, chapter by chapter", stops, chapters, clip, width)
    if clip == "gif" and not gif:
        click.echo(
            "the clips are GIFs without sound; for MP4: pip install 'tubside[recordings]'", err=True
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
        for file, content in files_of(lesson, known):
            (out / file).write_bytes(content)
    except OSError as wrong:
        raise click.FileError(str(out), hint=wrong.strerror) from wrong
    click.echo(f"{out}: {len(chapters)} chapters; begin with {out / 'chapters.html'}")


def _known(name: str, packs: Path | None, own: str | None) -> tuple[str, dict[str, Knowledge]]:
    """What it is called, and what is known of each model that is meant."""
    from tubside.pack.home import families  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.knowledge import (  # noqa: PLC0415
        knowledge_of_model,
        model_named,
        models,
    )
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    folders = own_folders(place_of(own))
    family = name.replace("-", "_")
    of_family = family in families(packs)
    names = (
        models(packs, folders.models) if of_family else [model_named(name, packs, folders.models)]
    )
    known = {one: knowledge_of_model(one, packs, folders.models, folders.layers) for one in names}
    if not of_family:
        ((_, only),) = known.items()
        return (only.panel.name if only.panel else name), known
    kept = {one: it for one, it in known.items() if it.pack.family == family}
    return next((it.pack.title for it in kept.values()), name), kept
