"""``tubside next``: a job's facts in a file -> what is wrong, and the next best step."""

from __future__ import annotations

from pathlib import Path

import click


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
def next_command(  # one parameter for each flag
    job: Path | None,
    *,
    as_json: bool,
    tree: bool,
    effort: int,
    family: str | None,
    packs: Path | None,
) -> None:
    """Tell what is probably wrong, why, and the next best step in money.

    JOB is a file of facts; docs/job-file.md tells what may stand in it.
    """
    if family is not None:
        _list(family, packs, as_json=as_json)
    elif job is None:
        msg = "name a job file, or a family with --list"
        raise click.UsageError(msg)
    else:
        _advise(job, packs, as_json=as_json, tree=tree, effort=effort)


def _advise(path: Path, packs: Path | None, *, as_json: bool, tree: bool, effort: int) -> None:
    import msgspec  # noqa: PLC0415  # heavy imports stay inside the command

    from tubside.service.advise import advise  # noqa: PLC0415
    from tubside.service.job_file import read_job  # noqa: PLC0415
    from tubside.service.knowledge import knowledge_of  # noqa: PLC0415
    from tubside.service.planning import plan_of  # noqa: PLC0415

    source = read_job(path)
    advice = advise(source, knowledge_of(source.job, packs))
    plan = plan_of(advice, effort)
    if as_json:
        from tubside.service.telling import as_data  # noqa: PLC0415

        told = msgspec.json.encode(as_data(advice, plan))
        click.echo(msgspec.json.format(told, indent=2).decode())
        return
    from tubside.cli.advice_page import print_advice  # noqa: PLC0415

    print_advice(advice, plan=plan, tree=tree)


def _list(family: str, packs: Path | None, *, as_json: bool) -> None:
    import msgspec  # noqa: PLC0415

    from tubside.service.knowledge import knowledge_of_family  # noqa: PLC0415
    from tubside.service.listing import listing, listing_lines  # noqa: PLC0415

    listed = listing(knowledge_of_family(family, packs))
    if as_json:
        click.echo(msgspec.json.format(msgspec.json.encode(listed), indent=2).decode())
    else:
        click.echo("\n".join(listing_lines(listed)))
