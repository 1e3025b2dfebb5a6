"""The fixed numbers of the arithmetic, sent along so that they stand in one place only."""

from __future__ import annotations

from typing import Any

from tubside.diagnosis.ahead import (
    AHEAD_ROWS,
    AHEAD_STEPS,
    ENOUGH_BELIEF,
    FEW_ROWS,
    LEAST_BRANCH,
)
from tubside.diagnosis.leaf import TRIED_IN_ORDER
from tubside.diagnosis.likelihood import MENTIONED, NAMED_FIRST
from tubside.diagnosis.next_step import LEAST_GAIN_BITS, LEAST_SAVING
from tubside.diagnosis.reruns import MISREMEMBERED, RUNS_REMEMBERED, STRAY_FAILURE
from tubside.diagnosis.situation import CANNOT_LOOK, LEAST_APPLIES
from tubside.service.coding import ASKED, HOW_OFTEN_WORDS, NOT_DONE, NOTHING_LEARNED, STAGE_SLIP
from tubside.service.recording_records import RecordingRead
from tubside.service.records import (
    KINDS,
    CameBack,
    CheckDone,
    Closing,
    ConditionAsked,
    Context,
    DangerTold,
    Indication,
    Machine,
    PartsAboard,
    Place,
    ReadingDone,
    RemedyDone,
    Reported,
    Retract,
)

Json = dict[str, Any]
COUNTED = (
    Machine,
    Reported,
    Indication,
    RecordingRead,
    DangerTold,
    Context,
    Place,
    PartsAboard,
    CheckDone,
    ReadingDone,
    RemedyDone,
    ConditionAsked,
    CameBack,
    Closing,
    Retract,
)
"""Facts that bear on belief, steps or dangers; all others a phone may pass over."""


def rules_json() -> Json:
    """Every constant that belief, next step and coding of facts need."""
    return {
        "named_first": NAMED_FIRST,
        "mentioned": list(MENTIONED),
        "runs_remembered": RUNS_REMEMBERED,
        "misremembered": MISREMEMBERED,
        "stray_failure": STRAY_FAILURE,
        "cannot_look": list(CANNOT_LOOK),
        "least_applies": LEAST_APPLIES,
        "least_gain_bits": LEAST_GAIN_BITS,
        "least_saving": LEAST_SAVING,
        "tried_in_order": TRIED_IN_ORDER,
        "ahead_rows": AHEAD_ROWS,
        "ahead_steps": AHEAD_STEPS,
        "least_branch": LEAST_BRANCH,
        "few_rows": FEW_ROWS,
        "enough_belief": ENOUGH_BELIEF,
        "asked": [list(pair) for pair in ASKED],
        "stage_slip": STAGE_SLIP,
        "nothing_learned": list(NOTHING_LEARNED),
        "not_done": list(NOT_DONE),
        "no_news": [kind for kind in KINDS if kind not in _counted()],
        "how_often": HOW_OFTEN_WORDS,
    }


def _counted() -> set[str]:
    return {str(kind.__struct_config__.tag) for kind in COUNTED}
