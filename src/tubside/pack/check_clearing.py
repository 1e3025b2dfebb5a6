"""Every cause can be cleared, and those who are said to clear it can."""

from __future__ import annotations

from collections.abc import Iterator

from tubside.errors import Problem
from tubside.pack.fault_model import OBSERVERS
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack

ALIKE = 0.05


def never_cleared(source: PackSource) -> Iterator[Problem]:
    """Yield causes that no remedy clears and no licensed trade is called for."""
    for name in source.pack.causes:
        if not any(chances(source.pack, name).values()) and not trades(source.pack, name):
            what = f"nothing clears the cause '{name}'"
            mend = "add it to a remedy's 'clears', or add a 'refer' stop of a trade that clears it"
            yield source.document.problem(("causes", name), what, mend)


def cleared_by_nobody(source: PackSource) -> Iterator[Problem]:
    """Yield chances of clearing for somebody who may not do the remedy."""
    for name, remedy in source.pack.remedies.items():
        for cause, clears in remedy.clears.items():
            path = ("remedies", name, "clears", cause)
            stated = [who for who in OBSERVERS if getattr(clears, who) is not None]
            for who in stated:
                if who not in remedy.who:
                    what = f"'{name}' says how well the {who} clears '{cause}', who may not do it"
                    mend = f"add '{who}' to 'who', or remove the chance"
                    yield source.document.problem((*path, who), what, mend)
            if not stated:
                what = f"'{name}' names '{cause}' and nobody's chance to clear it"
                yield source.document.problem(path, what, "write {technician: .9}, for example")


def clears_nothing(source: PackSource) -> Iterator[Problem]:
    """Yield remedies that clear no cause."""
    for name, remedy in source.pack.remedies.items():
        if not remedy.clears:
            path = ("remedies", name, "clears")
            yield source.document.problem(path, f"'{name}' clears nothing", "name a cause")


def stop_without_trade(source: PackSource) -> Iterator[Problem]:
    """Yield hand-overs without trade or cost, and other ends with a trade."""
    for name, stop in source.pack.stops.items():
        refer = stop.kind == "refer"
        if refer and (stop.trade is None or stop.cost is None):
            what = f"'{name}' hands over and lacks {'trade' if stop.trade is None else 'cost'}"
            yield source.document.problem(("stops", name), what, "state trade and expected cost")
        if not refer and stop.trade is not None:
            what = f"'{name}' names a trade, and does not hand over"
            yield source.document.problem(("stops", name, "trade"), what, "make it 'refer'")


def said_but_not_able(source: PackSource) -> Iterator[Problem]:
    """Yield causes said to be cleared by somebody for whom there is no remedy or stop."""
    for name, cause in source.pack.causes.items():
        able = {who for (_, who), chance in chances(source.pack, name).items() if chance}
        able |= trades(source.pack, name)
        for who in cause.cleared_by:
            if who not in able:
                what = f"'{name}' is cleared by the {who}, but no remedy or stop says how"
                path = ("causes", name, "cleared_by")
                yield source.document.problem(path, what, f"add one, or remove '{who}'")


def able_but_not_said(source: PackSource) -> Iterator[Problem]:
    """Yield causes that a remedy lets customers clear who are not said to."""
    for name, cause in source.pack.causes.items():
        able = any(who == "customer" and p for (_, who), p in chances(source.pack, name).items())
        if able and "customer" not in cause.cleared_by:
            what = f"a remedy lets customers clear '{name}', but 'cleared_by' does not"
            path = ("causes", name, "cleared_by")
            yield source.document.problem(path, what, "add 'customer', or change the remedy")


def chances(pack: Pack, cause: str) -> dict[tuple[str, str], float]:
    """Return (remedy, who) -> chance to clear the cause, for those who may do the remedy."""
    return {
        (name, who): getattr(remedy.clears[cause], who) or 0.0
        for name, remedy in pack.remedies.items()
        if cause in remedy.clears
        for who in remedy.who
    }


def trades(pack: Pack, cause: str) -> set[str]:
    """Return the licensed trades that clear the cause and can be referred to."""
    referred = {stop.trade for stop in pack.stops.values() if stop.kind == "refer"}
    return {who for who in pack.causes[cause].cleared_by if who in referred}


def cleared_alike(pack: Pack, one: str, two: str) -> bool:
    """Tell whether the same steps clear both causes, about equally well."""
    first, second = chances(pack, one), chances(pack, two)
    same = trades(pack, one) == trades(pack, two)
    both = first.keys() | second.keys()
    return same and all(abs(first.get(k, 0.0) - second.get(k, 0.0)) <= ALIKE for k in both)


ERRORS = (never_cleared, cleared_by_nobody, clears_nothing, stop_without_trade)
WARNINGS = (said_but_not_able, able_but_not_said)
