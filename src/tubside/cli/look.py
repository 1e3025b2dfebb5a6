"""The look in a terminal: enamel sign, water in small tubs, thick strips for what can hurt.

Colour never carries anything alone, so a page without colour says the same. Amber
stays with lamps, and red with what can hurt somebody.
"""

from __future__ import annotations

import os
import textwrap
import unicodedata
from dataclasses import dataclass

from rich import box
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

WIDEST = 92
SIGN = "bold #fbfaf6 on #1d4e68"
COPPER = "#b4672f"
COPPER_BOLD = "bold #b4672f"
WATER = "#4a90b5"
RIM = "#4a90b5"
STOP = "bold #c2483a"
QUIET = "dim"
BOLD = "bold"
LABEL = "bold reverse"

_PLAIN = {
    "\N{EM DASH}": "-",
    "\N{EN DASH}": "-",
    "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "“": '"',
    "”": '"',
    "…": "...",
    "\N{MULTIPLICATION SIGN}": "x",
    "°": " deg ",
    "Ω": "ohm",
    "µ": "u",
    "≤": "<=",
    "≥": ">=",
    "±": "+/-",
}
_THICK = box.Box("####\n#  #\n####\n#  #\n####\n####\n#  #\n####\n", ascii=True)


@dataclass(frozen=True, slots=True)
class Marks:
    """The signs a page is drawn with; ``levels`` are nine heights of water in one row."""

    speaks_for: str
    speaks_against: str
    neither: str
    levels: str
    walls: tuple[str, str]
    feet: str
    then: str
    bullet: str
    line: str
    thin: box.Box
    thick: box.Box
    poor: bool

    def words(self, text: str) -> str:
        """The same words in letters that this terminal has."""
        if not self.poor:
            return text
        for sign, plain in _PLAIN.items():
            text = text.replace(sign, plain)
        return unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()


RICH = Marks(
    speaks_for="▲",
    speaks_against="▽",
    neither="·",
    levels=" ▁▂▃▄▅▆▇█",
    walls=("▕", "▏"),
    feet="╰┬────┬╯",
    then="→",
    bullet="▪",
    line="─",
    thin=box.ROUNDED,
    thick=box.HEAVY,
    poor=False,
)
POOR = Marks(
    speaks_for="^",
    speaks_against="v",
    neither=".",
    levels=" __--==##",
    walls=("|", "|"),
    feet="'o----o'",
    then="->",
    bullet="-",
    line="-",
    thin=box.ASCII,
    thick=_THICK,
    poor=True,
)


def marks_of(console: Console) -> Marks:
    """The marks that a terminal can show: a Linux console lacks most of the blocks."""
    bare = os.environ.get("TERM") == "linux" and console.is_terminal
    return POOR if bare or console.options.ascii_only else RICH


def page(console: Console | None) -> Console:
    """The terminal, not wider than reads well."""
    console = console or Console(highlight=False)
    console.width = min(console.width, WIDEST)
    return console


@dataclass(frozen=True, slots=True)
class Flow:
    """Sentences that wrap, but never between a number and its percent sign."""

    text: str
    style: str = ""

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> RenderResult:
        """Wrap to the width there is; textwrap keeps no-break spaces, rich does not."""
        held = self.text.replace(" %", "\N{NO-BREAK SPACE}%")
        wrapped = textwrap.fill(held, options.max_width, break_on_hyphens=False)
        yield Text(wrapped.replace("\N{NO-BREAK SPACE}", " "), style=self.style)


def heading(text: str) -> Text:
    """A heading of a part of the page."""
    return Text(text, style=COPPER_BOLD)


def sign(left: str, right: str, width: int) -> Text:
    """The enamel sign over the page: what machine, and where we are."""
    gap = max(width - len(left) - len(right) - 2, 1)
    return Text(f" {left.upper()}{' ' * gap}{right} ", style=SIGN, overflow="fold")


def strip(marks: Marks, label: str, harm: str, do: str, style: str = "") -> RenderableType:
    """A thick strip: the word, what can hurt, and what to do about it."""
    inside = Table.grid(padding=(0, 1))
    inside.add_column(no_wrap=True)
    inside.add_column()
    said = Text(marks.words(sentence(harm)), style=BOLD)
    said.append(f" {marks.words(sentence(do))}" if do else "", style="not bold")
    inside.add_row(Text(f" {label} ", style=LABEL), said)
    return Panel(inside, box=marks.thick, border_style=style, padding=(0, 1))


def sentence(text: str) -> str:
    """The same words with a capital at the start and a full stop at the end."""
    whole = capital(text.strip())
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."


def capital(text: str) -> str:
    """The same words with a capital at the start."""
    return text[:1].upper() + text[1:]


def tub(marks: Marks, chance: float) -> Text:
    """A small tub in one row: the higher the water, the likelier."""
    left, right = marks.walls
    water = marks.levels[_eighths(chance, 8)] * 3
    return Text.assemble((left, COPPER), (water, WATER), (right, COPPER))


def large_tub(marks: Marks, chance: float) -> Text:
    """A tub in three rows, on feet."""
    left, right = marks.walls
    height = _eighths(chance, 16)
    rows = [marks.levels[min(max(height - below, 0), 8)] * 6 for below in (8, 0)]
    text = Text()
    for row in rows:
        text.append(left, COPPER).append(row, WATER).append(f"{right}\n", COPPER)
    return text.append(marks.feet, COPPER)


def _eighths(chance: float, full: int) -> int:
    """Height of the water; something that may be there shows as more than nothing."""
    return 0 if chance < 0.01 else max(round(chance * full), 1)
