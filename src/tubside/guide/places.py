"""The pages of a guide: which there are, their file names, and what leads to them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tubside.errors import ModelError
from tubside.guide.photographs import page_photo
from tubside.pack.schema import Pack
from tubside.panel.front import photo_picture
from tubside.panel.schema import Panel
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine of the guide: a model, or a family where ``model`` is None.

    ``photo`` is the shop's photo of the model's front, small; None where there is none.
    """

    known: Knowledge
    model: str | None
    photo: bytes | None = None

    @property
    def pack(self) -> Pack:
        """What is known of its family."""
        return self.known.pack

    @property
    def panel(self) -> Panel | None:
        """Its front; None for a family."""
        return self.known.panel if self.model else None

    @property
    def name(self) -> str:
        """What it is called."""
        return self.panel.name if self.panel else self.pack.title

    @property
    def page(self) -> str:
        """The file of its page."""
        return f"{self._stem}.html"

    def trouble_page(self, told: str) -> str:
        """The file of one trouble; a danger's is the page that says to stop."""
        danger = self.pack.conditions[told].danger if told in self.pack.conditions else None
        if danger is not None and not self._is_shown(told):
            return f"stop.html#{danger}"
        return f"{self._stem}-{_plain(told)}.html"

    def picture(self, told: str, kind: str) -> str:
        """The file of a picture: "moving" or "still", drawn, or "photo-" before it."""
        return f"{self._stem}-{_plain(told)}-{kind}.svg"

    @property
    def on_photo(self) -> bool:
        """Whether what it shows is drawn on the photo too: its front was made from one."""
        if self.photo is None or self.panel is None:
            return False
        try:
            photo_picture(self.panel, "")
        except ModelError:
            return False
        return True

    @property
    def photo_page(self) -> str:
        """The file of the photo."""
        return f"{self._stem}-photo.jpg"

    def troubles(self) -> list[str]:
        """What has a page of its own: indications of a model, conditions of a family."""
        if self.panel is not None:
            return list(self.panel.indications)
        return [name for name, one in self.pack.conditions.items() if one.danger is None]

    def shown_for(self, condition: str) -> str | None:
        """The indication that means a condition; None where no lamp tells it."""
        shown = self.panel.indications.items() if self.panel else ()
        return next((name for name, one in shown if condition in one.conditions), None)

    def _is_shown(self, told: str) -> bool:
        return self.panel is not None and told in self.panel.indications

    @property
    def _stem(self) -> str:
        return f"machine-{_plain(self.model)}" if self.model else f"kind-{_plain(self.pack.family)}"


def _plain(name: str) -> str:
    return name.replace("_", "-").replace(" ", "-").lower()


@dataclass(frozen=True, slots=True)
class Site:
    """All machines of a guide, families first in their own list."""

    kinds: Sequence[Machine]
    models: Sequence[Machine]

    def models_of(self, family: str) -> list[Machine]:
        """The models of a family."""
        return [one for one in self.models if one.pack.family == family]

    def all(self) -> Iterator[Machine]:
        """Yield every machine."""
        yield from self.models
        yield from self.kinds


def site_of(library: Library) -> Site:
    """What a shop's knowledge makes a guide for."""
    kinds = [Machine(library.family(name), None) for name in library.families()]
    models = [
        Machine(library.model(name), name, page_photo(library.shop, name))
        for name in library.models()
    ]
    return Site(kinds, models)
