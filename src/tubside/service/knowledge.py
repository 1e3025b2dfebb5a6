"""Which pack and panel a job stands on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from tubside.errors import UnknownNameError
from tubside.pack.fault_model import FaultModel
from tubside.pack.home import packs_folder
from tubside.pack.schema import Pack
from tubside.panel.schema import Panel
from tubside.service.job_file import JobFile
from tubside.service.layered_pack import OwnChanges, layered_pack
from tubside.strict_yaml import or_one_of


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The pack, the model compiled from it, and the panel where one is known.

    ``unused_layer`` says why the shop's own changes are not in it, where they cannot be;
    ``own`` how many are.
    """

    pack: Pack
    model: FaultModel
    panel: Panel | None
    unused_layer: str | None = None
    own: OwnChanges | None = None


def knowledge_of_family(
    family: str, packs: Path | None = None, layers: Path | None = None
) -> Knowledge:
    """The pack of a family, no panel known; ``layers`` is the folder of a shop's own changes."""
    layered = layered_pack(family.replace("-", "_"), packs, layers)
    loaded = layered.loaded
    return Knowledge(loaded.pack, _predicting(loaded.model), None, layered.unused, layered.own)


def knowledge_of_model(
    name: str, packs: Path | None = None, shop: Path | None = None, layers: Path | None = None
) -> Knowledge:
    """The pack and the panel of one model.

    ``shop`` is the folder of a shop's own models, ``layers`` that of its own changes.
    """
    known = models(packs, shop)
    if name not in known:
        msg = f"there is no model '{name}'; {or_one_of(name, known)}"
        raise UnknownNameError(msg)
    path = known[name]
    if shop is not None and path.parent == shop:
        from tubside.service.model_file import read_model  # noqa: PLC0415  # most calls need none

        panel = read_model(path, packs, layers)  # its file says of which family it is
        layered = layered_pack(panel.family, packs, layers)
    else:
        from tubside.panel.reading import read_panel  # noqa: PLC0415  # most calls know no model

        layered = layered_pack(path.parent.parent.name, packs, layers)
        panel = read_panel(path, layered.loaded.pack.conditions)
    model = _predicting(_as_built(layered.loaded.model, panel))
    return Knowledge(layered.loaded.pack, model, panel, layered.unused, layered.own)


def _predicting(model: FaultModel) -> FaultModel:
    """The model with what its readings would show, where it has any."""
    if not any(check.reading is not None for check in model.checks):
        return model
    from tubside.service.predictions import with_predictions  # noqa: PLC0415  # only with readings

    return with_predictions(model)


def _as_built(model: FaultModel, panel: Panel) -> FaultModel:
    """The family's model with the machine as this one is built."""
    if model.machine is None or not (panel.machine or panel.controller or panel.sheet):
        return model
    from tubside.machine.as_built import as_built, has_drum  # noqa: PLC0415  # only with own values

    drum = has_drum(model.names.stages)
    return replace(model, machine=as_built(model.machine, panel, drum=drum))


def model_named(name: str, packs: Path | None = None, shop: Path | None = None) -> str:
    """The id of the one model that people call ``name``: its id, its name, or a word of it.

    ``shop`` is the folder of a shop's own models.

    Raises
    ------
    UnknownNameError
        When there is none, or more than one.
    """
    known = list(models(packs, shop))
    if name in known:
        return name
    wanted = set(name.lower().replace("-", " ").split())
    found = [model for model in known if wanted and wanted <= set(model.split("-"))]
    if len(found) == 1:
        return found[0]
    what = f"'{name}' may be {' or '.join(found)}" if found else f"there is no model '{name}'"
    msg = f"{what}; {or_one_of(name, found or known)}"
    raise UnknownNameError(msg)


def models(packs: Path | None = None, shop: Path | None = None) -> dict[str, Path]:
    """Model id -> its panel file, over all packs and, after them, the shop's own folder.

    A shipped model keeps its id: a file of the shop's under the same one is not used.
    """
    root = packs or packs_folder()
    shipped = {path.stem: path for path in sorted(root.glob("*/models/*.yaml"))}
    own = {} if shop is None else {path.stem: path for path in sorted(shop.glob("*.yaml"))}
    return shipped | {name: path for name, path in own.items() if name not in shipped}


def knowledge_of(
    job: JobFile, packs: Path | None = None, shop: Path | None = None, layers: Path | None = None
) -> Knowledge:
    """The pack and panel that a job file names; folders as in :func:`knowledge_of_model`."""
    if job.model is not None:
        return knowledge_of_model(job.model, packs, shop, layers)
    return knowledge_of_family(str(job.family), packs, layers)
