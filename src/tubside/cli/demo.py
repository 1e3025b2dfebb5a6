"""``tubside demo``: whole jobs played in the terminal, from the call to the confirmed cause."""

from __future__ import annotations

import click

SETS = 3000
"""Sets of causes looked at: fewer than in earnest, to be quick; each end tells what that leaves."""


@click.command("demo")
@click.option(
    "--no-serve", is_flag=True, help="End after the part in the terminal, as it always does today."
)
def demo_command(no_serve: bool) -> None:  # noqa: ARG001  # nothing is served yet
    """Show whole jobs by example.

    They are played in the terminal, from the call to the confirmed cause.
    The shop, the people and the machines are invented. What is really wrong is
    hidden in a small file; every step is chosen by the advice, none by a script.
    Nothing is asked, nothing is written, and every run says the same.
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
