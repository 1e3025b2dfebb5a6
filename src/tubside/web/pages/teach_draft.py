"""The draft of a model that a page of teaching works on."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec
from starlette.requests import Request

from tubside.pack.schema import Pack
from tubside.panel.sketch import Sketch
from tubside.service.model_drafts import Drafts
from tubside.web.pages.desk import Desk
from tubside.web.pages.models import drafts_of


@dataclass(frozen=True, slots=True)
class At:
    """The draft that a page works on."""

    drafts: Drafts
    id: str
    sketch: Sketch
    pack: Pack

    def keep(self, **changes: object) -> Sketch:
        """Keep the draft with some of it changed."""
        changed = msgspec.structs.replace(self.sketch, **changes)
        self.drafts.keep(self.id, changed)
        return changed


def at(desk: Desk, request: Request) -> At:
    """The draft that the address names."""
    drafts, name = drafts_of(desk), request.path_params["draft"]
    sketch = drafts.read(name)
    return At(drafts, name, sketch, desk.library.family(sketch.family).pack)
