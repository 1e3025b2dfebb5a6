"""Which private addresses and names this machine has on its local network."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

from tubside.errors import ServingError

Address = IPv4Address | IPv6Address

PRIVATE = tuple(
    ip_network(block)
    for block in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "fc00::/7",
        "fe80::/10",
        "::1/128",
    )
)
"""Private, loopback and link-local blocks (RFC 1918, 1122, 3927, 4193, 4291)."""
LOCAL_SUFFIXES = ("localhost", "local", "lan", "home.arpa")
"""Names that are local by standard or habit (RFC 6761, 6762, 8375; .lan: common practice)."""
LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
NOWHERE = (("10.255.255.255", socket.AF_INET), ("fd00::ffff", socket.AF_INET6))


@dataclass(frozen=True, slots=True)
class Reach:
    """Under what this machine is reached: addresses to bind to, and names beside them."""

    addresses: tuple[Address, ...]
    names: tuple[str, ...] = ()

    def hosts(self) -> tuple[str, ...]:
        """Return all that may stand in a ``Host`` header."""
        return (*map(in_url, self.addresses), *self.names)


def in_url(address: Address) -> str:
    """Return an address as an URL writes it: IPv6 in square brackets."""
    return f"[{address}]" if isinstance(address, IPv6Address) else str(address)


def is_private(address: Address) -> bool:
    """Return whether an address lies in one of the private blocks."""
    return any(address in block for block in PRIVATE if block.version == address.version)


def lan_reach() -> Reach:
    """Return the private addresses that lead out of this machine, and its .local name."""
    found = dict.fromkeys(filter(_leads_out, map(ip_address, _own_addresses())))
    return Reach(tuple(found), tuple(_local_names(socket.gethostname())))


def chosen_reach(words: Iterable[str]) -> Reach:
    """Return the addresses that somebody named.

    Raises
    ------
    ServingError
        For what is no address, or one that is not private.
    """
    return Reach(tuple(map(_chosen, words)), tuple(_local_names(socket.gethostname())))


def _chosen(word: str) -> Address:
    try:
        address = ip_address(word)
    except ValueError:
        msg = f"'{word}' is no address; write one such as 192.168.1.20"
        raise ServingError(msg) from None
    if not is_private(address):
        msg = f"{word} is not a private address; Tubside serves a local network only"
        raise ServingError(msg)
    return address


def _leads_out(address: Address) -> bool:
    """Return whether a phone could use the address: link-local ones need a zone."""
    return is_private(address) and not (address.is_loopback or address.is_link_local)


def _own_addresses() -> list[str]:
    """Return the addresses by which this machine would leave; no packet is sent."""
    found = []
    for target, kind in NOWHERE:
        try:
            with socket.socket(kind, socket.SOCK_DGRAM) as probe:
                probe.connect((target, 9))
                found.append(probe.getsockname()[0])
        except OSError:
            continue
    return found


def _local_names(hostname: str) -> list[str]:
    """Return the name that multicast DNS would give this machine, when it could be one."""
    label = hostname.lower().partition(".")[0]
    return [f"{label}.local"] if LABEL.fullmatch(label) else []
