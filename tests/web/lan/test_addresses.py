"""Tests of which addresses are served."""

from __future__ import annotations

import socket
from ipaddress import ip_address

import pytest

from tubside.errors import ServingError
from tubside.web.lan import addresses
from tubside.web.lan.addresses import Reach, chosen_reach, is_private, lan_reach


@pytest.mark.parametrize(
    ("address", "private"),
    [
        ("10.0.0.1", True),
        ("172.31.255.255", True),
        ("172.32.0.0", False),
        ("192.168.1.20", True),
        ("192.169.0.1", False),
        ("100.64.0.1", False),
        ("203.0.113.7", False),
        ("0.0.0.0", False),  # noqa: S104  # the very thing that is refused
        ("fd00::2", True),
        ("fe80::1", True),
        ("2001:db8::1", False),
        ("::", False),
        ("::ffff:10.0.0.1", False),
    ],
)
def test_private_addresses(address: str, private: bool) -> None:
    """Tests the private blocks at their edges."""
    assert is_private(ip_address(address)) is private


@pytest.mark.parametrize("word", ["0.0.0.0", "::", "203.0.113.7", "example.org", ""])  # noqa: S104
def test_other_addresses_are_refused(word: str) -> None:
    """Tests that a public address, all addresses and a name cannot be chosen."""
    with pytest.raises(ServingError):
        chosen_reach([word])


def test_own_addresses_that_phones_can_use(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that loopback, link-local and public addresses are left out."""
    own = ["127.0.0.1", "169.254.3.4", "203.0.113.7", "192.168.1.20", "192.168.1.20", "fd00::2"]
    monkeypatch.setattr(addresses, "_own_addresses", lambda: own)
    monkeypatch.setattr(socket, "gethostname", lambda: "Van.example")
    reach = lan_reach()
    assert reach.hosts() == ("192.168.1.20", "[fd00::2]", "van.local")


@pytest.mark.parametrize("hostname", ["", "-", "a_b", "x" * 64, "ä"])
def test_a_machine_without_a_proper_name(monkeypatch: pytest.MonkeyPatch, hostname: str) -> None:
    """Tests that a name that no certificate may carry is left out."""
    monkeypatch.setattr(socket, "gethostname", lambda: hostname)
    assert chosen_reach(["10.0.0.1"]) == Reach((ip_address("10.0.0.1"),), ())
