"""How often strangers may ask: a bucket for each of them, and one for all together.

Of a file of data there is one public server, which keeps them in memory: a restart hurts
nobody. Several servers before one PostgreSQL share them there, so that whoever asks them all
in turn is as slow as with one. A flood from ever new addresses meets the bucket of all.
"""

from __future__ import annotations

import itertools
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network

from tubside.service.tries import Bucket, Rule, filled, one_less, wait_for_one
from tubside.store import logins as kept
from tubside.store.opening import Store

HOME_PREFIX = 64
"""Bits of an IPv6 address that a household holds one of (RFC 6177; from memory)."""


EVERYBODY, SENDER = "pace.all", "pace.of:"
"""Keys of the buckets in the store."""
FORGET_EVERY, FORGET_AFTER = 200, timedelta(minutes=10)
"""Requests between two clearings, and the age by which every sender's bucket is full again."""
ONE, ALL = Rule(40, 1.0), Rule(400, 0.02)


@dataclass(frozen=True, slots=True)
class PaceRules:
    """At most so many requests, and so many senders remembered (common practice, no source)."""

    one: Rule = ONE
    all: Rule = ALL
    kept: int = 10_000


class Pace:
    """Counts requests in memory; for one thread, that of the server's loop."""

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


class SharedPace:
    """Counts requests in the store, for every server before it; safe to share by threads."""

    def __init__(
        self, store: Store, clock: Callable[[], datetime], rules: PaceRules | None = None
    ) -> None:
        self.store = store
        self.clock = clock
        self.rules = rules or PaceRules()
        self._count = itertools.count(1)

    def wait(self, address: str) -> float:
        """Count a request and return 0, or how long it has to wait [s] without counting it."""
        now, who = self.clock(), SENDER + household(address)
        rules = {EVERYBODY: self.rules.all, who: self.rules.one}
        with self.store.noting() as opened:
            if next(self._count) % FORGET_EVERY == 0:
                kept.forget_tries(opened, now - FORGET_AFTER, SENDER)
            there = kept.held_tries(opened, list(rules))
            buckets = {
                key: filled(_bucket(there.get(key), rule, now), rule, now)
                for key, rule in rules.items()
            }
            wait = max(wait_for_one(buckets[key], rule) for key, rule in rules.items())
            if not wait:
                left = {key: one_less(bucket) for key, bucket in buckets.items()}
                rows = [kept.TriesRow(key, one.left, one.at) for key, one in left.items()]
                kept.put_tries(opened, rows)
        return wait


def pace_of(store: Store, clock: Callable[[], datetime]) -> Pace | SharedPace:
    """How requests are counted before this store."""
    return Pace(clock) if store.file is not None else SharedPace(store, clock)


def _bucket(row: kept.TriesRow | None, rule: Rule, now: datetime) -> Bucket:
    return Bucket(rule.size, now) if row is None else Bucket(row.left, row.at)


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
