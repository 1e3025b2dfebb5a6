"""What a pack's numbers reproduce once they are compiled, for those who write them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import HEALTHY_IDS, FaultModel
from tubside.pack.prior import main_shares
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack

FIT_WANTED = 0.03
MOST_SHOWN = 12


def prior_report(source: PackSource, compiled: FaultModel | None = None) -> list[str]:
    """Return in lines the shares the compiled prior gives back and the complaints' residuals.

    The pack must have passed :func:`tubside.pack.check.check_pack` without errors;
    ``compiled`` saves compiling it again.
    """
    model = compiled or compile_pack(source.pack, source.digest)
    return [
        f"pack {source.pack.family}, hash {source.digest[:12]}: {_counts(source.pack)}",
        "",
        *_shares(source.pack, model),
        "",
        *_residuals(model),
    ]


def _counts(pack: Pack) -> str:
    sections = ("causes", "conditions", "findings", "checks", "remedies", "stops", "parts")
    return ", ".join(f"{len(getattr(pack, section))} {section}" for section in sections)


def _shares(pack: Pack, model: FaultModel) -> Iterator[str]:
    """Yield stated and reproduced shares: healthy, second faults, causes by weight."""
    main, several = main_shares(model.prior)
    yield "shares reproduced by the prior (stated -> got), per 1000 calls"
    for name, got in zip(HEALTHY_IDS, model.prior.healthy, strict=True):
        yield f"  {pack.healthy[name].weight:7.2f} -> {1000 * got:7.2f}  {name}"
    yield f"  {1000 * pack.second_fault_share:7.2f} -> {1000 * several:7.2f}  two causes or more"
    weights = np.array([cause.weight for cause in pack.causes.values()])
    for i in np.argsort(-weights, kind="stable"):
        yield f"  {weights[i]:7.2f} -> {1000 * main[i]:7.2f}  {model.names.causes[i]}"
    worst = float(np.max(np.abs(1000 * main - weights)))
    yield f"  largest gap of a cause: {worst:.2g}"
    yield f"  cleared by the customer at the first try: {_by_customers(pack):.0f}"


def _by_customers(pack: Pack) -> float:
    """Calls per 1000 whose cause a customer clears with its best remedy."""
    best = dict.fromkeys(pack.causes, 0.0)
    for remedy in pack.remedies.values():
        for cause, clears in remedy.clears.items():
            best[cause] = max(best[cause], clears.customer or 0.0)
    return sum(cause.weight * best[name] for name, cause in pack.causes.items())


def _residuals(model: FaultModel) -> Iterator[str]:
    """Yield where P(said | cause alone) of the fit misses the pack's row, worst first."""
    gap = model.complaint.fit - model.complaint.table
    missed = int((np.abs(gap) > FIT_WANTED).sum())
    yield "fit of 'reported_as': P(said | cause alone), stated -> got"
    yield f"  largest residual {np.max(np.abs(gap)):.4f}; {missed} above {FIT_WANTED}"
    for flat in np.argsort(-np.abs(gap), axis=None, kind="stable")[:MOST_SHOWN]:
        i, c = np.unravel_index(flat, gap.shape)
        stated, got = model.complaint.table[i, c], model.complaint.fit[i, c]
        pair = f"{model.names.causes[i]} said as {model.names.conditions[c]}"
        yield f"  {stated:.4f} -> {got:.4f} ({got - stated:+.4f})  {pair}"
