"""The app opened for this machine, or for the phones of the shop's own network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv4Address
from pathlib import Path
from typing import TYPE_CHECKING

from tubside.errors import ServingError
from tubside.service.library import Library
from tubside.service.logins import has_users
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.lan.addresses import Address, Reach, in_url
from tubside.web.security.guarding import Guarding
from tubside.web.security.hosts import LOOPBACK_HOSTS
from tubside.web.serving import LOOPBACK, Serving, listen, port_of, refuse_open_door

if TYPE_CHECKING:
    from tubside.web.lan.authority import Authority


@dataclass(frozen=True, slots=True)
class Shop:
    """What the pages stand on."""

    store: Store
    library: Library
    clock: Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Opened:
    """Sockets that listen, ready to be served, and the address to tell."""

    main: Serving
    address: str


@dataclass(frozen=True, slots=True)
class OpenedLan:
    """The same for a network: with its other addresses and the page of the certificate."""

    main: Serving
    address: str
    others: tuple[str, ...]
    trust: Serving
    trust_address: str
    fingerprint: str


def open_here(shop: Shop, port: int) -> Opened:
    """Open the app for this machine, over plain http.

    Raises
    ------
    ServingError
        When the port cannot be used.
    """
    refuse_open_door([LOOPBACK], has_logins=has_users(shop.store))
    app = create_app(Guarding(), shop.store, shop.library, shop.clock)
    sockets = listen([LOOPBACK], port)
    return Opened(Serving(app, sockets), f"http://127.0.0.1:{port_of(sockets)}/")


def open_lan(shop: Shop, reach: Reach, port: int, folder: Path) -> OpenedLan:
    """Open the app for a network over https, and the page of the certificate beside it.

    Parameters
    ----------
    reach
        The private addresses to serve at; this machine's own is added.
    port
        Of the app; the page of the certificate has the next one. 0 takes free ones.
    folder
        Where authority and certificate are kept.

    Raises
    ------
    ServingError
        When there is no account or no address, or a port or the authority cannot be used.
    """
    from tubside.web.lan.authority import (  # noqa: PLC0415  # without a network a start stays fast
        authority_in,
        server_files,
    )

    refuse_open_door(reach.addresses, has_logins=has_users(shop.store))
    if not reach.addresses:
        msg = "this machine has no private address; name one with --address"
        raise ServingError(msg)
    authority = authority_in(folder, shop.clock())
    here = Reach(tuple(dict.fromkeys([*reach.addresses, LOOPBACK])), (*reach.names, "localhost"))
    guarding = Guarding(LOOPBACK_HOSTS | set(here.hosts()), always_login=True)
    app = create_app(guarding, shop.store, shop.library, shop.clock)
    sockets = listen(here.addresses, port)
    first, *others = (f"https://{host}:{port_of(sockets)}/" for host in map(in_url, _told(reach)))
    main = Serving(app, sockets, lambda: server_files(folder, authority, here, shop.clock()))
    trust, trust_address = _open_trust(authority, reach, first, port and port + 1)
    return OpenedLan(main, first, tuple(others), trust, trust_address, authority.fingerprint())


def _open_trust(authority: Authority, reach: Reach, address: str, port: int) -> tuple[Serving, str]:
    from tubside.web.lan.trust_page import trust_app  # noqa: PLC0415  # as above

    sockets = listen(reach.addresses, port)
    serving = Serving(trust_app(authority, address, reach.hosts()), sockets)
    return serving, f"http://{in_url(_told(reach)[0])}:{port_of(sockets)}/"


def _told(reach: Reach) -> list[Address]:
    """Return the addresses in the order to tell them: the short ones first."""
    return sorted(reach.addresses, key=lambda address: not isinstance(address, IPv4Address))
