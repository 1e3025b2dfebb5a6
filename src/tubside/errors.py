"""Every error a user can meet, in one tree.

::

    TubsideError
    ├── FileProblemsError       one or more problems in files that people write
    │   ├── PackError           ... in a pack
    │   ├── LayerFileError      ... in the layer of a shop's own changes on a pack
    │   ├── PanelError          ... in a model's panel file
    │   ├── JobFileError        ... in a job file
    │   ├── ProblemFileError    ... in a troubleshooting problem for ``tubside solve``
    │   ├── TravelFileError     ... in a table of travel times
    │   ├── PartsFileError      ... in a list of parts that is brought in
    │   └── TaxFileError        ... in a file of tax rules
    ├── ProblemTableError       numbers of a troubleshooting problem that cannot be true
    ├── NoEndError              a troubleshooting problem that no plan is sure to end
    ├── QuantityError           a number or a unit that is not understood or cannot be
    ├── OutsideRangeError       a value outside the range in which a formula is true
    ├── UnknownNameError        an id that the pack does not know
    ├── FactsDisagreeError      facts that cannot all be true
    ├── FactError               a fact that is not kept
    │   └── FactClashError      ... as its id or its number is taken by another
    ├── NotThereError           a job, a fact, a person or a photo that is not in the store
    ├── AttachmentError         words or a photo that are not kept
    ├── PhotoError              a photo of a panel that cannot be straightened or read
    ├── ArchiveError            a model's archive that is malformed or not safe to take
    ├── ModelError              a model of the shop's own that cannot be taught or kept so
    ├── LayerError              a change of the shop's own on a pack that cannot be made so
    ├── StoreError              a database or a backup that cannot be used
    ├── DayError                a working day that cannot be planned or drawn
    │   └── RoutingServerError  ... as the routing server gave no travel times
    ├── KitError                parts to load, or a demand, that cannot be reckoned with
    ├── WorthError              a figure of repair or replace that cannot be one
    ├── ExportError             data that cannot be given out so
    ├── StockError              a part, a price or a movement of stock that is not taken
    ├── MoneyError              a price, a quote, an invoice or a payment that cannot be so
    │   └── LinkError           ... as the link of a quote is forged, past or used up
    ├── ScanError               a barcode that cannot be read from a photo
    ├── RecordingError          a clip, or places of lamps in it, that cannot be read
    ├── ShortTextError          a short text of a customer's check that cannot be read
    ├── OwnCheckError           a customer's own check that cannot be begun or gone on with
    ├── HistoryError            a closed job, or a list of them, that cannot be learned from
    ├── DocumentError           a calendar, a card or a message that cannot be written so
    ├── MailError               a mail server that cannot be used so
    ├── LoginError              an account or a password that is not taken
    │   ├── WrongLoginError     ... at the door
    │   └── TooManyTriesError   ... and no more tries for a while
    └── ServingError            an address or a certificate that cannot be served
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class TubsideError(Exception):
    """Root of all errors that tell a user something; shown without a traceback."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a file: where, what, and how to mend it."""

    file: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        joint = " " if self.what.endswith("?") else "; "
        mend = self.mend[:1].upper() + self.mend[1:] if joint == " " else self.mend
        return f"{self.file}:{self.line}: {self.what}{joint}{mend}"


class FileProblemsError(TubsideError):
    """A file written by hand has problems; all of them are told at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class PackError(FileProblemsError):
    """You wrote a pack that cannot be read or cannot be true."""


class LayerFileError(FileProblemsError):
    """You wrote a layer on a pack that cannot be read, or that leaves the pack wrong."""


class PanelError(FileProblemsError):
    """You wrote a model's panel file that cannot be read."""


class JobFileError(FileProblemsError):
    """You wrote a job file that cannot be read or names what the pack lacks."""


class UnknownNameError(TubsideError):
    """You named a family, model, check or outcome that is not there."""


class FactsDisagreeError(TubsideError):
    """You gave facts that cannot all be true; ``facts`` are the fewest that disagree."""

    def __init__(self, facts: Sequence[str]) -> None:
        self.facts = tuple(facts)
        listed = "; ".join(self.facts)
        super().__init__(f"these facts cannot all be true: {listed}; take back the one in doubt")


class FactError(TubsideError):
    """You sent a fact that holds what its kind does not allow."""


class FactClashError(FactError):
    """You sent a fact under an id or a number that another fact has."""


class NotThereError(TubsideError):
    """You named a job, a fact, a person, words or a photo that the store does not hold."""


class AttachmentError(TubsideError):
    """You sent words or a photo that are too large or of a kind that is not kept."""


class PhotoError(TubsideError):
    """You sent a photo of a panel, or tapped corners, that cannot be used."""


class ArchiveError(TubsideError):
    """You gave a model's archive that is malformed or not safe to take."""


class ModelError(TubsideError):
    """You taught a model something that cannot be, or under a name that is taken."""


class LayerError(TubsideError):
    """You asked for a change on a pack, or for taking one back, that cannot be made so."""


class StoreError(TubsideError):
    """You named a database or a backup that cannot be used as it is."""


class LoginError(TubsideError):
    """You gave an account, a role or a password that is not taken."""


class WrongLoginError(LoginError):
    """You gave a name or a password that does not fit; which of them is not told."""


class TooManyTriesError(LoginError):
    """You tried too often; ``wait`` is how long to wait [s]."""

    def __init__(self, wait: float) -> None:
        self.wait = max(1, round(wait + 0.5))
        super().__init__(f"too many tries; wait {self.wait} seconds and try again")


class ServingError(TubsideError):
    """You asked for an address, a port or a certificate that cannot be served."""


class NewFamilyError(TubsideError):
    """You asked to begin a family under an id that is none, or where something is already."""


class ProblemFileError(FileProblemsError):
    """You wrote a troubleshooting problem that cannot be read or cannot be true."""


class TravelFileError(FileProblemsError):
    """You wrote a table of travel times that cannot be read or lacks a pair."""


class DayError(TubsideError):
    """You gave a working day that cannot be planned, drawn or told."""


class DocumentError(TubsideError):
    """You asked for a calendar, a card or a message with what cannot stand in one."""


class MailError(TubsideError):
    """A mail server that cannot be used so; the message says how to mend it."""


class RoutingServerError(DayError):
    """You set a routing server that cannot be used or gives no travel times."""


class ExportError(TubsideError):
    """You asked for data in a way in which it cannot be given out."""


class SafetyError(TubsideError):
    """You told of a safety test, or of an appliance, something that cannot be."""


class ProfileFileError(FileProblemsError):
    """You wrote a country profile that cannot be read or cannot be true."""


class WorthError(TubsideError):
    """A figure of repair or replace that cannot be one."""


class KitError(TubsideError):
    """You asked for a kit, or for stock, with numbers that cannot be."""


class StockError(TubsideError):
    """You told of a part, a price or a movement of stock something that is not taken."""


class PartsFileError(FileProblemsError):
    """You wrote a list of parts in which something is wrong."""


class TaxFileError(FileProblemsError):
    """You wrote a file of tax rules in which something is wrong."""


class MoneyError(TubsideError):
    """You gave a price, or asked for a quote, an invoice or a payment, that cannot be so."""


class LinkError(MoneyError):
    """You opened the link of a quote that is forged, past its day, or of another job."""


class ScanError(TubsideError):
    """You gave a photo from which no barcode can be read."""


class RecordingError(TubsideError):
    """You gave a clip, or places of lamps in it, that cannot be read."""


class HistoryError(TubsideError):
    """You gave a closed job, or a list of them, that cannot be learned from."""


class SpreadingError(TubsideError):
    """You named a cluster of which nothing answers, or without the package it needs."""


class ProblemTableError(TubsideError):
    """You gave a troubleshooting problem numbers that cannot be true together."""


class NoEndError(TubsideError):
    """You gave a troubleshooting problem that no plan is sure to end."""


class QuantityError(TubsideError):
    """You wrote a number or a unit that is not understood, or that cannot be."""


class OutsideRangeError(TubsideError):
    """You asked a formula about a value outside the range in which it is true."""

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit
        super().__init__(
            f"{name} is {value:g} {unit}; the formula is true from {low:g} to {high:g} {unit}"
        )


class ShortTextError(TubsideError):
    """A short text of a customer's own check that cannot be made or read."""


class OwnCheckError(TubsideError):
    """A customer's own check that cannot be begun, or not gone on with."""


class GuideError(TubsideError):
    """You asked for a guide in a language, or in a place, where it cannot be written."""
