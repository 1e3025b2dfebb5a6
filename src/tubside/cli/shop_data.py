"""The shop's data opened for one command."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tubside.service.library import Library
    from tubside.store.opening import Store


@contextmanager
def shop_data(data: str | None) -> Iterator[tuple[Store, Library]]:
    """The store and the knowledge of a shop, closed at the end."""
    from tubside.service.data_folder import (  # noqa: PLC0415  # start-up stays fast
        default_folder,
        layers_folder,
        models_folder,
        open_data,
    )
    from tubside.service.library import Library  # noqa: PLC0415

    place = data or default_folder()
    store = open_data(place, lambda: datetime.now(UTC))
    try:
        yield store, Library(shop=models_folder(place), layers=layers_folder(place))
    finally:
        store.close()
