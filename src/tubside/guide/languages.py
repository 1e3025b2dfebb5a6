"""The language of a guide: its catalogue, its direction, and two made up for tests.

What a catalogue lacks stays in English. The languages ``en-XA`` and ``ar-XB`` are no
languages: the first has longer words with accents, the second runs from right to left.
They show at a glance what was not made for translation.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from tubside.errors import GuideError

LOCALE = Path(__file__).parent / "locale"
MARK = re.compile(r"(%\(\w+\)[sd]|%%)")
ACCENTED = str.maketrans("aceinosuyACEINOSUY", "àçéîñöšûýÀÇÉÎÑÖŠÛÝ")
LONGER = 0.35
"""How much longer than English other languages run (common practice, no source)."""
RIGHT_TO_LEFT, END = "\u202e", "\u202c"
RTL = {"ar", "dv", "fa", "he", "ku", "ps", "sd", "ug", "ur", "yi"}
"""Languages that are written from right to left (from memory)."""


@dataclass(frozen=True, slots=True)
class Language:
    """A language by its tag (BCP 47), and the words it has for English ones."""

    tag: str
    words: Mapping[str, str] = field(default_factory=dict)
    made_up: Callable[[str], str] | None = None
    several: Callable[[str, int], str | None] | None = None

    @property
    def direction(self) -> str:
        """The direction of writing, for the page's ``dir``."""
        return "rtl" if self.tag.partition("-")[0] in RTL else "ltr"

    def number(self, written: str) -> str:
        """A number with spaces in it, kept in its order within words from right to left.

        Without the two signs (Unicode LRI and PDI) its groups would change places.
        """
        return written if self.direction == "ltr" or not written else f"\u2066{written}\u2069"

    def said(self, words: str) -> str:
        """The words in this language; as they are where the catalogue lacks them."""
        if self.made_up is not None:
            return self.made_up(words)
        return self.words.get(words) or words

    def gettext(self, words: str, **values: object) -> str:
        """The same with values put in, as ``%(name)s``."""
        found = self.said(words)
        return found % values if values else found

    def ngettext(self, one: str, many: str, num: int, **values: object) -> str:
        """The form that goes with a number, which is the value ``num``."""
        found = None if self.several is None else self.several(one, num)
        if found is None:
            found = self.said(one if num == 1 else many)
        return found % {"num": num, **values}


ENGLISH = Language("en")


def language_of(tag: str, file: Path | None = None) -> Language:
    """The language of that tag, its words from a catalogue (gettext, .po) where one is given.

    Raises
    ------
    GuideError
        When there is no catalogue for it, or the file cannot be read.
    """
    if file is not None:
        return _catalogue(tag, file)
    if tag in {"en-XA", "ar-XB"}:
        return Language(tag, made_up=longer if tag == "en-XA" else turned)
    if tag.partition("-")[0] == "en":
        return Language(tag)
    shipped = LOCALE / f"{tag}.po"
    if not shipped.is_file():
        msg = (
            f"there is no catalogue for '{tag}'; make a template with 'tubside guide words', "
            "translate it, and name it with --words"
        )
        raise GuideError(msg)
    return _catalogue(tag, shipped)


def _catalogue(tag: str, file: Path) -> Language:
    from babel.messages.pofile import PoFileError, read_po  # noqa: PLC0415  # of the extra "app"

    try:
        with file.open("rb") as opened:
            read = read_po(opened, abort_invalid=True)
    except (OSError, UnicodeDecodeError, PoFileError, ValueError) as wrong:
        msg = f"the catalogue {file.name} cannot be used: {wrong}"
        raise GuideError(msg) from wrong
    one: dict[str, str] = {}
    forms: dict[str, tuple[str, ...]] = {}
    for message in read:
        if not message.id or message.fuzzy:
            continue
        if isinstance(message.id, (list, tuple)):
            forms[message.id[0]] = tuple(message.string or ())
        elif isinstance(message.string, str) and message.string:
            _same_marks(file, message.id, message.string)
            one[message.id] = message.string
    chosen = _chooser(read.plural_expr)

    def several(words: str, number: int) -> str | None:
        found = forms.get(words, ())
        index = chosen(number)
        return found[index] if index < len(found) and found[index] else None

    return Language(tag, one, several=several)


def _chooser(expression: str) -> Callable[[int], int]:
    """Which form goes with a number, from the expression in the catalogue's head."""
    from gettext import c2py  # noqa: PLC0415  # only with a catalogue

    return c2py(expression)


def _same_marks(file: Path, words: str, translated: str) -> None:
    """A value that is lost in translation would leave a page without its number."""
    lost = set(MARK.findall(words)) ^ set(MARK.findall(translated))
    if lost:
        msg = f"in {file.name} the words for {words!r} lack or add {', '.join(sorted(lost))}"
        raise GuideError(msg)


def longer(words: str) -> str:
    """English with accents, a third longer, in brackets.

    >>> longer("Ring us, %(name)s")
    '[Rîñg ûš, %(name)s ~~~]'
    """
    parts = MARK.split(words)
    plain = "".join(
        part if number % 2 else part.translate(ACCENTED) for number, part in enumerate(parts)
    )
    length = sum(len(part) for part in parts[::2])
    return f"[{plain} {'~' * max(int(LONGER * length), 1)}]"


def turned(words: str) -> str:
    r"""English from right to left, each word turned by itself so that lines break as they do.

    >>> turned("Ring us") == "\u202eRing\u202c \u202eus\u202c"
    True
    """
    parts = MARK.split(words)
    return "".join(
        part if number % 2 else re.sub(r"\S+", lambda word: f"{RIGHT_TO_LEFT}{word[0]}{END}", part)
        for number, part in enumerate(parts)
    )
