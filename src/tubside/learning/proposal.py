"""What learning offers to a shop: places of its pack with another number, each with its interval.

Only what a pack states is offered: weights, rows of ``reported_as``, rows of findings, chances
to clear, minutes, prices, shapes of ageing, the share of second faults. Shares per complaint
follow from them and are shown as consequences.

- ``tubside.learning.proposing.proposals(counts, pack, whose)`` makes them;
- ``tubside.learning.consequences.consequences(pack, chosen)`` tells what they do to the shares
  of causes at each complaint;
- ``tubside.learning.adopting.adopted(source, chosen)`` is the pack with them, by the layer's
  own code.

Nothing here decides: a proposal changes a pack only when somebody takes its ``edits`` into the
shop's layer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from tubside.errors import HistoryError
from tubside.learning.proportions import Learned

What = Literal[
    "weight", "reported", "outcomes", "clears", "minutes", "price", "ageing", "second-faults"
]
Verdict = Literal["thin", "agrees", "moves"]
Value = str | list[str] | dict[str, str]
"""A number, a row of numbers or a named row, as texts: what a layer writes."""
LEAST_JOBS = 3.0
"""Fewer than so many counted jobs are shown, and called thin."""


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose numbers: of which family; of which shop and model, empty for all."""

    family: str
    shop: str = ""
    model: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One number of a proposal: its name within a row, empty where it stands alone."""

    name: str
    pack: float
    learned: float
    low: float
    high: float

    @property
    def surprises(self) -> bool:
        """Whether what the pack says lies outside the interval."""
        return not self.low <= self.pack <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One place of the pack that the counted jobs speak about.

    Parameters
    ----------
    id : str
        The place as it is written in a layer; the same in every run.
    what : str
        Which kind of number it is.
    edits : tuple of (place, value)
        What accepting writes into the layer, ready for
        :func:`tubside.pack.layer.editing.changed`.
    parts : tuple of Part
        Each number beside the pack's, with the interval that holds nine in ten.
    jobs : float
        Effective: jobs that are certain count one, those in doubt less.
    met : float
        Of a share: the jobs that had it; else the same as ``jobs``.
    prior_jobs : float
        What the pack's own word counts for, in jobs.
    share_by_remedy_only : float
        Of the jobs behind it, the share whose cause rests on a remedy that happened to work.
    unit : str
        Of the numbers, empty for shares.
    """

    id: str
    what: What
    edits: tuple[tuple[tuple[str, ...], Value], ...]
    parts: tuple[Part, ...]
    jobs: float
    met: float
    prior_jobs: float
    share_by_remedy_only: float = 0.0
    unit: str = ""

    def __post_init__(self) -> None:
        """Hold the guard rail: what is offered lies within its own interval."""
        for part in self.parts:
            if not part.low <= part.learned <= part.high:
                msg = f"{self.id}: {part.learned:g} lies outside {part.low:g} to {part.high:g}"
                raise HistoryError(msg)

    @property
    def target(self) -> tuple[str, ...]:
        """The first place it changes."""
        return self.edits[0][0]

    @property
    def telling(self) -> Part:
        """The number that moves most, beside how sure it is."""
        return max(self.parts, key=lambda one: abs(one.learned - one.pack) / _width(one))

    @property
    def pack_value(self) -> float:
        """What the pack says of the number that moves most."""
        return self.telling.pack

    @property
    def learned_value(self) -> float:
        """What is offered for it."""
        return self.telling.learned

    @property
    def low(self) -> float:
        """The lower end of its interval."""
        return self.telling.low

    @property
    def high(self) -> float:
        """The upper end of its interval."""
        return self.telling.high

    @property
    def verdict(self) -> Verdict:
        """Too few jobs, or the pack's word within every interval, or outside one."""
        if self.jobs < LEAST_JOBS:
            return "thin"
        return "moves" if any(part.surprises for part in self.parts) else "agrees"


def single(  # noqa: PLR0913  # each is one plain field of a proposal
    target: tuple[str, ...],
    what: What,
    said: float,
    found: Learned,
    *,
    digits: int = 4,
    met: float | None = None,
    unit: str = "",
) -> Proposal:
    """A proposal of one number at one place."""
    learned = inside(found.mean, found.low, found.high)
    return Proposal(
        id=" / ".join(target),
        what=what,
        edits=((target, number(learned, digits)),),
        parts=(Part("", said, learned, found.low, found.high),),
        jobs=found.jobs,
        met=found.jobs if met is None else met,
        prior_jobs=found.prior_jobs,
        unit=unit,
    )


def _width(part: Part) -> float:
    return max(part.high - part.low, 1e-9)


def inside(value: float, low: float, high: float) -> float:
    """The value, kept within its interval.

    >>> inside(0.02, 0.05, 0.3)
    0.05
    """
    return min(max(value, low), high)


def number(value: float, digits: int = 4) -> str:
    """A number as a layer writes it.

    >>> number(12.345678), number(0.5), number(3.0)
    ('12.35', '0.5', '3')
    """
    return f"{float(f'{value:.{digits}g}'):.9f}".rstrip("0").rstrip(".")


def row_texts(values: Sequence[float], least: float = 0.0005, places: int = 4) -> list[str]:
    """A row of shares as texts that sum to exactly one, none of them nought or one.

    >>> row_texts([0.66666, 0.33334, 0.0])
    ['0.6663', '0.3332', '0.0005']
    """
    raised = [max(value, least) for value in values]
    total = sum(raised)
    units = [max(round(value / total * 10**places), 1) for value in raised]
    units[units.index(max(units))] += 10**places - sum(units)
    return [number(unit / 10**places, 9) for unit in units]


def named_row_texts(row: Mapping[str, float], keep: frozenset[str], least: float = 0.001) -> Value:
    """A named row as texts that sum to one; what is rarer than ``least`` and not kept goes.

    >>> named_row_texts({"leaks": 0.7, "hums": 0.2995, "stinks": 0.0005}, frozenset())
    {'leaks': '0.7004', 'hums': '0.2996'}
    """
    names = [name for name, value in row.items() if value >= least or name in keep]
    texts = row_texts([row[name] for name in names])
    return dict(zip(names, texts, strict=True))
