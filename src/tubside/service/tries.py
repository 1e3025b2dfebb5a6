"""A bucket of tries that fills up again with time: how often one may knock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Rule:
    """At most ``size`` tries at once, and one more every ``seconds``."""

    size: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Bucket:
    """Tries left at a moment; a fraction counts as time already waited."""

    left: float
    at: datetime


def filled(bucket: Bucket, rule: Rule, now: datetime) -> Bucket:
    """Return the bucket as it stands now; a clock that went back fills nothing."""
    waited = max(0.0, (now - bucket.at).total_seconds())
    return Bucket(min(float(rule.size), bucket.left + waited / rule.seconds), now)


def wait_for_one(bucket: Bucket, rule: Rule) -> float:
    """Return how long until the bucket holds a whole try [s], 0 if it does."""
    return max(0.0, (1.0 - bucket.left) * rule.seconds)


def one_less(bucket: Bucket) -> Bucket:
    """Return the bucket after one try."""
    return Bucket(bucket.left - 1.0, bucket.at)
