"""Open a store: connect, bring it up to date, and hand out transactions."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import Connection, Engine


@dataclass(frozen=True, slots=True)
class Store:
    """An open database, up to date; safe to share by threads."""

    engine: Engine

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one moment of the store."""
        raise NotImplementedError

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes, all or none; on disk when it ends without an error."""
        raise NotImplementedError

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()
