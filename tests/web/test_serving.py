"""Tests of serving on real sockets of 127.0.0.1."""

from __future__ import annotations

import http.client
import ssl
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
import uvicorn
from starlette.responses import PlainTextResponse
from starlette.types import Receive, Scope, Send

from tubside.errors import ServingError
from tubside.web.lan.addresses import Reach
from tubside.web.lan.authority import authority_in, server_files
from tubside.web.serving import LOOPBACK, Serving, beside, listen, port_of, refuse_open_door

NOW = datetime.now(UTC)
HERE = Reach((LOOPBACK,))


async def hello(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer with the scheme and the address of who asks."""
    if scope["type"] == "http":
        said = f"{scope['scheme']} {scope['client'][0]}"
        await PlainTextResponse(said)(scope, receive, send)


def wait_for(done: Callable[[], bool]) -> None:
    """Wait until something is so, for five seconds at most."""
    end = time.monotonic() + 5
    while not done() and time.monotonic() < end:
        time.sleep(0.02)
    assert done()


def up(server: uvicorn.Server) -> bool:
    """Return whether the server takes requests."""
    return server.started


def test_plain_http_on_this_machine() -> None:
    """Tests that a page arrives, that proxies are not believed and the server tells no name."""
    sockets = listen([LOOPBACK], 0)
    with beside(Serving(hello, sockets)) as server:
        wait_for(lambda: up(server))
        with closing(http.client.HTTPConnection("127.0.0.1", port_of(sockets), 5)) as client:
            lie = {"X-Forwarded-For": "10.9.9.9", "X-Forwarded-Proto": "https"}
            client.request("GET", "/", headers=lie)
            answer = client.getresponse()
            assert answer.read() == b"http 127.0.0.1"
            assert answer.getheader("server") is None


def test_a_certificate_is_renewed_while_serving(tmp_path: Path) -> None:
    """Tests TLS with the shop's authority, and a new certificate without a restart."""
    authority = authority_in(tmp_path, NOW)
    now = [NOW]
    sockets = listen([LOOPBACK], 0)
    serving = Serving(hello, sockets, lambda: server_files(tmp_path, authority, HERE, now[0]))
    trust = ssl.create_default_context(cafile=str(tmp_path / "authority.crt"))

    def seen() -> bytes:
        with closing(
            http.client.HTTPSConnection("127.0.0.1", port_of(sockets), timeout=5, context=trust)
        ) as client:
            client.request("GET", "/")
            assert client.getresponse().read() == b"https 127.0.0.1"
            assert isinstance(client.sock, ssl.SSLSocket)
            return client.sock.getpeercert(binary_form=True) or b""

    with beside(serving) as server:
        wait_for(lambda: up(server))
        first = seen()
        now[0] = NOW + timedelta(days=61)
        server.config.timeout_notify = 0
        # the new one begins 60 days from now, so a client of today cannot check it
        trust.check_hostname, trust.verify_mode = False, ssl.CERT_NONE
        wait_for(lambda: seen() != first)


def test_a_taken_port_is_told() -> None:
    """Tests that a port in use is told with what to do, and nothing stays open."""
    taken = listen([LOOPBACK], 0)
    try:
        with pytest.raises(ServingError, match="name another --port"):
            listen([LOOPBACK], port_of(taken))
    finally:
        taken[0].close()


@pytest.mark.parametrize("address", ["192.168.1.20", "fd00::2", "127.0.0.2", "::1"])
def test_no_open_door(address: str) -> None:
    """Tests that without a login no address but 127.0.0.1 is served."""
    with pytest.raises(ServingError, match="tubside user add"):
        refuse_open_door([LOOPBACK, ip_address(address)], has_logins=False)
    refuse_open_door([LOOPBACK, ip_address(address)], has_logins=True)
    refuse_open_door([LOOPBACK], has_logins=False)
