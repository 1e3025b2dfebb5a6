"""``tubside learn --bring``: a list of old jobs looked at, or kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tubside.service.learning.bringing import Brought
    from tubside.service.learning.old_columns import Layout
    from tubside.service.library import Library

MOST_TOLD = 40


@dataclass(frozen=True, slots=True)
class Told:
    """What the options say of a list: columns, words, and the family of all its rows."""

    columns: tuple[str, ...]
    words: tuple[str, ...]
    family: str | None


def bring_list(file: Path, own: str | None, told: Told, *, keep: bool) -> None:
    """Look at a list of old jobs, and keep it whole if so wished."""
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.learning.bringing import bring_in, looked_at  # noqa: PLC0415

    content, now = file.read_bytes(), datetime.now(UTC)
    with shop_data(own or None) as (store, library):
        found = looked_at(store, library, content, now)
        if told.columns or told.words or told.family:
            layout = _layout(found, told, library)
            found = looked_at(store, library, content, now, layout)
        click.echo("\n".join(_lines(found)))
        if keep:
            kept = bring_in(store, library, content, now)
            click.echo(f"{kept.new} jobs brought in")
        elif found.good:
            click.echo("nothing was kept yet; add --keep to bring them in")


def _layout(found: Brought, told: Told, library: Library) -> Layout:
    """What was told before, with what the options say."""
    import msgspec  # noqa: PLC0415  # keeps start-up fast

    from tubside.service.learning.old_columns import FIELDS  # noqa: PLC0415
    from tubside.service.learning.old_rows import LEFT_OUT, UNKNOWN  # noqa: PLC0415

    columns = dict(found.layout.columns)
    meant = {field: dict(known) for field, known in found.layout.words.items()}
    for text in told.columns:
        field, column = _parted(text, "--column", "closed=Date")
        _need(field, list(FIELDS), "--column")
        _need(column, list(found.sheet.columns), "--column")
        columns[field] = column
    for text in told.words:
        place, meaning = _parted(text, "--word", "cause:belt off=belt")
        field, _, word = place.partition(":")
        _need(field, ["family", "cause", "complaint"], "--word")
        _need(meaning, [*_ids(field, word, library), LEFT_OUT, UNKNOWN], "--word")
        meant.setdefault(field, {})[word.casefold()] = meaning
    family = found.layout.family if told.family is None else told.family.replace("-", "_")
    if family:
        _need(family, list(library.families()), "--family")
    return msgspec.structs.replace(found.layout, columns=columns, words=meant, family=family)


def _ids(field: str, word: str, library: Library) -> list[str]:
    """What a word of a field may mean; a cause or a trouble may stand behind its family."""
    from tubside.pack.fault_model import HEALTHY_IDS  # noqa: PLC0415  # keeps start-up fast

    families = library.families()
    if field == "family":
        return list(families)
    first = word.partition("/")[0]
    some = [first] if first in families and first != word else families
    packs = [library.family(name).pack for name in some]
    told = [pack.causes if field == "cause" else pack.conditions for pack in packs]
    healthy = HEALTHY_IDS if field == "cause" else ()
    return [*healthy, *dict.fromkeys(name for names in told for name in names)]


def _parted(text: str, option: str, like: str) -> tuple[str, str]:
    first, sign, rest = text.rpartition("=")
    if not sign or not first or not rest:
        msg = f"{text!a} is not understood; write it like '{like}'"
        raise click.BadParameter(msg, param_hint=option)
    return first, rest


def _need(name: str, known: list[str], option: str) -> None:
    if name not in known:
        msg = f"{name!a} is none of {', '.join(known)}"
        raise click.BadParameter(msg, param_hint=option)


def _lines(found: Brought) -> Iterator[str]:
    sheet, taken = found.sheet, found.taken
    yield f"read as {sheet.encoding}, parted by {sheet.separator}, dates {found.layout.order}"
    yield "columns: " + ", ".join(sheet.columns)
    for field, column in found.layout.columns.items():
        yield f"  {field} from {column}"
    yield f"{len(taken.jobs)} jobs, {found.new} of them new; {taken.left_out} rows left out"
    if found.alike:
        lines = ", ".join(str(line) for line in found.alike[:MOST_TOLD])
        yield f"said before in every column, each counted as a job: lines {lines}"
    for problem in taken.problems[:MOST_TOLD]:
        yield f"  {problem}"
    for field, word, often in taken.unknown_words[:MOST_TOLD]:
        told = f"--word '{field}:{word}=ID'"
        yield f"  {field} {word!r} in {often} rows is not known; say {told}, or = - or = ?"
