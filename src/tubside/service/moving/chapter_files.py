"""The chapters as a folder: a page to film by, the words to read out, a clip and a still each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from tubside.panel.moving.pictures import Wish
from tubside.service.knowledge import Knowledge
from tubside.service.moving.chapters import Chapter, Take
from tubside.service.moving.showing import Asked, Kind, shown

PAGE, WORDS = "chapters.html", "words.txt"
FIRST = "When to stop"
LAST = "Is it still not right, or are you not sure? Leave it as it is, and ring us."
STYLE = """
body{font:17px/1.5 system-ui,sans-serif;margin:2rem auto;max-width:60rem;padding:0 1rem;
color:#1f2a30;background:#fff}
h2{border-top:3px solid #1d4e68;padding-top:.75rem;margin-top:2.5rem}
video,.clip{width:22rem;max-width:100%;height:auto}
.caution{border:3px solid #1f2a30;border-radius:6px;padding:.5rem .75rem;margin:.5rem 0}
.caution b:first-child{background:#1f2a30;color:#fff;padding:.1rem .5rem;margin-right:.5rem}
blockquote{margin:.5rem 0;padding-left:.75rem;border-left:4px solid #b4672f}
.quiet{color:#4a5960}li{margin:1rem 0}
@media print{section{break-inside:avoid}video{display:none}}
"""


@dataclass(frozen=True, slots=True)
class Lesson:
    """All that is filmed: a title, what to say first, and the chapters in their order."""

    title: str
    stops: Sequence[str]
    chapters: Sequence[Chapter]
    clip: Kind
    width: int = 640

    def name(self, number: int, kind: Kind) -> str:
        """The name of a chapter's file; numbers begin at 1."""
        chapter = self.chapters[number - 1]
        return f"{number:02d}-{chapter.model}-{chapter.indication}.{kind}"


def files_of(lesson: Lesson, known: Mapping[str, Knowledge]) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of every file, the page first."""
    yield PAGE, page_of(lesson).encode()
    yield WORDS, words_of(lesson).encode()
    for number, chapter in enumerate(lesson.chapters, 1):
        panel = known[chapter.model].panel
        assert panel is not None
        wish = Wish(lesson.width)
        kinds: tuple[Kind, ...] = (lesson.clip, "png")
        for kind in kinds:
            asked = Asked(kind, wish, at_least_s=max(chapter.hold_s, 12.0))
            yield lesson.name(number, kind), shown(panel, chapter.indication, asked)


def words_of(lesson: Lesson) -> str:
    """What to say, in order, to be read out: plain words and nothing else."""
    lines = [lesson.title.upper(), "", f"0. {FIRST}", ""]
    lines += [*lesson.stops, ""]
    for number, chapter in enumerate(lesson.chapters, 1):
        lines += [f"{number}. {opening(chapter)}", ""]
        if chapter.stop is not None:
            lines += [f"STOP. {chapter.stop}", ""]
        for take in chapter.takes:
            lines += [f"Mind: {harm} {do}" for harm, do in _sentences(take)]
            lines += [" ".join(take.say.split()), ""]
        lines += [LAST, ""]
    return "\n".join(lines)


def opening(chapter: Chapter) -> str:
    """What a chapter begins with: the machine, what its lamps do, what that means."""
    return f"{chapter.machine}: {chapter.looks}. It means: {chapter.means}."


def page_of(lesson: Lesson) -> str:
    """The page to film by: it opens from the folder, prints, and needs no script."""
    first = "".join(f"<blockquote>{escape(words)}</blockquote>" for words in lesson.stops)
    chapters = "".join(
        _section(lesson, number, chapter) for number, chapter in enumerate(lesson.chapters, 1)
    )
    title = escape(lesson.title)
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f'<meta name="viewport" content="width=device-width"><style>{STYLE}</style></head><body>'
        f"<h1>{title}</h1><p>One chapter for each thing that the machine shows, the one met "
        "most often first. Show the picture instead of filming lamps: a camera spoils them. Say "
        "what can hurt before you show what to do. Only steps that are safe for customers are "
        f"here.</p><section><h2>0. {FIRST}</h2><p class=quiet>Say this before every film.</p>"
        f"{first}</section>{chapters}</body></html>\n"
    )


def _section(lesson: Lesson, number: int, chapter: Chapter) -> str:
    head = f"{number}. {chapter.machine}: {chapter.means}"
    calls = f"About {100 * chapter.share:.0f} of 100 calls of this kind of machine begin so."
    parts = [
        f"<section><h2>{escape(head)}</h2>",
        f"<p class=quiet>{calls} Hold the picture for {chapter.hold_s:.0f} seconds.</p>",
        _clip(lesson, number),
        f"<blockquote>{escape(opening(chapter))}</blockquote></section>",
    ]
    if chapter.stop is not None:
        parts.append(f"<p class=caution><b>STOP</b>{escape(chapter.stop)}</p>")
    elif not chapter.takes:
        parts.append("<p>Nothing here is for customers: say that you come.</p>")
    else:
        shown_in_order = "".join(_step(take) for take in chapter.takes)
        parts.append(f"<ol>{shown_in_order}</ol>")
    parts.append(f"<blockquote>{LAST}</blockquote>")
    return "".join(parts)


def _clip(lesson: Lesson, number: int) -> str:
    clip, still = (escape(lesson.name(number, kind)) for kind in (lesson.clip, "png"))
    if lesson.clip == "mp4":
        moving = f'<video src="{clip}" controls loop muted preload="none" poster="{still}"></video>'
    else:
        moving = f'<img class=clip src="{clip}" alt="">'
    return f'<p>{moving}</p><p><a href="{clip}">{clip}</a>, <a href="{still}">{still}</a></p>'


def _step(take: Take) -> str:
    mind = "".join(
        f"<p class=caution><b>Caution</b><b>{escape(harm)}</b> {escape(do)}</p>"
        for harm, do in _sentences(take)
    )
    verb = "Look" if take.kind == "look" else "Do"
    title = f"<b>{verb}: {escape(take.title)}</b> ({take.minutes:g} min)"
    return f"<li>{title}{mind}<blockquote>{escape(' '.join(take.say.split()))}</blockquote></li>"


def _sentences(take: Take) -> list[tuple[str, str]]:
    """Each caution's harm as a sentence, and what to do about it."""
    return [(_sentence(harm), _sentence(do)) for harm, do in take.cautions]


def _sentence(words: str) -> str:
    words = words.strip()
    whole = words[:1].upper() + words[1:]
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."
