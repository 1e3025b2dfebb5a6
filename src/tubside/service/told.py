"""Advice as it is shown: plain values that can be kept and read again without computing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.why import Weighed
from tubside.pack.schema import Danger
from tubside.service.advise import Advice, CauseChance
from tubside.service.danger import SAY, to_say
from tubside.service.explain import ToldStep
from tubside.service.telling import SafetyStep, told_steps, top_causes

WEIGHED_CAUSES, MOVED_CAUSES = 5, 5
LEAST_MOVED = 0.0005
"""Chances are shown to a tenth of a percent; what moves less cannot be seen to move."""


@dataclass(frozen=True, slots=True)
class ToldFact:
    """One fact of the evidence, and how far it moved the leading causes [dB]."""

    label: str
    weights_db: dict[str, float]
    expected: float
    """P(this fact | those before it)."""
    tail: float | None = None
    """Of a reading: the share of readings that were less expected."""
    moved: tuple[tuple[str, float, float], ...] = ()
    """Of a reading: titles of the causes it moved, with their chances before and after."""


@dataclass(frozen=True, slots=True)
class ToldAdvice:
    """All that a page says about a job; chances 0 to 1, costs in the pack's money."""

    family: str
    family_title: str
    safety: tuple[SafetyStep, ...]
    causes: tuple[CauseChance, ...]
    left_out: float
    not_showing: float
    mended: float
    steps: tuple[ToldStep, ...]
    weighed: tuple[ToldFact, ...]

    @property
    def first(self) -> ToldStep | None:
        """The best step, None when the job is finished."""
        return self.steps[0] if self.steps else None


def tell(advice: Advice) -> ToldAdvice:
    """Everything to be shown of an advice."""
    return ToldAdvice(
        family=advice.known.pack.family,
        family_title=advice.known.pack.title,
        safety=safety(advice.dangers),
        causes=advice.causes,
        left_out=float(advice.belief.left_out),
        not_showing=advice.not_showing,
        mended=float(advice.belief.mended()),
        steps=tuple(told_steps(advice)),
        weighed=tuple(_weighed(advice)),
    )


def safety(dangers: tuple[Danger, ...]) -> tuple[SafetyStep, ...]:
    """What is said first, one entry a danger, in a fixed order, gas alone; needs no pack."""
    return tuple(SafetyStep(danger, SAY[danger]) for danger in to_say(dangers))


def _weighed(advice: Advice) -> list[ToldFact]:
    top = top_causes(advice, WEIGHED_CAUSES)
    return [
        ToldFact(
            w.fact.label,
            {cause: round(float(w.weight_db[index]), 2) for cause, index in top},
            float(np.exp(w.log_expected)),
            w.tail,
            () if w.tail is None else _moved(advice, w),
        )
        for w in advice.weighed
    ]


def _moved(advice: Advice, weighed: Weighed) -> tuple[tuple[str, float, float], ...]:
    """The causes that a reading moved most and enough to be seen, the likeliest now in front."""
    change = np.abs(weighed.after - weighed.before)
    most = [int(i) for i in np.argsort(-change, kind="stable")[:MOVED_CAUSES]]
    most = [i for i in most if change[i] >= LEAST_MOVED]
    most.sort(key=lambda i: -float(weighed.after[i]))
    names, pack = advice.known.model.names.causes, advice.known.pack
    return tuple(
        (pack.causes[names[i]].title, float(weighed.before[i]), float(weighed.after[i]))
        for i in most
    )
