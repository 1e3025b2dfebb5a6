"""``tubside demo``: whole jobs played in the terminal, from the call to the confirmed cause."""

from __future__ import annotations

import click

SETS = 3000
"""Sets of causes looked at: fewer than in earnest, to be quick; each end tells what that leaves."""


@click.command("demo")
@click.option("--no-serve", is_flag=True, help="End after the part in the terminal.")
def demo_command(no_serve: bool) -> None:
    """Show whole jobs by example.

    They are played in the terminal, from the call to the confirmed cause.
    The shop, the people and the machines are invented. What is really wrong is
    hidden in a small file; every step is chosen by the advice, none by a script.
    Nothing is asked, and every run says the same.

    At the end the pages are served to this machine with twelve jobs in them, until
    Ctrl+C; the database behind them is thrown away.
    """
    from tubside.cli.demo_job import demo_jobs  # noqa: PLC0415  # heavy imports stay inside
    from tubside.cli.look import page  # noqa: PLC0415
    from tubside.cli.play_page import print_closing, print_opening, print_played  # noqa: PLC0415
    from tubside.service.knowledge import knowledge_of  # noqa: PLC0415
    from tubside.service.play import play  # noqa: PLC0415

    console = page(None)
    jobs = demo_jobs()
    print_opening(console, len(jobs))
    for number, job in enumerate(jobs, start=1):
        played = play(job.source, knowledge_of(job.source.job), job.file.truth, SETS)
        print_played(console, number, job.file, played)
    print_closing(console)
    if not no_serve:
        _serve_shop()


def _serve_shop() -> None:
    from tubside.cli.app_extra import app_is_there  # noqa: PLC0415
    from tubside.cli.serve import serve_demo_shop  # noqa: PLC0415

    if app_is_there():
        serve_demo_shop()
    else:
        click.echo("To see the demo shop on pages: pip install 'tubside[app]'")
