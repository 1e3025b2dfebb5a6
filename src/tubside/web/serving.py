"""Run the app on sockets of its own, with a certificate that is renewed while it runs."""

from __future__ import annotations

import contextlib
import socket
import ssl
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from threading import Thread
from typing import TYPE_CHECKING

import uvicorn
from starlette.types import ASGIApp

from tubside.errors import ServingError
from tubside.web.lan.addresses import Address, in_url

if TYPE_CHECKING:
    from tubside.web.lan.authority import ServerFiles

LOOPBACK = ip_address("127.0.0.1")
LOOK_AT_CERTIFICATE = 3600
"""Seconds between two looks at whether the certificate is due."""


@dataclass(frozen=True, slots=True)
class Serving:
    """What is served: the app, where, and the certificate (None: plain http)."""

    app: ASGIApp
    sockets: tuple[socket.socket, ...]
    certificate: Callable[[], ServerFiles] | None = None
    """Gives the files of a certificate that is good now."""


def refuse_open_door(addresses: Sequence[Address], *, has_logins: bool) -> None:
    """Refuse to be reachable by others while nobody needs to log in.

    Raises
    ------
    ServingError
        When an address is not 127.0.0.1 and there is no account.
    """
    if not has_logins and any(address != LOOPBACK for address in addresses):
        msg = (
            "without a login Tubside is served to this machine only (127.0.0.1); "
            "add an account first: tubside user add NAME"
        )
        raise ServingError(msg)


def listen(addresses: Sequence[Address], port: int) -> tuple[socket.socket, ...]:
    """Return one listening socket an address; port 0 takes a free one.

    Raises
    ------
    ServingError
        When the port is taken or may not be used.
    """
    sockets: list[socket.socket] = []
    for address in addresses:
        try:
            sockets.append(_bound(address, port))
        except OSError as wrong:
            for opened in sockets:
                opened.close()
            why = (wrong.strerror or str(wrong)).lower()
            msg = f"cannot serve at {in_url(address)}:{port} ({why}); name another --port"
            raise ServingError(msg) from None
    return tuple(sockets)


def _bound(address: Address, port: int) -> socket.socket:
    opened = socket.socket(socket.AF_INET if address.version == 4 else socket.AF_INET6)
    try:
        opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if address.version == 6:  # so that 0.0.0.0 and :: can be served side by side
            opened.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        opened.bind((str(address), port))
        opened.listen(128)
    except OSError:
        opened.close()
        raise
    return opened


def port_of(sockets: Sequence[socket.socket]) -> int:
    """Return the port that the first socket listens on."""
    return int(sockets[0].getsockname()[1])


def server_of(serving: Serving) -> uvicorn.Server:
    """Return a server that trusts no proxy header and tells nobody what it is."""
    context = None if serving.certificate is None else _context(serving.certificate())

    async def renew() -> None:
        if context is not None and serving.certificate is not None:
            files = serving.certificate()
            # one that is being replaced just now is taken an hour later
            with contextlib.suppress(OSError, ssl.SSLError):
                context.load_cert_chain(files.chain, files.key)

    config = uvicorn.Config(
        serving.app,
        http="h11",
        ws="none",
        log_level="warning",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        limit_concurrency=200,
        timeout_graceful_shutdown=3,
        callback_notify=renew,
        timeout_notify=LOOK_AT_CERTIFICATE,
        ssl_context_factory=None if context is None else lambda _config, _default: context,
    )
    return uvicorn.Server(config)


def _context(files: ServerFiles) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(files.chain, files.key)
    return context


@contextlib.contextmanager
def beside(serving: Serving) -> Iterator[uvicorn.Server]:
    """Serve in a thread of its own while the block runs."""
    server = server_of(serving)
    thread = Thread(target=server.run, args=(list(serving.sockets),), daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.should_exit = True
        thread.join(timeout=10)


def serve(main: Serving, side: Sequence[Serving] = ()) -> None:
    """Serve until told to stop (Ctrl+C or SIGTERM); ``side`` ends with the main one."""
    with contextlib.ExitStack() as stack, contextlib.suppress(KeyboardInterrupt):
        for serving in side:
            stack.enter_context(beside(serving))
        server_of(main).run(list(main.sockets))
