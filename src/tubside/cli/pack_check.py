"""``tubside pack check``: every mistake of a pack, then what its numbers reproduce."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from tubside.cli.own import own_option, place_of
from tubside.errors import LayerFileError, PackError, Problem
from tubside.machine.contradictions import played_report
from tubside.pack.reading import PackSource, read_pack
from tubside.pack.report import prior_report
from tubside.service.pack_checking import checked_pack

EXIT_ERRORS = 1


@click.command("check")
@click.argument("folder", metavar="PATH", type=click.Path(path_type=Path, exists=True))
@own_option
@click.pass_context
def check_command(ctx: click.Context, folder: Path, own: str | None) -> None:
    """Tell what cannot be true in the pack in folder PATH.

    Errors come first, each with file and line, then warnings. A pack without
    errors is compiled, its machine plays 1,000 cycles with each cause that moves
    it, and what contradicts the causes' reports is told; then the shares that the
    pack's numbers reproduce are printed. The exit code is 1 if there are errors.
    With --shop or --data all this is told of the pack with the shop's changes on it.
    """
    try:
        source = _with_layer(read_pack(folder), own)
    except (PackError, LayerFileError) as wrong:
        _print_problems(wrong.problems, "error")
        ctx.exit(EXIT_ERRORS)
    found = checked_pack(source)
    _print_problems(found.errors, "error")
    _print_problems(found.warnings, "warning")
    if found.model is None or found.errors:
        ctx.exit(EXIT_ERRORS)
    lines = prior_report(source, found.model)
    if found.cycles is not None:
        lines += ["", *played_report(source, found.model, found.cycles)]
    click.echo("\n".join(lines))


def _with_layer(source: PackSource, own: str | None) -> PackSource:
    """The pack with the shop's layer on it, once its conflicts were told."""
    from tubside.pack.layer.applying import applied  # noqa: PLC0415  # most packs have none
    from tubside.pack.layer.conflicts import conflicts  # noqa: PLC0415
    from tubside.pack.layer.reading import read_layer  # noqa: PLC0415
    from tubside.service.layered_pack import layer_file  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    layers = own_folders(place_of(own)).layers
    file = None if layers is None else layer_file(layers, source.pack.family)
    if file is None or not file.is_file():
        return source
    layer = read_layer(file, source.pack.family)
    name = layer.document.place(()).file
    _print_problems([each.problem(name) for each in conflicts(source, layer)], "conflict")
    return applied(source, layer)


def _print_problems(problems: Sequence[Problem], kind: str) -> None:
    """Print problems with their kind, and how many there are."""
    for problem in problems:
        place = f"{problem.file}:{problem.line}"
        click.echo(f"{place}: {kind}: {problem.what}; {problem.mend}")
    if problems:
        click.echo(f"{len(problems)} {kind}{'s' if len(problems) > 1 else ''}\n")
