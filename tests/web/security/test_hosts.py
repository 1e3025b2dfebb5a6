"""Tests that only our own names are answered."""

from __future__ import annotations

import pytest
from starlette.responses import PlainTextResponse

from asking import Asked, ask
from tubside.web.security.hosts import LOOPBACK_HOSTS, KnownHosts

APP = KnownHosts(PlainTextResponse("hello"), LOOPBACK_HOSTS)


@pytest.mark.parametrize(
    "host", [b"127.0.0.1", b"127.0.0.1:8321", b"localhost:1", b"LOCALHOST", b"[::1]:8321"]
)
def test_our_names_are_answered(host: bytes) -> None:
    """Tests that loopback addresses and localhost are ours, with any port."""
    assert ask(APP, Asked(host=host)).status == 200


@pytest.mark.parametrize(
    "host",
    [
        None,
        b"",
        b"elsewhere.example",
        b"127.0.0.1.elsewhere.example",
        b"127.0.0.1:8321@elsewhere.example",
        b"127.0.0.1:",
        b"127.0.0.1:999999",
        b"127.0.0.1, elsewhere.example",
        b"[::1",
        b"localhost/",
        b"\xff\xfe",
    ],
)
def test_other_names_are_refused(host: bytes | None) -> None:
    """Tests that a name pointed at us, a malformed one and none at all are refused."""
    assert ask(APP, Asked(host=host)).status == 421


def test_two_names_are_refused() -> None:
    """Tests that a second Host header is not overlooked."""
    assert ask(APP, Asked(headers=[(b"host", b"elsewhere.example")])).status == 421
