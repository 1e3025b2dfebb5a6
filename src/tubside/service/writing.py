"""Facts into the store: checked, numbered, and appended all or none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Annotated

import msgspec
from msgspec import Meta
from sqlalchemy import Connection

from tubside.errors import FactClashError, FactError
from tubside.service.authors import Author, Written
from tubside.service.parts.using import stock_follows
from tubside.service.records import Body, Code, Moment, Ref, Retract, encoded, kind_of
from tubside.service.replay import row_of, seen_of
from tubside.store import facts as kept
from tubside.store import job_rows
from tubside.store.facts import FactRow

Number = Annotated[int, Meta(ge=1, le=2**53)]
MOST_DEVICES = 100


class _Authorship(msgspec.Struct, frozen=True):
    """What is allowed of a fact made elsewhere."""

    id: Ref
    device: Code
    sequence: Number
    at: Moment
    seen: Annotated[dict[Code, Annotated[int, Meta(ge=0, le=2**53)]], Meta(max_length=MOST_DEVICES)]
    computed_from: Annotated[str, Meta(pattern=r"\A[0-9a-f]{64}\Z")] | None


def append(connection: Connection, job: str, rows: Sequence[FactRow]) -> list[FactRow]:
    """Append facts and write the job's row in the list anew; those really added."""
    there = {row.id: row for row in kept.of_job(connection, job)}
    whole = {row.id: row for row in rows} | there
    if len(whole) == len(there):
        return kept.append(connection, rows)  # nothing new, unless one clashes
    job_rows.put(connection, row_of(job, list(whole.values())))
    added = kept.append(connection, rows)
    stock_follows(connection, job, list(whole.values()), added)
    return added


def append_new(
    connection: Connection,
    there: Mapping[str, Sequence[FactRow]],
    fresh: Mapping[str, Sequence[FactRow]],
) -> None:
    """Append facts of many jobs that were looked up already, and write their rows anew.

    Parameters
    ----------
    there
        Job -> all its facts that are kept, for every job that gets one.
    fresh
        Job -> its new facts.

    Raises
    ------
    FactClashError
        When a number of a device is taken; the transaction is lost then.
    """
    if not fresh:
        return
    whole = {job: [*there[job], *rows] for job, rows in fresh.items()}
    job_rows.put_all(connection, [row_of(job, rows) for job, rows in whole.items()])
    kept.insert_new(connection, [row for rows in fresh.values() for row in rows])
    for job, rows in whole.items():
        stock_follows(connection, job, rows, fresh[job])


def made_here(
    connection: Connection,
    job: str,
    author: Author,
    bodies: Sequence[Body],
    seen: Mapping[str, int] | None = None,
    computed_from: str | None = None,
) -> tuple[list[str], list[FactRow]]:
    """The ids of facts written on this server, and the rows of those not kept yet."""
    before = seen_of(kept.of_job(connection, job)) if seen is None else seen
    sequence, ids, rows = kept.next_sequence(connection, author.device), [], []
    for body in bodies:
        name, now = author.fresh_id(), author.clock()
        ids.append(name)
        if not _kept_already(connection, name, job, body):
            written = Written(name, author.device, sequence, now, before, computed_from)
            rows += list(made_elsewhere(job, [(written, body)], now))
            sequence += 1
    return ids, rows


def made_elsewhere(
    job: str, facts: Sequence[tuple[Written, Body]], now: Moment
) -> Iterator[FactRow]:
    """Rows of facts made on another device, each checked.

    Raises
    ------
    FactError
        When a body or its authorship is not allowed.
    """
    for written, body in facts:
        told = _checked(written)
        yield FactRow(
            id=told.id,
            job=job,
            device=told.device,
            sequence=told.sequence,
            at=told.at,
            seen=msgspec.json.encode(told.seen, order="sorted").decode(),
            kind=kind_of(body),
            body=encoded(body),
            retracts=body.fact if isinstance(body, Retract) else None,
            computed_from=told.computed_from,
            received_at=now,
        )


def _checked(written: Written) -> _Authorship:
    told = {**asdict(written), "seen": dict(written.seen)}
    try:
        return msgspec.json.decode(msgspec.json.encode(told), type=_Authorship)
    except (msgspec.MsgspecError, UnicodeError, OverflowError) as wrong:
        msg = f"this fact cannot be kept: {wrong}"
        raise FactError(msg) from None


def _kept_already(connection: Connection, name: str, job: str, body: Body) -> bool:
    there = kept.fact(connection, name)
    if there is not None and (there.job, there.body) != (job, encoded(body)):
        msg = f"another fact has the id {name}; give this one an id of its own"
        raise FactClashError(msg)
    return there is not None
