"""What a phone takes along to reckon on one job where there is no signal.

The compiled model of the job's machine, the likeliest sets of causes with what was left
out, the facts so far, what may be done and what it costs, the words to tell it by, and
what is dangerous. :mod:`tubside.service.pocket_reckoning` reads it in Python, the
module ``belief.js`` on the phone; both reckon the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tubside.diagnosis.belief import Belief, believe_sets, finished
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Sets, prior_now
from tubside.diagnosis.next_step import Step, endings
from tubside.diagnosis.situation import Situation, stop_cost
from tubside.errors import FactsDisagreeError, JobFileError
from tubside.pack.fault_model import OBSERVERS
from tubside.pack.schema import Danger
from tubside.service.advise import situation_of
from tubside.service.coding import coded_facts
from tubside.service.danger import dangers, left_after
from tubside.service.job_file import JobFile, JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.pocket_model import model_json, sparse
from tubside.service.pocket_readings import readings_json
from tubside.service.pocket_rules import rules_json
from tubside.service.pocket_words import danger_rules, words_json
from tubside.service.views import JobView

VERSION = 1
"""Of the form of the pocket: another one is not understood."""
POCKET_SETS = 1500
Json = dict[str, Any]


def pocket_of_view(view: JobView) -> Json:
    """The pocket of a job as it stands; ``ready`` is false, with why, where there is none."""
    head: Json = {
        "version": VERSION,
        "job": view.id,
        "computed_from": view.computed_from,
        "seen": dict(view.seen),
        "safety": [{"danger": s.danger, "say": s.say} for s in view.safety],
    }
    why = _why_not(view)
    if why or view.source is None or view.known is None:
        return {**head, "ready": False, "why": why}
    try:
        return {**head, "ready": True, "why": "", **pocket_of(view.source, view.known)}
    except (FactsDisagreeError, JobFileError) as wrong:
        return {**head, "ready": False, "why": str(wrong)}


def _why_not(view: JobView) -> str:
    """Why there is nothing to reckon with; empty where there is."""
    if view.closing is not None:
        return "this job is closed"
    if view.known is None or view.source is None:
        return "the machine is not known yet"
    if view.disagree or view.problems:
        return "the facts of this job cannot all be used as they stand"
    job = view.source.job
    if not (job.reported or job.indication or job.clip or view.dangers):
        return "the trouble is not told yet"
    return ""


def pocket_of(source: JobSource, known: Knowledge, size: int = POCKET_SETS) -> Json:
    """Model, sets, facts, situation, readings and words of a job.

    Raises
    ------
    JobFileError
        When the facts name what the pack does not know.
    FactsDisagreeError
        When the facts cannot all be true.
    """
    model, found = known.model, tuple(dangers(source.job, known.pack))
    evidence = evidence_of(model, coded_facts(source, known))
    sets = grow(model, evidence, size)
    belief = believe_sets(model, evidence, sets)
    situation = situation_of(source, known, found)
    ends = endings(model, situation)
    return {
        "model": model_json(model, source.job.age_years),
        "rules": rules_json(),
        "sets": _sets(sets),
        "left_out": belief.left_out,
        "log_evidence": belief.log_evidence,
        "scale": prior_now(model, evidence)[1],
        "evidence": _evidence(evidence),
        "told": _told(source.job, known),
        "situation": _situation(source, known, situation),
        "stop_cost": stop_cost(model, source.job.age_years),
        "endings": [[end.kind, end.index, end.cost] for end in ends],
        "finished": finished(evidence),
        "dangers": list(found),
        "only": _only(known, found),
        "danger_rules": danger_rules(known),
        "readings": readings_json(model, evidence, belief),
        "words": words_json(known),
        "belief": _told_belief(belief),
    }


def _sets(sets: Sets) -> Json:
    """Causes of each set by number; ``healthy`` as in the sets themselves."""
    members = [row.nonzero()[0].tolist() for row in sets.members]
    return {"members": members, "healthy": sets.healthy.tolist()}


def _told_belief(belief: Belief) -> Json:
    """The chance of each cause now, so that the page has numbers before it reckons."""
    return {
        "now": belief.now().tolist(),
        "healthy": belief.healthy().tolist(),
        "mended": belief.mended(),
    }


def _evidence(evidence: Evidence) -> Json:
    complaint = evidence.complaint
    return {
        "complaint": None
        if complaint is None
        else {
            "words": complaint.words.tolist(),
            "reported": list(complaint.reported),
            "panel": None if complaint.panel is None else complaint.panel.tolist(),
            "panel_none": complaint.panel_none,
            "symptoms": [
                [s.condition, s.if_on, s.if_off, s.observer, int(s.again)]
                for s in complaint.symptoms
            ],
        },
        "how_often": evidence.how_often,
        "age_years": evidence.age_years,
        "answers": [
            [a.check, a.outcome, a.observer, a.epoch, int(a.again)] for a in evidence.answers
        ],
        "settled": [[axis, vector.tolist()] for axis, vector in evidence.settled],
        "treatments": [[sparse(t.clears), t.rerun] for t in evidence.treatments],
    }


def _told(job: JobFile, known: Knowledge) -> Json:
    """What was told once: told anew it would replace what the phone cannot take back."""
    return {
        "when": job.when is not None,
        "reached": job.reached is not None,
        "circumstances": sorted(job.circumstances),
        "remedies": sum(line.remedy in known.pack.remedies for line in job.facts),
        "context_answers": sum(name in known.pack.context for name in job.circumstances),
    }


def _situation(source: JobSource, known: Knowledge, situation: Situation) -> Json:
    """Where the job stands; covers behind which a step was done count once on site."""
    model, names = known.model, known.model.names
    touched = set()
    for line in source.job.facts:
        if line.check in names.checks:
            touched.add(model.checks[names.checks.index(line.check)].cover)
        if line.remedy in names.remedies:
            touched.add(model.remedies[names.remedies.index(line.remedy)].cover)
    return {
        "on_site": situation.on_site,
        "aboard": [int(one) for one in situation.aboard],
        "covers": sorted(touched - {-1}),
        "answered": sorted(list(pair) for pair in situation.answered),
        "tried": sorted(list(pair) for pair in situation.tried),
        "customer_checks": [int(one) for one in situation.customer_checks],
        "customer_remedies": [int(one) for one in situation.customer_remedies],
        "observers": list(OBSERVERS),
    }


def _only(known: Knowledge, found: Sequence[Danger]) -> list[int] | None:
    """Referrals to which the steps are narrowed after gas; None where all steps are left."""
    refers = [
        Step("refer", number, stop.cost, 0.0, 0.0)
        for number, stop in enumerate(known.model.stops)
        if stop.kind == "refer"
    ]
    probe = [*refers, Step("visit", 0, 0.0, 0.0, 0.0)]
    left = left_after(probe, known.pack, found)
    return None if left == probe else [step.index for step in left]
