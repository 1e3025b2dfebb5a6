"""The sheet of one of the shop's models, changed a value or a fit at a time and kept whole."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec

from tubside.errors import ModelError, NotThereError
from tubside.machine.as_built import has_drum
from tubside.pack.fault_model import FaultModel, Machine
from tubside.panel.schema import Fit, Panel, SheetValue
from tubside.panel.sheet_doubts import family_words, sheet_doubts, speaks_of, usual
from tubside.panel.sheet_names import OF_A_DRUM, SHEET, known_subjects
from tubside.panel.sheet_values import kept_text
from tubside.quantities import Question


@dataclass(frozen=True, slots=True)
class Choice:
    """A value that can be told: its name, title, an example, and what the family has."""

    name: str
    title: str
    example: str
    family: str


def choices(family: FaultModel) -> list[tuple[str, list[Choice]]]:
    """What a sheet can say, grouped by subject; of a family without machine its plate only."""
    found = []
    for subject, names in known_subjects().items():
        usable = [name for name in names if can_say(family, name)]
        listed = [_choice(name, family.machine) for name in usable]
        if listed:
            found.append((subject, listed))
    return found


def can_say(family: FaultModel, name: str) -> bool:
    """Whether a sheet of this family can say a value: no spin speed where there is no drum."""
    if name in OF_A_DRUM and not has_drum(family.names.stages):
        return False
    return name in SHEET and speaks_of(name, family.machine)


def _choice(name: str, machine: Machine | None) -> Choice:
    of = SHEET[name]
    known = usual(name, machine) if of.ordinary is None else None
    family = "" if known is None else family_words(of, known.middle)
    return Choice(name, of.title, of.example, family)


def told_value(
    panel: Panel, name: str, value: SheetValue, family: FaultModel, *, sure: bool = False
) -> Panel | Question:
    """The model with a value of its sheet told, or a question where it is odd.

    ``sure`` keeps it as written. Whether it contradicts another value is for the checks
    of the whole model to say.

    Raises
    ------
    QuantityError
        When it is not understood, or cannot be.
    ModelError
        When no such value is known of this family.
    """
    if not can_say(family, name):
        msg = "pick from the list what the value is"
        raise ModelError(msg)
    if not sure:
        question = sheet_doubts(name, value.value, family.machine)
        if question is not None:
            return question
    kept = msgspec.structs.replace(value, value=kept_text(name, value.value))
    machine_own = {key: text for key, text in panel.machine.items() if key != name}
    controller = {key: text for key, text in panel.controller.items() if key != name}
    return msgspec.structs.replace(
        panel, sheet={**panel.sheet, name: kept}, machine=machine_own, controller=controller
    )


def without_value(panel: Panel, name: str) -> Panel:
    """The model with a value of its sheet forgotten: the family's is used again."""
    if name not in panel.sheet:
        msg = "the sheet says no such thing; it may have been taken away already"
        raise NotThereError(msg)
    sheet = {key: value for key, value in panel.sheet.items() if key != name}
    return msgspec.structs.replace(panel, sheet=sheet)


def told_fit(panel: Panel, fit: Fit, place: int | None = None) -> Panel:
    """The model with one more fit, or with the one at ``place`` changed."""
    fits = list(panel.fits)
    if place is None:
        fits.append(fit)
    else:
        _need_fit(panel, place)
        fits[place] = fit
    return msgspec.structs.replace(panel, fits=fits)


def without_fit(panel: Panel, place: int) -> Panel:
    """The model with one fit fewer."""
    _need_fit(panel, place)
    return msgspec.structs.replace(
        panel, fits=[fit for n, fit in enumerate(panel.fits) if n != place]
    )


def _need_fit(panel: Panel, place: int) -> None:
    if not 0 <= place < len(panel.fits):
        msg = "there is no such fit; it may have been taken away already"
        raise NotThereError(msg)


def with_sheet_of(panel: Panel, before: Panel) -> Panel:
    """A model drawn anew, with the sheet, fits and plate that it had before."""
    return msgspec.structs.replace(
        panel,
        sheet=before.sheet,
        fits=before.fits,
        plate=before.plate,
        machine=before.machine,
        controller=before.controller,
    )
