"""Single numbers lie in their range, and sums are what they must be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec

from tubside.errors import Problem
from tubside.pack.fault_model import HOW_OFTEN
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack
from tubside.strict_yaml import Path

SUM_TOLERANCE = 1e-6
CALLS = 1000.0
CALLS_TOLERANCE = 0.5
LEAST_FOLLOW = 1.0

Number = tuple[Path, float]
Row = Sequence[float] | Mapping[Any, float]

ABOVE_ZERO = {
    ("costs", "life_shape"),
    ("costs", "life_scale_years"),
    ("conditions", "leak"),
    ("causes", "weight"),
    ("causes", "shows"),
    ("causes", "ageing"),
    ("healthy", "weight"),
    ("stops", "up_to_years"),
}
"""Section and field that may not be zero; all numbers of a pack may not be negative."""

MOST: dict[tuple[str, str], float] = {("causes", "ageing"): 12.0, ("costs", "life_shape"): 12.0}
"""Section and field of shapes beyond which no life of a part is known; the largest number of
any other field is ``MOST_ELSE``, so that nothing computed from it overflows."""
MOST_ELSE = 1e7


def chances_outside(source: PackSource) -> Iterator[Problem]:
    """Yield probabilities outside [0, 1]."""
    for path, value in chances(source.pack):
        if not 0.0 <= value <= 1.0:
            what = f"{_say(path)} is {value:g}, which is no probability"
            yield source.document.problem(path, what, "write a number from 0 to 1")


def too_small(source: PackSource) -> Iterator[Problem]:
    """Yield numbers that are negative, or zero where there must be something."""
    for path, value in _amounts(source.pack):
        above = (path[0], path[-1]) in ABOVE_ZERO
        if value < 0.0 or (above and value == 0.0):
            mend = "write a number above 0" if above else "write 0 or more"
            yield source.document.problem(path, f"{_say(path)} is {value:g}", mend)


def too_large(source: PackSource) -> Iterator[Problem]:
    """Yield numbers beyond what can be meant."""
    for path, value in _amounts(source.pack):
        most = MOST.get((str(path[0]), str(path[-1])), MOST_ELSE)
        if not value <= most:
            mend = f"write a number of at most {most:g}"
            yield source.document.problem(path, f"{_say(path)} is {value:g}", mend)


def wrong_sums(source: PackSource) -> Iterator[Problem]:
    """Yield rows of probabilities that do not sum to one."""
    for path, row in _rows(source.pack):
        total = sum(row.values() if isinstance(row, Mapping) else row)
        if abs(total - 1.0) > SUM_TOLERANCE:
            mend = f"change it by {1.0 - total:+.6g} so that it sums to 1"
            yield source.document.problem(path, f"{_say(path)} sums to {total:.6g}", mend)


def calls_not_thousand(source: PackSource) -> Iterator[Problem]:
    """Yield weights of causes and healthy calls that do not sum to a thousand calls."""
    pack = source.pack
    total = sum(cause.weight for cause in pack.causes.values())
    total += sum(healthy.weight for healthy in pack.healthy.values())
    if abs(total - CALLS) > CALLS_TOLERANCE:
        what = f"the weights of causes and healthy calls sum to {total:g}"
        mend = f"change them by {CALLS - total:+g} so that they sum to {CALLS:g}"
        yield source.document.problem(("causes",), what, mend)


def said_too_much(source: PackSource) -> Iterator[Problem]:
    """Yield conditions said as others so often that nothing is left for themselves."""
    floors = source.pack.words.said_floor * (len(source.pack.conditions) - 1)
    for name, condition in source.pack.conditions.items():
        total = sum(condition.said_as.values()) + floors
        if total >= 1.0:
            what = f"condition '{name}' is said as others with chance {total:g}, floors included"
            mend = "leave something for itself"
            yield source.document.problem(("conditions", name, "said_as"), what, mend)


def how_often_incomplete(source: PackSource) -> Iterator[Problem]:
    """Yield healthy entries that do not say how often it happens."""
    for name, healthy in source.pack.healthy.items():
        missing = [word for word in HOW_OFTEN if word not in healthy.how_often]
        if missing:
            path = ("healthy", name, "how_often")
            yield source.document.problem(path, f"'{missing[0]}' is missing", "add it, 0 if never")


def prices_turned(source: PackSource) -> Iterator[Problem]:
    """Yield parts whose low price is above their high price."""
    for name, part in source.pack.parts.items():
        if part.price_low > part.price_high:
            what = f"part '{name}' costs at least {part.price_low:g}, at most {part.price_high:g}"
            yield source.document.problem(("parts", name), what, "swap the two prices")


def same_ranks(source: PackSource) -> Iterator[Problem]:
    """Yield conditions of one main stage that share a rank, so that no order is stated."""
    first: dict[tuple[str, int], str] = {}
    for name, condition in source.pack.conditions.items():
        key = (condition.stages[0] if condition.stages else "", condition.rank)
        other = first.setdefault(key, name)
        if other != name:
            what = f"conditions '{other}' and '{name}' have the same rank in stage '{key[0]}'"
            yield source.document.problem(("conditions", name, "rank"), what, "give each its own")


def weak_leads(source: PackSource) -> Iterator[Problem]:
    """Yield ``leads_to`` factors that do not raise the odds."""
    for name, cause in source.pack.causes.items():
        for follower, factor in cause.leads_to.items():
            if factor <= LEAST_FOLLOW:
                what = (
                    f"'{name}' leads to '{follower}' with factor {factor:g}, which raises nothing"
                )
                mend = "write a factor above 1 or remove it"
                yield source.document.problem(("causes", name, "leads_to", follower), what, mend)


def chances(pack: Pack) -> Iterator[Number]:
    """Yield every number of the pack that is a probability."""
    yield ("second_fault_share",), pack.second_fault_share
    for path, row in _rows(pack):
        yield from _spread(path, row)
    for field, value in msgspec.structs.asdict(pack.words).items():
        if field != "source":
            yield ("words", field), value
    for name, healthy in pack.healthy.items():
        yield ("healthy", name, "rerun_fails"), healthy.rerun_fails
    for name, condition in pack.conditions.items():
        yield ("conditions", name, "leak"), condition.leak
        yield from _spread(("conditions", name, "said_as"), condition.said_as)
    for name, cause in pack.causes.items():
        yield ("causes", name, "shows"), cause.shows
    for name, check in pack.checks.items():
        yield from _spread(("checks", name, "error"), check.error)
    yield from _clears(pack)


def _clears(pack: Pack) -> Iterator[Number]:
    for name, remedy in pack.remedies.items():
        for cause, clears in remedy.clears.items():
            for who, value in msgspec.structs.asdict(clears).items():
                if value is not None:
                    yield ("remedies", name, "clears", cause, who), value


def _rows(pack: Pack) -> Iterator[tuple[Path, Row]]:
    """Yield every row that must sum to one."""
    yield ("age_mix",), pack.age_mix
    for name, healthy in pack.healthy.items():
        yield ("healthy", name, "reported_as"), healthy.reported_as
        yield ("healthy", name, "how_often"), healthy.how_often
    for name, variant in pack.variants.items():
        shares = {value: variant.values[value].share for value in variant.values}
        yield ("variants", name, "values"), shares
    for name, cause in pack.causes.items():
        yield ("causes", name, "reported_as"), cause.reported_as
    for name, finding in pack.findings.items():
        yield ("findings", name, "healthy"), finding.healthy
        for cause_id, row in finding.causes.items():
            yield ("findings", name, "causes", cause_id), row


def _spread(path: Path, row: Row) -> Iterator[Number]:
    pairs = row.items() if isinstance(row, Mapping) else enumerate(row)
    for key, value in pairs:
        yield (*path, key), value


def _amounts(pack: Pack) -> Iterator[Number]:
    """Yield the numbers that are plain fields of records, of the pack's sections in turn."""
    for field, value in _numbers(pack.costs):
        yield ("costs", field), value
    sections = ("conditions", "causes", "healthy", "checks", "remedies", "stops", "parts", "covers")
    for section in sections:
        for name, record in getattr(pack, section).items():
            for field, value in _numbers(record):
                yield (section, name, field), value
    for section in ("checks", "remedies"):
        for name, step in getattr(pack, section).items():
            if step.customer_step is not None:
                yield (section, name, "customer_step", "litres"), step.customer_step.litres


def _numbers(record: msgspec.Struct) -> Iterator[tuple[str, float]]:
    for field in record.__struct_fields__:
        value = getattr(record, field)
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield field, value


def _say(path: Path) -> str:
    return "'" + ".".join(str(part) for part in path) + "'"


ERRORS = (
    chances_outside,
    too_small,
    too_large,
    wrong_sums,
    calls_not_thousand,
    said_too_much,
    how_often_incomplete,
    prices_turned,
    weak_leads,
)
WARNINGS = (same_ranks,)
