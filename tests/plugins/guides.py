"""Guides built for tests, and what their pages hold."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

from tubside.pack.schema import Pack
from tubside.service.library import Library
from tubside.service.moving.chapters import for_customers

LIMIT = 150_000
"""Bytes of a page with its sheet of style, script and pictures."""


def small_library(folder: Path) -> Library:
    """Knowledge of one small family and no model."""
    shutil.copytree(Path(__file__).parents[1] / "pack" / "small_pack", folder / "small_pack")
    return Library(folder)


@dataclass(frozen=True)
class Tag:
    """One tag of a page, by name and attributes."""

    name: str
    told: dict[str, str]


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[Tag] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(Tag(tag, {name: said or "" for name, said in attrs}))


def tags(text: str) -> list[Tag]:
    """Every tag of a page in its order."""
    reader = _Tags()
    reader.feed(text)
    return reader.found


def leads(page: list[Tag]) -> Iterator[str]:
    """Every address on a page that is looked up when it is shown or tapped."""
    for tag in page:
        yield from (tag.told[name] for name in ("href", "src", "srcset") if name in tag.told)


def faults(folder: Path) -> list[str]:
    """What is wrong with a built guide: links, strangers, size, scripts, and what comes first."""
    pages = {one.name: tags(one.read_text("utf-8")) for one in folder.glob("*.html")}
    ids = {
        name: {tag.told["id"] for tag in page if "id" in tag.told} for name, page in pages.items()
    }
    wrong = []
    for name, page in pages.items():
        needed = {name}
        for lead in leads(page):
            file, _, place = lead.partition("#")
            if lead.startswith(("tel:", "sms:")):
                continue
            if ":" in lead or lead.startswith("//") or not (folder / (file or name)).is_file():
                wrong.append(f"{name}: {lead} leads nowhere in this folder")
            elif place and place not in ids[file or name]:
                wrong.append(f"{name}: {lead} leads to no such place")
            if file and not file.endswith(".html"):
                needed.add(file)
        size = sum((folder / one).stat().st_size for one in needed if (folder / one).is_file())
        if size > LIMIT and "machine-" not in name:
            wrong.append(f"{name}: {size} bytes with all it shows")
        if any(tag.name in {"iframe", "form", "object"} or "style" in tag.told for tag in page):
            wrong.append(f"{name}: holds what a guide may not")
    return wrong


def unsafe(pack: Pack, text: str) -> list[str]:
    """Steps of an answer's page that a customer may not do, or that come before what can hurt."""
    wrong = []
    first = re.search(r'<li class="step', text)
    if first and not 0 <= text.find("stop.html#") < first.start():
        wrong.append("a step comes before the question of danger")
    for part in text.split('<li class="step')[1:]:
        kind, name = re.findall(r'data-kind="([^"]+)" data-name="([^"]+)"', part)[0]
        entry = pack.checks[name] if kind == "check" else pack.remedies[name]
        if not for_customers(entry):
            wrong.append(f"{kind} {name} is none for customers")
        told = part.partition('<p class="do">')[0].count('<p class="caution-mark">')
        if told < len(entry.cautions):
            wrong.append(f"{kind} {name}: {told} of {len(entry.cautions)} cautions come first")
    return wrong
