"""Numbers in words, the same on every face: chances, weights of evidence, money, minutes."""

from __future__ import annotations

import math
from typing import Literal

QUITE_POSSIBLE, POSSIBLE, UNLIKELY = 0.20, 0.08, 0.01
MOST_LIKELY = 0.25
"""The leading cause is called most likely from here on, if it also leads by a tenth."""
LEADS_BY = 1.1
STRONG_DB, SOME_DB, SLIGHT_DB = 9.5, 2.95, 0.45
"""What rounds to odds times ten (10 dB), times two (3 dB), and what nobody would notice
(bounds by judgement, no source)."""
MOST_DB = 40
MOST_BOUND = 0.25
"""A bound above this says too little to be told as a number (by judgement)."""
SURPRISES = ((0.2, "not at all"), (0.05, "a little"), (0.01, "very"), (0.0, "measure again"))
"""How surprising, from what share of readings less expected on (by judgement, no source)."""

ChanceWord = Literal["most likely", "quite possible", "possible", "unlikely", "under 1 %"]
Strength = Literal["strong", "some", "slight", "no weight"]


def chance_word(chance: float, runner_up: float | None = None) -> ChanceWord:
    """The plain word for a chance; ``runner_up`` is given for the leading cause alone.

    >>> chance_word(0.46, 0.21), chance_word(0.21), chance_word(0.05), chance_word(0.004)
    ('most likely', 'quite possible', 'unlikely', 'under 1 %')
    """
    if runner_up is not None and chance >= MOST_LIKELY and chance >= LEADS_BY * runner_up:
        return "most likely"
    if chance >= QUITE_POSSIBLE:
        return "quite possible"
    if chance >= POSSIBLE:
        return "possible"
    return "unlikely" if chance >= UNLIKELY else "under 1 %"


def percent(chance: float) -> str:
    """A chance in percent, never rounded to certainty.

    >>> percent(0.273), percent(0.0099), percent(0.0002), percent(0.9991)
    ('27 %', '0.9 %', 'under 0.1 %', 'over 99 %')
    """
    if chance > 0.99:
        return "over 99 %"
    if chance >= 0.01:
        return f"{100 * chance:.0f} %"
    return f"0.{int(1000 * chance)} %" if chance >= 0.001 else "under 0.1 %"


def at_most(bound: float) -> str:
    """An upper bound in percent, rounded up so that it stays one.

    >>> at_most(0.0011), at_most(0.00001), at_most(0.155)
    ('0.2 %', '0.1 %', '15.5 %')
    """
    tenths = max(-int(-1000 * bound // 1), 1)
    return f"{tenths / 10:.1f} %" if bound < 1 else "100 %"


def not_looked_at(bound: float) -> str:
    """What the sets of causes that were not looked at can weigh together.

    >>> not_looked_at(0.0447)
    'Sets of causes not looked at: at most 4.5 %.'
    >>> not_looked_at(0.6)
    'After these facts no useful bound is proven for sets of causes not looked at.'
    """
    if bound > MOST_BOUND:
        return "After these facts no useful bound is proven for sets of causes not looked at."
    return f"Sets of causes not looked at: at most {at_most(bound)}."


def strength(weight_db: float) -> Strength:
    """How much a weight of evidence says, whichever way.

    >>> strength(-12.0), strength(4.0), strength(0.1)
    ('strong', 'some', 'no weight')
    """
    size = abs(weight_db)
    if size >= STRONG_DB:
        return "strong"
    if size >= SOME_DB:
        return "some"
    return "slight" if size >= SLIGHT_DB else "no weight"


def decibans(weight_db: float) -> str:
    """A weight of evidence with its sign; what is all but proof is not told in figures.

    >>> decibans(6.6), decibans(-0.8), decibans(150.0), decibans(0.01)
    ('+7 dB', '-0.8 dB', 'over +40 dB', '0 dB')
    """
    if abs(weight_db) > MOST_DB:
        return f"over {'+' if weight_db > 0 else '-'}{MOST_DB} dB"
    if abs(weight_db) < 0.05:
        return "0 dB"
    digits = 0 if abs(weight_db) >= 2.95 else 1
    return f"{weight_db:+.{digits}f} dB"


def dollars(amount: float) -> str:
    """Money as the pack counts it; small sums keep a tenth.

    >>> dollars(2.6), dollars(134.4), dollars(1.0), dollars(0.0), dollars(8.96)
    ('2.6 dollars', '134 dollars', '1 dollar', 'nothing', '9 dollars')
    """
    if 0.0 < amount < 0.05:
        return "under 0.1 dollars"
    text = f"{amount:.1f}".removesuffix(".0") if amount < 9.95 else f"{amount:.0f}"
    if text == "0":
        return "nothing"
    return f"{text} dollar" if text == "1" else f"{text} dollars"


def minutes(count: float) -> str:
    """A time in minutes.

    >>> minutes(1.0), minutes(2.5), minutes(0.0), minutes(130.0)
    ('1 minute', '2.5 minutes', 'no time', '130 minutes')
    """
    text = f"{count:.1f}".removesuffix(".0")
    if text == "0":
        return "no time"
    return f"{text} minute" if text == "1" else f"{text} minutes"


def figures(number: float) -> str:
    """A measured number with three figures, whole where it is large.

    >>> figures(7.234), figures(0.0), figures(1234.6), figures(0.04567), figures(1200000.0)
    ('7.23', '0', '1235', '0.0457', '1200000')
    """
    if number == 0.0:
        return "0"
    if abs(number) >= 100.0:
        return f"{number:.0f}"
    return f"{number:.3g}"


def between(low: float, high: float) -> str:
    """Two ends of a range, no finer than its width asks for.

    >>> between(222.61, 237.7), between(29.2, 1982.0), between(0.0563, 0.249), between(7, 7.5)
    ('223 to 238', '29 to 2000', '0.056 to 0.25', '7.00 to 7.50')
    """
    texts = [_rounded(end, high - low) for end in (low, high)]
    return texts[0] if texts[0] == texts[1] else " to ".join(texts)


def _rounded(number: float, width: float) -> str:
    sizes = [abs(number) / 10.0, width / 10.0]
    least = min((size for size in sizes if size > 0.0), default=1.0)
    places = -math.floor(math.log10(least))
    return f"{round(number, places):.{max(places, 0)}f}"


def surprise_word(tail: float) -> str:
    """How surprised to be when so few readings would have been less expected.

    >>> surprise_word(0.87), surprise_word(0.1), surprise_word(0.02), surprise_word(0.001)
    ('not at all', 'a little', 'very', 'measure again')
    """
    return next(word for least, word in SURPRISES if tail >= least)
