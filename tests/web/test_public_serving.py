"""Tests of opening the public pages: with a certificate, behind a proxy, and with mistakes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tubside.errors import ServingError
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.public_address import public_address
from tubside.web.lan.addresses import Reach
from tubside.web.lan.authority import ServerFiles, authority_in, server_files
from tubside.web.public_serving import PublicPlace, addresses_of, files_of, open_public
from tubside.web.serving import LOOPBACK
from tubside.web.shop import Opened, Shop

NAME = "quotes.mill.home.arpa"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """An empty shop."""
    now = datetime.now(UTC)
    store = open_data(tmp_path / "data", lambda: now)
    yield Shop(store, Library(), lambda: now)
    store.close()


@pytest.fixture
def files(shop: Shop, tmp_path: Path) -> ServerFiles:
    """A certificate of the name, and its key."""
    folder = tmp_path / "tls"
    authority = authority_in(folder, shop.clock())
    return server_files(folder, authority, Reach((LOOPBACK,), (NAME,)), shop.clock())


def closed(opened: Opened) -> str:
    """The address that was opened, closed again."""
    for one in opened.main.sockets:
        one.close()
    return opened.address


def test_behind_a_proxy(shop: Shop) -> None:
    """Tests that only 127.0.0.1 is listened at, and links begin with the name over https."""
    opened = open_public(shop, PublicPlace(NAME, 0))
    assert opened.main.certificate is None
    assert [one.getsockname()[0] for one in opened.main.sockets] == ["127.0.0.1"]
    assert closed(opened) == f"https://{NAME}" == public_address(shop.store)


def test_with_a_certificate(shop: Shop, files: ServerFiles) -> None:
    """Tests that the address tells the port, and that the given files are served."""
    opened = open_public(shop, PublicPlace(NAME, 0, files, (LOOPBACK,)))
    port = opened.main.sockets[0].getsockname()[1]
    assert opened.main.certificate is not None
    assert opened.main.certificate() == files
    assert closed(opened) == f"https://{NAME}:{port}"


def test_mistakes_are_told(shop: Shop, files: ServerFiles, tmp_path: Path) -> None:
    """Tests that a certificate that a browser would refuse is refused before it is served."""
    nothing = ServerFiles(tmp_path / "no.pem", files.key)
    old = Shop(shop.store, shop.library, lambda: datetime(2020, 1, 1, tzinfo=UTC))
    for place, of, told in (
        (PublicPlace("other.mill.home.arpa", 0, files), shop, "not for other.mill"),
        (PublicPlace(NAME, 0, nothing), shop, "cannot be used"),
        (PublicPlace(NAME, 0, files), old, "held until"),
        (PublicPlace(NAME, 0, None, (LOOPBACK,)), shop, "behind a proxy"),
        (PublicPlace("127.0.0.1", 0, files), shop, "is no name"),
    ):
        with pytest.raises(ServingError, match=told):
            open_public(of, place)
    with pytest.raises(ServingError, match="go together"):
        files_of(files.chain, None)
    with pytest.raises(ServingError, match="write it like"):
        addresses_of(["here"])
    assert public_address(shop.store) == ""
