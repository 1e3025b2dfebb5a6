"""The facts of a customer's own check as one short text, to be sent or read out.

The text is letters and digits in groups of four: one for the version, four that name the
list of things that may be told about this machine, two for each thing told (its number in
that list), and two that check all before them. It needs no server to be made, fits one
message of 160 characters, and survives being read out: small letters, dashes and the usual
mix-ups (O for 0, I or L for 1) are taken as meant, and one wrong letter, or two swapped
ones, is always found.

References
----------
The 32 letters leave out I, L, O and U and read as in D. Crockford, "Base 32" (from memory).
The check makes the whole number divisible by a prime, as the pure systems of ISO/IEC 7064
do (from memory): 32 generates all 1018 remainders of 1019, so one change d·32^k with
0 < d < 32, and one swap (a - b)(32^j - 32^k) in a text this short, never leave remainder 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

from tubside.errors import ShortTextError
from tubside.pack.schema import DANGERS
from tubside.service import records
from tubside.service.coding import outcomes_of
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
AS_MEANT = str.maketrans("OIL", "011", " \t\r\n-.\u2013\u2014")
VERSION = "1"
PRIME = 1019
MOST_FACTS = 50
"""Things told in one text; 50 make 133 characters with their spaces."""
LONGEST = 400
"""Characters looked at; a text is shorter, and what is pasted around it is not read."""
NAMED = 4

Kind = Literal["danger", "condition", "indication", "check", "remedy", "end"]
Item = tuple[Kind, str, str]
"""One thing told: its kind, the id in the pack or the panel, and the outcome or ""."""
NO_DANGER: Item = ("danger", "none", "")
ENDS = ("cleared", "visit", "stop")
DONE = ("works", "still-fails", "not done")


@dataclass(frozen=True, slots=True)
class Book:
    """All that may be told of one machine, in an order that its ids fix; and its short name."""

    family: str
    model: str | None
    items: tuple[Item, ...]
    prefix: str

    def number(self, item: Item) -> int:
        """The number of a thing in the list.

        Raises
        ------
        ShortTextError
            When the list has no such thing.
        """
        try:
            return self.items.index(item)
        except ValueError:
            msg = f"'{' '.join(item).strip()}' is nothing that a customer tells of this machine"
            raise ShortTextError(msg) from None


@dataclass(frozen=True, slots=True)
class ToldShort:
    """What a short text says: of which machine, and what was told, in order."""

    family: str
    model: str | None
    items: tuple[Item, ...]


def book_of(known: Knowledge, model: str | None = None) -> Book:
    """The list for a family, or for a model with what its panel shows."""
    items = tuple(_items(known))
    text = "\n".join(("1", known.pack.family, model or "", *("/".join(one) for one in items)))
    digest = int.from_bytes(sha256(text.encode()).digest()[:4]) >> 12
    return Book(known.pack.family, model, items, _written(digest, NAMED))


def _items(known: Knowledge) -> Iterator[Item]:
    """Every thing once: sorted by id within its kind, so that no new number moves it."""
    pack, panel = known.pack, known.panel
    yield NO_DANGER
    yield from (("danger", kind, "") for kind in DANGERS)
    yield from (("end", end, "") for end in ENDS)
    yield from (("condition", name, "") for name in sorted(pack.conditions))
    yield from (("indication", name, "") for name in sorted(panel.indications if panel else ()))
    for name, check in sorted(pack.checks.items()):
        if "customer" in check.who and check.customer_step is not None:
            outcomes = (*sorted(outcomes_of(known, name)), "not sure")
            yield from (("check", name, outcome) for outcome in outcomes)
    for name, remedy in sorted(pack.remedies.items()):
        if "customer" in remedy.who and remedy.customer_step is not None:
            yield from (("remedy", name, outcome) for outcome in DONE)


def encoded(book: Book, items: Sequence[Item]) -> str:
    """The short text of what was told.

    Raises
    ------
    ShortTextError
        When the list of this machine lacks one of them, or they are too many for one message.
    """
    return text_of(book.prefix, [book.number(item) for item in items])


def text_of(prefix: str, numbers: Sequence[int]) -> str:
    """The text from the short name of the list and the numbers told; the page's script does so.

    >>> text_of("0TVB", [0, 12, 300])
    '10TV B000 C9CF G'
    """
    if len(numbers) > MOST_FACTS:
        msg = f"{len(numbers)} answers are too many for one message; ring and tell them instead"
        raise ShortTextError(msg)
    told = VERSION + prefix + "".join(_written(number, 2) for number in numbers)
    check = -_value(told) * len(LETTERS) ** 2 % PRIME
    whole = told + _written(check, 2)
    return " ".join(whole[start : start + 4] for start in range(0, len(whole), 4))


def decoded(library: Library, text: str) -> ToldShort:
    """What a short text says.

    Raises
    ------
    ShortTextError
        When a letter is none, the check fails, the version is not known, or no machine of
        this shop is meant: saying which.
    """
    letters = _letters(text)
    if letters[0] != VERSION:
        msg = f"the text is of version {letters[0]}; this program reads version {VERSION}"
        raise ShortTextError(msg)
    prefix, told = letters[1 : 1 + NAMED], letters[1 + NAMED : -2]
    books = [book for book in _books(library) if book.prefix == prefix]
    if len(books) != 1:
        msg = "the text is of a machine, or of a guide, that this shop does not know (any more)"
        raise ShortTextError(msg)
    numbers = [_value(told[start : start + 2]) for start in range(0, len(told), 2)]
    if any(number >= len(books[0].items) for number in numbers):
        msg = "the text tells something that this machine's list does not have; ask to read it anew"
        raise ShortTextError(msg)
    found = tuple(dict.fromkeys(books[0].items[number] for number in numbers))
    return ToldShort(books[0].family, books[0].model, found)


def _letters(text: str) -> str:
    """The letters of a text as meant, checked."""
    letters = text[:LONGEST].upper().translate(AS_MEANT)
    wrong = sorted(set(letters) - set(LETTERS))
    if wrong:
        msg = f"'{wrong[0]}' is not in such a text; it has digits and letters but no I, L, O, U"
        raise ShortTextError(msg)
    least, most = 1 + NAMED + 2, 1 + NAMED + 2 * MOST_FACTS + 2
    if not least <= len(letters) <= most or (len(letters) - least) % 2:
        msg = f"the text has {len(letters)} letters, so some are missing or doubled; read it anew"
        raise ShortTextError(msg)
    if _value(letters) % PRIME:
        msg = "a letter of the text was misheard or mistyped; have it read once more"
        raise ShortTextError(msg)
    return letters


def _books(library: Library) -> Iterator[Book]:
    for name in library.families():
        yield book_of(library.family(name))
    for name in library.models():
        yield book_of(library.model(name), name)


def bodies_of(told: ToldShort, known: Knowledge) -> list[records.Body]:
    """The facts of a job that a short text makes: with a customer's accuracy, in order."""
    bodies: list[records.Body] = [records.Machine(family=told.family, model=told.model)]
    dangers = [name for kind, name, _ in told.items if kind == "danger"]
    if dangers:
        kinds = [kind for kind in DANGERS if kind in dangers]
        bodies.insert(0, records.DangerTold(kinds=kinds))
    conditions = [name for kind, name, _ in told.items if kind == "condition"]
    if conditions:
        bodies.append(records.Reported(conditions=conditions))
    for kind, name, outcome in told.items:
        if kind == "indication":
            bodies.append(indication_told(known, name))
        elif kind == "check":
            bodies.append(records.CheckDone(check=name, outcome=outcome, by="customer"))
        elif kind == "remedy":
            bodies.append(records.RemedyDone(remedy=name, outcome=outcome, by="customer"))
    return bodies


def indication_told(known: Knowledge, name: str) -> records.Indication:
    """One of the panel's indications as picked from its pictures."""
    panel = known.panel
    assert panel is not None
    shown = panel.indications[name]
    lights = {lamp: str(light) for lamp, light in panel.lights(name).items()}
    sound = shown.sound if panel.sounds else None
    return records.Indication(lamps=lights, sound=sound, display=shown.display)


def end_of(told: ToldShort) -> str:
    """How the check ended: "cleared", "visit", "stop", or "" when it did not."""
    return next((name for kind, name, _ in reversed(told.items) if kind == "end"), "")


def _written(number: int, letters: int) -> str:
    """A number as so many letters, the most significant first."""
    return "".join(LETTERS[number >> 5 * place & 31] for place in reversed(range(letters)))


def _value(letters: str) -> int:
    value = 0
    for letter in letters:
        value = value * len(LETTERS) + LETTERS.index(letter)
    return value
