"""``tubside panel show``: an indication, or all of a model, as a picture to give away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack, cast

import click

from tubside.cli.own import own_option, place_of, tell_unused

if TYPE_CHECKING:
    from tubside.service.knowledge import Knowledge
    from tubside.service.moving.showing import Asked, Kind, Paper


class Given(TypedDict):
    """The options as they were given."""

    model: str
    indication: str | None
    kind: str | None
    every: bool
    out: Path | None
    width: int
    speed: float
    seconds: float
    still: bool
    bare: bool
    silent: bool
    photo: bool
    paper: str
    packs: Path | None
    own: str | None


@click.command("show")
@click.argument("model", metavar="MODEL")
@click.argument("indication", metavar="[INDICATION]", required=False)
@click.option("--svg", "kind", flag_value="svg", help="A drawing that blinks by itself.")
@click.option("--gif", "kind", flag_value="gif", help="A picture that moves, for messages.")
@click.option("--mp4", "kind", flag_value="mp4", help="A clip with sound, for any phone.")
@click.option("--png", "kind", flag_value="png", help="A still with circles and words.")
@click.option("--pdf", "kind", flag_value="pdf", help="The still as a page to print.")
@click.option("--all", "every", is_flag=True, help="All indications at once: svg, png, pdf.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="File to write.")
@click.option("--width", default=640, show_default=True, help="Pixels across.")
@click.option("--speed", default=1.0, show_default=True, help="Times as fast as in life.")
@click.option("--seconds", default=12.0, show_default=True, help="Least length of an MP4.")
@click.option("--still", is_flag=True, help="An SVG that holds still, with circles.")
@click.option("--bare", is_flag=True, help="Without words of states and sound, as for a test.")
@click.option("--silent", is_flag=True, help="An MP4 without the sound.")
@click.option("--photo", is_flag=True, help="On the shop's photo of the model.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "us-letter"]),
    default="a4",
    show_default=True,
    help="Size of a PDF's pages.",
)
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@own_option
def show_command(**given: Unpack[Given]) -> None:
    """Draw what MODEL shows: one INDICATION, or all of them at once.

    INDICATION is its id, or the condition that it means; without one, or without a
    kind of file, they are listed. Lamps flash as on the machine up to three times a
    second, and slower than life above that; the file says both rates.
    """
    known, name, folder = _known(given)
    kind = _kind(given)
    if kind is None or (given["indication"] is None and not given["every"]):
        _list(known, name)
        return
    from tubside.service.moving.showing import (  # noqa: PLC0415  # heavy, only to draw
        indication_named,
        overview,
        photo_of,
        shown,
    )

    assert known.panel is not None
    photo = photo_of(name, folder) if given["photo"] else None
    asked = _asked(given, kind, photo)
    if given["every"]:
        content, what = overview(known.panel, known.pack, asked), "all"
    else:
        what = indication_named(known, str(given["indication"]))
        content = shown(known.panel, what, asked)
    place = given["out"] or Path(f"{name}-{what}.{kind}")
    _write(place, content)
    click.echo(f"{place}: {len(content) / 1000:.0f} kB{_speed(known, what, given)}")


def _known(given: Given) -> tuple[Knowledge, str, Path | None]:
    """What is known of the model, its id, and the folder of the shop's own models."""
    from tubside.service.knowledge import knowledge_of_model, model_named  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    own = own_folders(place_of(given["own"]))
    name = model_named(given["model"], given["packs"], own.models)
    known = knowledge_of_model(name, given["packs"], own.models, own.layers)
    tell_unused(known)
    return known, name, own.models


def _kind(given: Given) -> Kind | None:
    """The kind of file that was named, or that the file's own name tells."""
    from tubside.service.moving.showing import KINDS  # noqa: PLC0415  # heavy

    out = given["out"]
    told = given["kind"] or (out.suffix.lstrip(".").lower() if out else None)
    if told is None or told in KINDS:
        return told
    msg = f"a file of the kind '{told}' is not drawn; take one of {', '.join(KINDS)}"
    raise click.UsageError(msg)


def _asked(given: Given, kind: Kind, photo: bytes | None) -> Asked:
    from tubside.panel.moving.pictures import Wish  # noqa: PLC0415  # heavy
    from tubside.service.moving.showing import Asked  # noqa: PLC0415  # heavy

    return Asked(
        kind,
        Wish(given["width"], given["speed"], words=not given["bare"]),
        still=given["still"],
        silent=given["silent"],
        at_least_s=given["seconds"],
        photo=photo,
        paper=cast("Paper", given["paper"]),
    )


def _speed(known: Knowledge, what: str, given: Given) -> str:
    from tubside.panel.moving.loop import loop_of  # noqa: PLC0415  # heavy
    from tubside.panel.moving.pictures import told  # noqa: PLC0415  # heavy

    assert known.panel is not None
    return "" if given["every"] else f"; {told(loop_of(known.panel, what, given['speed']))}"


def _list(known: Knowledge, name: str) -> None:
    from tubside.panel.wording import in_short  # noqa: PLC0415
    from tubside.service.moving.showing import meaning  # noqa: PLC0415  # heavy

    panel = known.panel
    assert panel is not None
    click.echo(f"{panel.name} ({name})\n")
    for one in panel.indications:
        looks = in_short(panel, panel.lights(one))
        click.echo(f"  {one:<26} {looks}\n{'':<29}{meaning(panel, known.pack, one)}")
    click.echo("\nDraw one with --svg, --gif, --mp4, --png or --pdf, or all with --all.")


def _write(place: Path, content: bytes) -> None:
    try:
        place.write_bytes(content)
    except OSError as wrong:
        raise click.FileError(str(place), hint=wrong.strerror) from wrong
