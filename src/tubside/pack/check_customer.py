"""What customers are asked to do is safe, judged by fields and never by words.

The rules are the design's own: plug out for work near water, no cover, no tool,
no retry after danger. They bind every check and remedy that names the customer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tubside.errors import Problem
from tubside.pack.reading import PackSource
from tubside.pack.schema import Check, CustomerStep, Remedy
from tubside.strict_yaml import Path

Step = Check | Remedy
Fault = tuple[str, str, str]
"""Field at fault, what, mend."""

PLUG_IN = {"nothing", "taps", "lid", "load", "settings", "household"}
PLUG_EITHER = {"nothing", "taps", "household"}
HOUSEHOLD = {"bucket", "jug", "torch", "towel", "tray", "watch"}
"""Things every house has, and nothing is opened with; all else is a tool."""
WATER_KNOWN = {"none", "cold", "below-40"}


def whole_step(step: Step) -> Iterator[Fault]:
    """Yield what a step for customers lacks, or has and may not have."""
    if step.say is None or not step.say.strip():
        yield "say", "has no words for the customer", "add 'say', plain and safe"
    if step.customer_step is None:
        mend = "add 'customer_step' with plug, taps, touches, water and litres"
        yield "who", "does not state plug, taps and water", mend
    if step.behind is not None:
        yield "behind", "is behind a cover", "leave it to the technician"
    if set(step.tools) - HOUSEHOLD:
        tool = next(tool for tool in step.tools if tool not in HOUSEHOLD)
        yield "tools", f"needs the tool '{tool}'", "leave it to the technician"
    if step.where == "site":
        yield "where", "is done on site only", "leave it to the technician, or write 'either'"


def plug(step: Step, fields: CustomerStep) -> Iterator[Fault]:
    """Yield what does not go with the state of the plug."""
    field = "customer_step.plug"
    if fields.runs_machine and fields.plug != "in":
        yield field, "runs the machine with the plug not in", "write 'plug: in'"
    if fields.plug == "in" and fields.touches not in PLUG_IN:
        yield field, f"touches {_the(fields)} with the plug in", "write 'plug: out'"
    if fields.plug == "either" and fields.touches not in PLUG_EITHER:
        mend = "write 'plug: out'" + (" or 'plug: in'" if fields.touches in PLUG_IN else "")
        yield field, f"touches {_the(fields)} without stating the plug", mend
    if fields.plug == "out" and step.power == "live":
        yield "power", "wants power with the plug out", "write 'power: dead' or 'any'"
    if fields.plug == "in" and step.power == "dead":
        yield "power", "wants no power with the plug in", "write 'plug: out'"


def water(_step: Step, fields: CustomerStep) -> Iterator[Fault]:
    """Yield water that is handled with the plug in, or that may be hot."""
    dry = fields.plug == "out" or (fields.plug == "either" and fields.touches == "household")
    if fields.litres > 0.0 and not dry:
        mend = "write 'plug: out'"
        yield "customer_step.litres", "lets water out with the plug perhaps in", mend
    if fields.litres > 0.0 and fields.water == "none":
        yield "customer_step.water", "lets water out and says there is none", "say how warm it is"
    if fields.touches in {"load", "strainer", "tank"} and fields.water not in WATER_KNOWN:
        yield "customer_step.water", "reaches into water that may be hot", "write 'below-40'"


def fittings(_step: Step, fields: CustomerStep) -> Iterator[Fault]:
    """Yield hose nuts with the tap open, and traps opened without a tray or into warm water."""
    if fields.touches == "hose-nut" and fields.taps != "shut":
        yield "customer_step.taps", "loosens a hose with the tap not shut", "write 'taps: shut'"
    if fields.touches == "strainer" and not fields.tray:
        yield "customer_step.tray", "opens the trap without a tray", "write 'tray: true'"
    if fields.touches == "strainer" and fields.water != "below-40":
        mend = "write 'water: below-40'"
        yield "customer_step.water", "opens the trap on water not known to be cool", mend


def after_danger(step: Step, fields: CustomerStep) -> Iterator[Fault]:
    """Yield steps allowed after danger that are more than a question."""
    if not fields.after_danger:
        return
    if isinstance(step, Remedy):
        yield "customer_step.after_danger", "is a remedy, allowed after danger", "remove it"
    asks = fields.touches == "nothing" and fields.plug == "either" and fields.litres == 0.0
    if not asks or fields.runs_machine:
        mend = "remove after_danger: after danger customers only answer questions"
        yield "customer_step.after_danger", "touches or runs something after danger", mend


RULES: tuple[Callable[[Step, CustomerStep], Iterator[Fault]], ...] = (
    plug,
    water,
    fittings,
    after_danger,
)


def unsafe_steps(source: PackSource) -> Iterator[Problem]:
    """Yield whatever breaks a rule in a step that names the customer."""
    for path, step in _steps(source):
        for field, what, mend in _faults(step):
            where = (*path, *field.split("."))
            yield source.document.problem(where, f"for customers, '{path[1]}' {what}", mend)


def retry_of_danger(source: PackSource) -> Iterator[Problem]:
    """Yield customers' checks that run the machine to see whether it is dangerous."""
    for name, check in source.pack.checks.items():
        finding = source.pack.findings.get(check.finding or "")
        runs = check.customer_step is not None and check.customer_step.runs_machine
        if runs and "customer" in check.who and finding is not None and finding.danger:
            what = f"for customers, '{name}' runs the machine to see a danger"
            path = ("checks", name, "customer_step", "runs_machine")
            yield source.document.problem(
                path, what, "ask what happened, or leave it to the technician"
            )


def idle_fields(source: PackSource) -> Iterator[Problem]:
    """Yield steps with fields for customers that do not name the customer."""
    for path, step in _steps(source, customers=False):
        if step.customer_step is not None:
            what = f"'{path[1]}' has a customer_step and is not for customers"
            mend = "add 'customer' to 'who', or remove it"
            yield source.document.problem((*path, "customer_step"), what, mend)


def no_caution(source: PackSource) -> Iterator[Problem]:
    """Yield steps near water, mains or live parts that show no caution first."""
    for path, step in _steps(source, customers=None):
        if not step.cautions and _can_hurt(step):
            what = f"'{path[1]}' shows no caution first"
            yield source.document.problem((*path, "cautions"), what, "name what can hurt")


def _can_hurt(step: Step) -> bool:
    fields = step.customer_step
    if step.behind is not None or fields is None:
        return step.behind is not None or step.power == "live"
    return fields.touches in {"hose-nut", "strainer", "lint-filter", "tank", "socket", "load"}


def _faults(step: Step) -> Iterator[Fault]:
    yield from whole_step(step)
    if step.customer_step is not None:
        for rule in RULES:
            yield from rule(step, step.customer_step)


def _steps(source: PackSource, *, customers: bool | None = True) -> Iterator[tuple[Path, Step]]:
    """Yield checks and remedies that name the customer, those that do not, or all (None)."""
    steps: list[tuple[Path, Step]] = [(("checks", n), s) for n, s in source.pack.checks.items()]
    steps += [(("remedies", n), s) for n, s in source.pack.remedies.items()]
    for path, step in steps:
        if customers is None or ("customer" in step.who) is customers:
            yield path, step


def _the(fields: CustomerStep) -> str:
    return f"the {fields.touches}"


ERRORS = (unsafe_steps, retry_of_danger, idle_fields)
WARNINGS = (no_caution,)
