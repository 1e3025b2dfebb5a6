"""Tests of the address that customers' links begin with."""

from __future__ import annotations

from pathlib import Path

import pytest

from asking import NOON
from tubside.errors import ServingError
from tubside.service.data_folder import open_data
from tubside.service.public_address import checked_name, keep_public_address, public_address


def test_it_is_kept_and_forgotten(tmp_path: Path) -> None:
    """Tests that an address is kept in small letters, and that nothing forgets it."""
    store = open_data(tmp_path, lambda: NOON)
    assert public_address(store) == ""
    keep_public_address(store, "https://Quotes.Example.org:8443/")
    assert public_address(store) == "https://quotes.example.org:8443"
    keep_public_address(store, "")
    assert public_address(store) == ""
    for wrong in ("http://a.example", "https://a.example/b", "a.example", "https://a b.example"):
        with pytest.raises(ServingError, match="is no address"):
            keep_public_address(store, wrong)
    store.close()


@pytest.mark.parametrize("wrong", ["", "localhost", "203.0.113.7", "a.example/b", "a.example:1"])
def test_a_name_is_a_name(wrong: str) -> None:
    """Tests that addresses, ports and paths are no name to be reached under."""
    assert checked_name("Quotes.Example.org.") == "quotes.example.org"
    with pytest.raises(ServingError, match="is no name"):
        checked_name(wrong)
