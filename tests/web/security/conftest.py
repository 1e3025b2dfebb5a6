"""A store with accounts and one without, and a clock to move."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from asking import Clock, add_accounts, store_without_accounts
from tubside.store.opening import Store


@pytest.fixture
def clock() -> Clock:
    """Return a clock that stands at noon."""
    return Clock()


@pytest.fixture
def empty_store(tmp_path: Path) -> Iterator[Store]:
    """Return a store with no account."""
    store = store_without_accounts(tmp_path)
    yield store
    store.close()


@pytest.fixture
def login_store(empty_store: Store) -> Store:
    """Return a store with two accounts."""
    add_accounts(empty_store)
    return empty_store
