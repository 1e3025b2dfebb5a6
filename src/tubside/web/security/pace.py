"""How often strangers may ask: a bucket for each of them, and one for all together.

Kept in memory, because a restart hurts nobody; a flood from ever new addresses meets the
bucket of all, and drops the oldest of the others.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv6Address, ip_address, ip_network

from tubside.service.tries import Bucket, Rule, filled, one_less, wait_for_one

HOME_PREFIX = 64
"""Bits of an IPv6 address that a household holds one of (RFC 6177; from memory)."""


ONE, ALL = Rule(40, 1.0), Rule(400, 0.02)


@dataclass(frozen=True, slots=True)
class PaceRules:
    """At most so many requests, and so many senders remembered (common practice, no source)."""

    one: Rule = ONE
    all: Rule = ALL
    kept: int = 10_000


class Pace:
    """Counts requests; for one thread, that of the server's loop."""

    def __init__(self, clock: Callable[[], datetime], rules: PaceRules | None = None) -> None:
        self.clock = clock
        self.rules = rules or PaceRules()
        self.together = Bucket(self.rules.all.size, clock())
        self.each: OrderedDict[str, Bucket] = OrderedDict()

    def wait(self, address: str) -> float:
        """Count a request and return 0, or how long it has to wait [s] without counting it."""
        now, who = self.clock(), household(address)
        mine = filled(self.each.get(who, Bucket(self.rules.one.size, now)), self.rules.one, now)
        together = filled(self.together, self.rules.all, now)
        wait = max(wait_for_one(mine, self.rules.one), wait_for_one(together, self.rules.all))
        self.together = together if wait else one_less(together)
        self.each[who] = mine if wait else one_less(mine)
        self.each.move_to_end(who)
        while len(self.each) > self.rules.kept:
            self.each.popitem(last=False)
        return wait


def household(address: str) -> str:
    """What counts as one sender: an IPv4 address, or the network of an IPv6 one.

    >>> household("203.0.113.7"), household("2001:db8:1:2::9"), household("?")
    ('203.0.113.7', '2001:db8:1:2::/64', '')
    """
    try:
        found = ip_address(address)
    except ValueError:
        return ""
    if isinstance(found, IPv6Address):
        mapped = found.ipv4_mapped
        if mapped is not None:
            return str(mapped)
        return str(ip_network((found.packed, HOME_PREFIX), strict=False))
    return str(found)
