"""All words of the guide as a gettext template, for who translates it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

from tubside.guide.building import GUIDE
from tubside.guide.telling import sentence
from tubside.pack.schema import Check, Pack, Remedy
from tubside.safety.profiles import countries, load_profile
from tubside.service.customer_danger import ASK
from tubside.service.danger import SAY
from tubside.service.library import Library
from tubside.service.moving.chapters import for_customers
from tubside.service.step_pictures.choosing import captions

if TYPE_CHECKING:
    from babel.messages import Catalog

MADE_UP_DATE = datetime(1970, 1, 1, tzinfo=UTC)
"""No clock: the same words make the same file."""
ANSWERS = (
    "not sure",
    "it works again",
    "it is the same as before",
    "I could not, or would rather not",
)


def template_of(library: Library | None = None) -> bytes:
    """The template: the words of the pages, and those of a shop's packs where it is named."""
    from babel.messages import Catalog  # noqa: PLC0415  # of the extra "app"
    from babel.messages.pofile import write_po  # noqa: PLC0415

    catalogue = Catalog(project="tubside guide", creation_date=MADE_UP_DATE, charset="utf-8")
    catalogue.header_comment = "# The words of the self-help guide."
    _pages(catalogue)
    for words in (*ASK.values(), *SAY.values(), *ANSWERS, *captions()):
        catalogue.add(words)
    for family in library.families() if library else ():
        for words in pack_words(library.family(family).pack) if library else ():
            catalogue.add(words)
    for model in library.models() if library else ():
        panel = library.model(model).panel if library else None
        for words in panel.sounds.values() if panel else ():
            catalogue.add(words)
    for country in countries() if library else ():
        profile = load_profile(country).profile
        words_of = [one for work in profile.works.values() for one in (work.title, work.who)]
        for words in (profile.title, profile.duty.words, *words_of):
            catalogue.add(words)
    out = BytesIO()
    write_po(out, catalogue, width=100, omit_header=False, sort_output=True, no_location=True)
    return out.getvalue()


def _pages(catalogue: Catalog) -> None:
    """Add the words of the templates and of the modules beside them."""
    from babel.messages.extract import extract  # noqa: PLC0415  # of the extra "app"
    from jinja2.ext import babel_extract  # noqa: PLC0415

    options = {"trimmed": "true", "encoding": "utf-8"}
    for folder, ending in (("templates", ".html"), ("", ".py")):
        for file in sorted((GUIDE / folder).iterdir(), key=lambda one: one.name):
            if file.name.endswith(ending):
                method: Any = babel_extract if ending == ".html" else "python"
                for found in extract(method, BytesIO(file.read_bytes()), options=options):
                    catalogue.add(found[1])


def pack_words(pack: Pack) -> Iterator[str]:
    """Yield the words of a pack that a guide may show."""
    yield pack.title
    for condition in pack.conditions.values():
        yield condition.title
        yield from condition.words[:3]
    yield from (sentence(one.plain) for one in pack.causes.values() if one.plain)
    cautions: set[str] = set()
    steps: list[Check | Remedy] = [*pack.checks.values(), *pack.remedies.values()]
    for step in steps:
        if for_customers(step):
            yield step.title
            yield " ".join((step.say or "").split())
            cautions |= set(step.cautions)
        if isinstance(step, Check) and for_customers(step) and step.reading is None:
            if step.finding is not None:
                yield from pack.findings[step.finding].outcomes.values()
            else:
                yield from (one.title for one in pack.variants[str(step.variant)].values.values())
    for name in sorted(cautions):
        yield from (sentence(pack.cautions[name].harm), sentence(pack.cautions[name].do))
