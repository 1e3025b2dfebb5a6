"""Whether a connection that lay idle still leads to its server, without asking the server."""

from __future__ import annotations

import selectors
from typing import TYPE_CHECKING

from sqlalchemy import Dialect, Engine, event
from sqlalchemy.exc import DBAPIError, InvalidatePoolError

if TYPE_CHECKING:
    from sqlalchemy.engine.interfaces import DBAPIConnection
    from sqlalchemy.pool import ConnectionPoolEntry, PoolProxiedConnection


def look_before_use(engine: Engine) -> Engine:
    """Let an engine of PostgreSQL look at a connection before it hands it out again.

    A server that ends, or ends a connection, says so: the socket of an idle connection has
    something to read then, and never else, but for rare news of the encryption. To ask
    the server each time would cost a way there and back for every transaction.
    """

    def looked_at(
        opened: DBAPIConnection, _entry: ConnectionPoolEntry, _proxy: PoolProxiedConnection
    ) -> None:
        if _has_news(opened.fileno()) and not _answers(engine.dialect, opened):
            raise InvalidatePoolError

    event.listen(engine, "checkout", looked_at)
    return engine


def _has_news(socket: int) -> bool:
    with selectors.DefaultSelector() as looking:
        looking.register(socket, selectors.EVENT_READ)
        return bool(looking.select(0))


def _answers(dialect: Dialect, opened: DBAPIConnection) -> bool:
    try:
        return dialect.do_ping(opened)
    except (DBAPIError, dialect.dbapi.Error):  # type: ignore[union-attr]  # there is a driver
        return False
