"""How often something may be done: a bucket of turns that fills up again, kept in the store."""

from __future__ import annotations

from datetime import datetime

from tubside.service.tries import Bucket, Rule, filled, one_less, wait_for_one
from tubside.store import logins as kept
from tubside.store.opening import Store


def take_turn(store: Store, key: str, rule: Rule, now: datetime) -> float:
    """Take one turn of a bucket; how long to wait [s], 0 when it was there to be taken."""
    with store.writing() as opened:
        row = kept.tries(opened, kept.TriesRow(key, float(rule.size), now))
        bucket = filled(Bucket(row.left, row.at), rule, now)
        missing = wait_for_one(bucket, rule)
        after = bucket if missing else one_less(bucket)
        kept.set_tries(opened, kept.TriesRow(key, after.left, after.at))
    return missing
