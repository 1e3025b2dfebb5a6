"""Which pack and panel a job stands on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from tubside.errors import UnknownNameError
from tubside.pack.fault_model import FaultModel
from tubside.pack.home import pack_folder, packs_folder
from tubside.pack.loading import load_pack
from tubside.pack.machine_compiling import with_own_values
from tubside.pack.schema import Pack
from tubside.panel.schema import Panel
from tubside.service.job_file import JobFile
from tubside.strict_yaml import or_one_of


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The pack, the model compiled from it, and the panel where one is known."""

    pack: Pack
    model: FaultModel
    panel: Panel | None


def knowledge_of_family(family: str, packs: Path | None = None) -> Knowledge:
    """The pack of a family, no panel known."""
    loaded = load_pack(pack_folder(family.replace("-", "_"), packs))
    return Knowledge(loaded.pack, loaded.model, None)


def knowledge_of_model(name: str, packs: Path | None = None) -> Knowledge:
    """The pack and the panel of one model."""
    from tubside.panel.reading import read_panel  # noqa: PLC0415  # most calls know no model

    known = models(packs)
    if name not in known:
        msg = f"there is no model '{name}'; {or_one_of(name, known)}"
        raise UnknownNameError(msg)
    path = known[name]
    knowledge = knowledge_of_family(path.parent.parent.name, packs)
    panel = read_panel(path, knowledge.pack.conditions)
    return Knowledge(knowledge.pack, _as_built(knowledge.model, panel), panel)


def _as_built(model: FaultModel, panel: Panel) -> FaultModel:
    """The family's model with the machine as this one is built."""
    if model.machine is None or not (panel.machine or panel.controller):
        return model
    machine = with_own_values(model.machine, panel.machine, panel.controller)
    return replace(model, machine=machine)


def models(packs: Path | None = None) -> dict[str, Path]:
    """Model id -> its panel file, over all packs."""
    root = packs or packs_folder()
    return {path.stem: path for path in sorted(root.glob("*/models/*.yaml"))}


def knowledge_of(job: JobFile, packs: Path | None = None) -> Knowledge:
    """The pack and panel that a job file names."""
    if job.model is not None:
        return knowledge_of_model(job.model, packs)
    return knowledge_of_family(str(job.family), packs)
