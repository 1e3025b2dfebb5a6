"""Catalogues of the guide: the template kept in step, and catalogues that cannot be used."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import GuideError
from tubside.guide.extracting import template_of
from tubside.guide.languages import LOCALE, language_of

HEAD = (
    'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
    '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
)
MINUTES = 'msgid "about %(num)s minute"\nmsgid_plural "about %(num)s minutes"\n'


def catalogue(folder: Path, text: str) -> Path:
    """A catalogue of that text."""
    file = folder / "de.po"
    file.write_text(HEAD + text, encoding="utf-8")
    return file


def test_the_template_is_in_step() -> None:
    """Tests that the shipped template holds the pages' words as they are now."""
    assert template_of() == (LOCALE / "guide.pot").read_bytes()


def test_words_and_numbers(tmp_path: Path) -> None:
    """Tests a catalogue's words, its forms by number, and English where it has none."""
    text = 'msgid "By lamp"\nmsgstr "Nach Lampe"\n\n' + MINUTES
    text += 'msgstr[0] "etwa %(num)s Minute"\nmsgstr[1] "etwa %(num)s Minuten"\n'
    german = language_of("de", catalogue(tmp_path, text))
    assert german.gettext("By lamp") == "Nach Lampe"
    assert german.gettext("By sound") == "By sound"
    words = ("about %(num)s minute", "about %(num)s minutes")
    assert [german.ngettext(*words, n) for n in (1, 7)] == ["etwa 1 Minute", "etwa 7 Minuten"]
    assert (german.direction, language_of("ar-XB").direction) == ("ltr", "rtl")


def test_a_lost_value_is_refused(tmp_path: Path) -> None:
    """Tests that a translation without its value is told with the words it belongs to."""
    file = catalogue(tmp_path, 'msgid "Ring %(telephone)s"\nmsgstr "Anrufen"\n')
    with pytest.raises(GuideError, match=r"de\.po .*Ring .* lack or add %\(telephone\)s"):
        language_of("de", file)


def test_what_is_no_catalogue_is_told(tmp_path: Path) -> None:
    """Tests a file that is none, and a language that nobody has translated."""
    file = tmp_path / "de.po"
    file.write_text("hello\n", encoding="utf-8")
    with pytest.raises(GuideError, match=r"de\.po cannot be used"):
        language_of("de", file)
    with pytest.raises(GuideError, match="no catalogue for 'fr'"):
        language_of("fr")
