"""Practice pages: the whole state stands in the link, so nothing of it is kept."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tubside.diagnosis.next_step import Step
from tubside.errors import UnknownNameError
from tubside.service.knowledge import Knowledge
from tubside.service.practice import (
    LEVELS,
    Practice,
    begin,
    follow,
    name_of,
    named_step,
    open_steps,
    title_of,
)
from tubside.service.practice_told import done_steps, review
from tubside.web.pages.desk import Desk, Form, fresh_id

MOST_STEPS = 60
GROUPS = {"check": "Looks, questions, readings", "remedy": "Remedies"}


def choose(desk: Desk, request: Request, _form: Form) -> Response:
    """Which machine, how hard, and on to a new one."""
    models = [(f"model:{name}", desk.library.model(name)) for name in desk.library.models()]
    families = [(f"family:{name}", desk.library.family(name)) for name in desk.library.families()]
    machines = [(name, _machine_title(known)) for name, known in (*models, *families)]
    seed = int(fresh_id()[:6], 16)
    values = {"machines": machines, "levels": list(LEVELS.items()), "seed": seed}
    return desk.render(request, "practise.html", values, 200)


def at_machine(desk: Desk, request: Request, _form: Form) -> Response:
    """The practice as far as its link goes: what is known, and what can be done."""
    asked = request.query_params
    practice = _practice(desk, asked.get("machine", ""), asked.get("level", ""), asked.get("seed"))
    steps = [name for name in asked.get("steps", "").split(",") if name][:MOST_STEPS]
    practice = follow(practice, steps)
    values = {
        "practice": practice,
        "machine": _machine_title(practice.known),
        "level": LEVELS[practice.level],
        "condition": practice.known.pack.conditions[practice.reported].title,
        "done": done_steps(practice),
        "link": _Link(asked, steps),
    }
    if practice.over:
        return desk.render(request, "practise_bill.html", {**values, "told": review(practice)}, 200)
    looked_at = asked.get("look")
    if looked_at:
        step = named_step(practice, looked_at)
        return desk.render(request, "practise_step.html", {**values, **_step(practice, step)}, 200)
    return desk.render(request, "practise_job.html", {**values, "groups": _groups(practice)}, 200)


class _Link:
    """Links to the same practice with one step more, or with one step to be looked at."""

    def __init__(self, asked: object, steps: list[str]) -> None:
        fields = dict(asked)  # type: ignore[call-overload]  # query parameters are pairs
        self.fields = {key: fields[key] for key in ("machine", "level", "seed") if key in fields}
        self.steps = steps

    def here(self) -> str:
        """Back to where the practice stands."""
        return self._to(steps=",".join(self.steps))

    def look(self, name: str) -> str:
        """To the cautions of one step."""
        return self._to(steps=",".join(self.steps), look=name)

    def after(self, name: str) -> str:
        """On, with one step done."""
        return self._to(steps=",".join([*self.steps, name]))

    def _to(self, **more: str) -> str:
        return f"/practise/at?{urlencode({**self.fields, **more})}"


def _practice(desk: Desk, machine: str, level: str, seed: str | None) -> Practice:
    """The practice of these words, each checked."""
    kind, _, name = machine.partition(":")
    if kind not in {"model", "family"}:
        msg = "choose a machine to practise on"
        raise UnknownNameError(msg)
    known = desk.library.model(name) if kind == "model" else desk.library.family(name)
    found = {str(number): number for number in LEVELS}
    if level not in found or seed is None or not seed.isdecimal() or len(seed) > 12:
        msg = "this link does not name a level and a seed; begin again"
        raise UnknownNameError(msg)
    return begin(known, found[level], int(seed))


def _machine_title(known: Knowledge) -> str:
    if known.panel is not None:
        return known.panel.name
    return f"any {known.pack.title[:1].lower()}{known.pack.title[1:]}"


def _groups(practice: Practice) -> list[tuple[str, list[tuple[str, str, float]]]]:
    """Open steps by kind: (name, title, minutes), in the order of their titles."""
    found: dict[str, list[tuple[str, str, float]]] = {}
    for step in open_steps(practice):
        group = GROUPS.get(step.kind, "Go there, or end it")
        title = title_of(practice.known, step)
        row = (name_of(practice.known, step), title[:1].upper() + title[1:], step.minutes)
        found.setdefault(group, []).append(row)
    ends = found.pop("Go there, or end it", [])
    sorted_groups = [(g, sorted(rows, key=lambda row: row[1])) for g, rows in found.items()]
    return [*sorted_groups, ("Go there, or end it", ends)]


def _step(practice: Practice, step: Step) -> dict[str, object]:
    """One step before it is done: cautions first, then what to do."""
    pack, names = practice.known.pack, practice.known.model.names
    cautions: list[str] = []
    how = "The job goes on at the machine." if step.kind == "visit" else "The job ends with this."
    if step.kind == "check":
        check = pack.checks[names.checks[step.index]]
        cautions, how = check.cautions, check.how
    elif step.kind == "remedy":
        remedy = pack.remedies[names.remedies[step.index]]
        cautions, how = remedy.cautions, remedy.how
    return {
        "name": name_of(practice.known, step),
        "title": title_of(practice.known, step),
        "cautions": [pack.cautions[name] for name in cautions],
        "how": how,
        "minutes": step.minutes,
    }
