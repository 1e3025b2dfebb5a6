"""``tubside learn``: what closed jobs say beside what the packs say."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from tubside.cli.own import home_of, own_option

if TYPE_CHECKING:
    from tubside.learning.counts import Counts
    from tubside.service.learning.above import Above
    from tubside.service.learning.learned import FamilyLearned, Offer


class Given(TypedDict):
    """The options as they were given."""

    own: str | None
    family: str | None
    all_of_it: bool
    as_json: bool
    export: Path | None
    bring: Path | None
    columns: tuple[str, ...]
    words: tuple[str, ...]
    keep: bool
    scheduler: str | None


@click.command("learn")
@click.argument("tables", nargs=-1, type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option("--family", help="Of this family alone; with --bring, where no column says it.")
@click.option("--all", "all_of_it", is_flag=True, help="Also what agrees, and what is thin.")
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of a page.")
@click.option(
    "--export",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the shop's closed jobs, a row each and nobody's name, to this new CSV file.",
)
@click.option(
    "--bring",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Look at a list of old jobs, in CSV of any columns, and tell what would be taken.",
)
@click.option("--keep", is_flag=True, help="With --bring: keep the list, whole or not at all.")
@click.option(
    "--column", "columns", multiple=True, metavar="FIELD=COLUMN", help="With --bring: remembered."
)
@click.option(
    "--word",
    "words",
    multiple=True,
    metavar="FIELD:WORD=ID",
    help="With --bring: what a word of the list means; - leaves its rows out, ? tells nothing.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Count TABLES on a Dask cluster, such as tcp://10.0.0.5:8786.",
)
@own_option
def learn_command(tables: tuple[Path, ...], **given: Unpack[Given]) -> None:
    """Tell what closed jobs say of the packs' numbers, and what would change.

    TABLES are rows of closed jobs, in .csv or .parquet, of several shops if you like;
    docs/learning.md names their columns. Without any, the shop's own jobs are read.
    Nothing is changed here: take a number over, leave it or pin it on the page "What our
    jobs say".
    """
    if tables and (given["own"] is not None or given["export"] or given["bring"]):
        msg = "name tables, or a shop with --shop or --data, not both"
        raise click.UsageError(msg)
    if given["bring"] is not None:
        from tubside.cli.learn_bring import Told, bring_list  # noqa: PLC0415  # keeps start-up fast

        told = Told(given["columns"], given["words"], given["family"])
        bring_list(given["bring"], given["own"], told, keep=given["keep"])
    elif given["export"] is not None:
        _export(given["own"], given["export"])
    else:
        above: list[Above] = []
        if tables:
            found = _of_tables(tables, given["scheduler"])
        else:
            found, above = _of_shop(given["own"])
        chosen = _chosen(found, given["family"])
        _tell(chosen, [it for it in above if it.family in {of.family for of in chosen}], given)


def _of_tables(tables: tuple[Path, ...], scheduler: str | None) -> list[FamilyLearned]:
    from tubside.service.learning.learned import learned  # noqa: PLC0415  # keeps start-up fast

    counts = _counted(tables, scheduler)
    return [learned(family, counts) for family in _families(counts)]


def _counted(tables: tuple[Path, ...], scheduler: str | None) -> Counts:
    """The counts of all tables; CSV needs no extra, Parquet and a cluster do."""
    if scheduler is not None:
        from tubside.learning.spreading import counts_shared, sharing  # noqa: PLC0415  # extras

        with sharing(1, scheduler) as executor:
            return counts_shared(tables, executor)
    from tubside.learning.counts import counted, merged  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.learning.job_table import jobs_in  # noqa: PLC0415

    columned = [table for table in tables if table.suffix.lower() == ".parquet"]
    batches = [counted(jobs_in(table)) for table in tables if table not in columned]
    if columned:
        from tubside.learning.from_tables import counts_of_tables  # noqa: PLC0415  # an extra

        batches.append(counts_of_tables(columned))
    return merged(batches)


def _of_shop(own: str | None) -> tuple[list[FamilyLearned], list[Above]]:
    """What the shop's jobs say, and what is suddenly above expectation."""
    from tubside.cli.pack_layer import layers_of  # noqa: PLC0415  # keeps start-up fast
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415
    from tubside.learning.counts import counted  # noqa: PLC0415
    from tubside.service.learning.above import look  # noqa: PLC0415
    from tubside.service.learning.decisions import decisions  # noqa: PLC0415
    from tubside.service.learning.learned import job_rows, learned  # noqa: PLC0415

    layers = layers_of(own or None, None)
    with shop_data(own or None) as (store, library):
        jobs = job_rows(store, library)
        counts = counted(jobs)
        found = [
            learned(family, counts, layers, decisions(store, family))
            for family in _families(counts)
        ]
        return found, look(store, library, jobs, datetime.now(UTC))


def _families(counts: Counts) -> list[str]:
    from tubside.pack.home import families  # noqa: PLC0415  # keeps start-up fast

    met = {key.family for key in counts.by_key}
    return [family for family in families(None) if family in met]


def _chosen(found: list[FamilyLearned], family: str | None) -> list[FamilyLearned]:
    wanted = None if family is None else family.replace("-", "_")
    return [one for one in found if wanted in {None, one.family}]


def _export(own: str | None, file: Path) -> None:
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.learning.job_table import job_table  # noqa: PLC0415
    from tubside.service.learning.learned import job_rows  # noqa: PLC0415

    with shop_data(str(home_of(own))) as (store, library):
        jobs = job_rows(store, library)
    try:
        with file.open("x", encoding="utf-8", newline="") as opened:
            opened.write(job_table(jobs))
    except OSError as wrong:
        raise click.FileError(str(file), hint=wrong.strerror) from wrong
    click.echo(f"{len(jobs)} closed jobs written to {file}")


def _tell(found: list[FamilyLearned], above: list[Above], given: Given) -> None:
    if given["as_json"]:
        click.echo(json.dumps([_data(one) for one in found], indent=2))
        return
    if not found:
        click.echo("no closed job to learn from yet")
    if above:
        click.echo(
            "\n".join(["More often than expected", *(f"  {it.words()}" for it in above), ""])
        )
    for one in found:
        click.echo("\n".join(_lines(one, all_of_it=given["all_of_it"])))


def _lines(of: FamilyLearned, *, all_of_it: bool) -> Iterator[str]:
    from tubside.service.learning.words import KINDS, evidence, says, title_of  # noqa: PLC0415

    pack = of.source.pack
    yield f"{pack.title}: {of.jobs} closed jobs, {of.doubtful} of them with a cause in doubt"
    shown = [it for it in of.offers if all_of_it or (it.moves and it.state in {"open", "pinned"})]
    if not shown:
        yield "  nothing that is surely other than the pack says"
    kind = ""
    for offer in shown:
        if offer.proposal.what != kind:
            kind = offer.proposal.what
            yield f"\n  {KINDS[offer.proposal.what]}"
        yield f"  {title_of(offer.proposal, pack)}{_state(offer)}"
        yield f"    {says(offer.proposal, pack)}"
        yield from (f"    {line}" for line in evidence(offer.proposal))
        yield from _moved(of, offer)
    if all_of_it:
        yield from _rates(of)
    yield ""


def _rates(of: FamilyLearned) -> Iterator[str]:
    from tubside.service.learning.words import (  # noqa: PLC0415  # keeps start-up fast
        cause_title,
        rate_words,
        telling_rates,
    )

    found = telling_rates(of.rates)
    if found:
        yield "\n  Cleared without a visit, and returns"
    for rate in found:
        yield f"  {cause_title(rate.cause, of.source.pack)}"
        yield f"    no visit {rate_words(rate.by_phone)}, a return {rate_words(rate.callback)}"


def _state(offer: Offer) -> str:
    words = {"open": "", "taken": "  [ours already]", "left": "  [left]", "pinned": "  [pinned]"}
    return words[offer.state]


def _moved(of: FamilyLearned, offer: Offer) -> Iterator[str]:
    from tubside.service.learning.learned import moved  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.wording import percent  # noqa: PLC0415

    for complaint, share in moved(of.source, offer.proposal) if offer.moves else []:
        title = of.source.pack.conditions[complaint].title
        interval = f"{percent(share.low)} to {percent(share.high)}"
        was, then = percent(share.before), percent(share.after)
        yield f"    of calls for '{title}': {was} now, {then} then ({interval})"


def _data(of: FamilyLearned) -> dict[str, object]:
    from dataclasses import asdict  # noqa: PLC0415  # only for plain data

    return {
        "family": of.family,
        "jobs": of.jobs,
        "in_doubt": of.doubtful,
        "proposals": [_proposal(of, offer) for offer in of.offers],
        "rates": [asdict(rate) for rate in of.rates],
    }


def _proposal(of: FamilyLearned, offer: Offer) -> dict[str, object]:
    from dataclasses import asdict  # noqa: PLC0415  # only for plain data

    from tubside.service.learning.learned import moved  # noqa: PLC0415

    told = asdict(offer.proposal)
    told["edits"] = [[" / ".join(target), value] for target, value in offer.proposal.edits]
    shares = moved(of.source, offer.proposal) if offer.moves else []
    moves = [{"complaint": complaint, **asdict(share)} for complaint, share in shares]
    return {**told, "state": offer.state, "moves": offer.moves, "shares": moves}
