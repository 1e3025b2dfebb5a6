"""``tubside next``: a job's facts in a file -> what is wrong, and the next best step."""

from __future__ import annotations

from pathlib import Path
from typing import TypedDict, Unpack

import click

from tubside.cli.own import own_option, place_of, tell_unused


class Given(TypedDict):
    """The options as they were given."""

    as_json: bool
    tree: bool
    effort: int
    family: str | None
    packs: Path | None
    own: str | None


@click.command("next")
@click.argument("job", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of a page.")
@click.option("--tree", is_flag=True, help="Unfold the plan, branch by branch.")
@click.option(
    "--effort",
    type=click.IntRange(min=0),
    default=240,
    show_default=True,
    metavar="STEPS",
    help="Steps of the plan to work out before its cost is told; 0 tells the next step alone.",
)
@click.option("--list", "family", metavar="FAMILY", help="Print the ids a job file may use.")
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@own_option
def next_command(job: Path | None, **given: Unpack[Given]) -> None:
    """Tell what is probably wrong, why, and the next best step in money.

    JOB is a file of facts; docs/job-file.md tells what may stand in it.
    """
    if given["family"] is not None:
        _list(given["family"], given)
    elif job is None:
        msg = "name a job file, or a family with --list"
        raise click.UsageError(msg)
    else:
        _advise(job, given)


def _advise(path: Path, given: Given) -> None:
    import msgspec  # noqa: PLC0415  # heavy imports stay inside the command

    from tubside.service.advise import advise  # noqa: PLC0415
    from tubside.service.job_file import read_job  # noqa: PLC0415
    from tubside.service.knowledge import knowledge_of  # noqa: PLC0415
    from tubside.service.planning import plan_of  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    source, own = read_job(path), own_folders(place_of(given["own"]))
    known = knowledge_of(source.job, given["packs"], own.models, own.layers)
    tell_unused(known)
    advice = advise(source, known)
    plan = plan_of(advice, given["effort"])
    if given["as_json"]:
        from tubside.service.telling import as_data  # noqa: PLC0415

        told = msgspec.json.encode(as_data(advice, plan))
        click.echo(msgspec.json.format(told, indent=2).decode())
        return
    from tubside.cli.advice_page import print_advice  # noqa: PLC0415

    print_advice(advice, plan=plan, tree=given["tree"])


def _list(family: str, given: Given) -> None:
    import msgspec  # noqa: PLC0415

    from tubside.service.knowledge import knowledge_of_family  # noqa: PLC0415
    from tubside.service.listing import listing, listing_lines  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    own = own_folders(place_of(given["own"]))
    known = knowledge_of_family(family, given["packs"], own.layers)
    tell_unused(known)
    listed = listing(known)
    if given["as_json"]:
        click.echo(msgspec.json.format(msgspec.json.encode(listed), indent=2).decode())
    else:
        click.echo("\n".join(listing_lines(listed)))
