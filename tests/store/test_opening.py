"""Tests of connections: one that its server ended is not handed out again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from time import sleep

import pytest
from sqlalchemy import text

from tubside.service.data_folder import open_data
from tubside.store import settings
from tubside.store.opening import Store

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
OTHERS = text(
    "SELECT count(*) FROM pg_stat_activity"
    " WHERE datname = current_database() AND pid <> pg_backend_pid()"
)
END_OTHERS = text(
    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity"
    " WHERE datname = current_database() AND pid <> pg_backend_pid()"
)


def end_others(store: Store) -> int:
    """End every other connection, and wait until the server says that they are gone."""
    with store.glancing() as ending:
        ended = int(ending.execute(END_OTHERS).scalar() or 0)
    for _ in range(200):
        with store.glancing() as looking:
            if looking.execute(OTHERS).scalar() == 0:
                return ended
        sleep(0.05)
    msg = "the server does not end the connections of the test"
    raise AssertionError(msg)


def test_connections_that_a_server_ended_are_made_anew(new_database: Callable[[], str]) -> None:
    """Tests that after a restart of the server nobody meets an error."""
    address = new_database()
    store, other = (open_data(address, lambda: NOON) for _ in range(2))
    with store.reading() as opened, store.glancing() as glanced:
        assert settings.setting(opened, "none") is None
        assert settings.setting(glanced, "none") is None
    assert end_others(other) == 2
    for _ in range(2):
        with store.writing() as opened:
            settings.keep_setting(opened, "name", "value")
        with store.reading() as opened:
            assert settings.setting(opened, "name") == "value"
    store.close()
    other.close()


def _note_in_vain(store: Store) -> None:
    with store.noting() as opened:
        settings.keep_setting(opened, "one", "11")
        raise KeyError


def test_notes_and_glances(store: Store) -> None:
    """Tests that a note is kept whole or not at all, and seen by a glance."""
    with store.noting() as opened:
        settings.keep_settings(opened, {"one": "1", "two": "2"})
    with pytest.raises(KeyError):
        _note_in_vain(store)
    with store.glancing() as opened:
        found = settings.settings_named(opened, ["one", "two", "three"])
    assert found == {"one": "1", "two": "2"}
