"""The shop's layers: kept, used by everything that computes, and never in the way."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import pytest

from stores import Ticking
from tubside.errors import LayerError, LayerFileError, UnknownNameError
from tubside.pack.layer.editing import Signed
from tubside.pack.layer.targets import target_of
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import PackSource
from tubside.service.data_folder import open_data
from tubside.service.job_file import JobFile
from tubside.service.jobs import Author, new_job, record
from tubside.service.knowledge import knowledge_of_family
from tubside.service.layer_use import advised_on
from tubside.service.library import Library
from tubside.service.pack_checking import CheckedPack, checked_pack
from tubside.service.records import CameBack
from tubside.service.shop_layer import ShopLayers
from tubside.strict_yaml import Tree

BY = Signed("Ada", datetime(2026, 3, 1, 9, tzinfo=UTC), "seen on nine of forty calls")
FAMILY = "small_pack"
AGEING = "causes / pump-failed / ageing"
CLIP: dict[str, Tree] = {
    "title": "clip",
    "price_low": "1",
    "price_high": "2",
    "carried": "yes",
    "source": "cp",
}


@pytest.fixture
def packs(tmp_path: Path, small_pack_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of packs with the small one in it, and nothing kept from other tests."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    shutil.copytree(small_pack_folder, tmp_path / "packs" / FAMILY)
    return tmp_path / "packs"


@pytest.fixture
def shop(tmp_path: Path, packs: Path) -> ShopLayers:
    """A shop that has changed nothing yet; its folder is not there."""
    return ShopLayers(tmp_path / "layers", packs)


def change(shop: ShopLayers, *wishes: tuple[str, Tree | None]) -> None:
    """Keep one change."""
    shop.change(FAMILY, [(target_of(place), value) for place, value in wishes], BY)


def ship(packs: Path, old: str, new: str) -> None:
    """Have a newer version of the pack shipped."""
    file = packs / FAMILY / "drain.yaml"
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_everything_computes_with_the_layer(shop: ShopLayers, packs: Path) -> None:
    """Tests that a library follows the file, and knows the shipped pack again after an undo."""
    library, job = Library(packs, layers=shop.folder), JobFile(family=FAMILY)
    plain = library.content_hash(job)
    change(shop, (AGEING, "2"))
    assert library.of(job).pack.causes["pump-failed"].ageing == 2.0
    assert library.content_hash(job) not in {plain, None}
    assert library.content_hashes(FAMILY) == {library.content_hash(job)}
    assert knowledge_of_family(FAMILY, packs).pack.causes["pump-failed"].ageing == 1.5
    shop.undo(FAMILY, "1", BY, advised=True)
    assert shop.read(FAMILY).changes
    assert library.content_hash(job) == plain
    library.forget_family(FAMILY)
    assert library.family(FAMILY).unused_layer is None


def test_the_shipped_pack_is_never_edited(shop: ShopLayers, packs: Path) -> None:
    """Tests that changes write into the layer's folder and nowhere else."""
    before = {path: path.read_bytes() for path in packs.rglob("*") if path.is_file()}
    change(shop, (AGEING, "2"))
    assert {path: path.read_bytes() for path in packs.rglob("*") if path.is_file()} == before
    assert [path.name for path in shop.folder.iterdir()] == [f"{FAMILY}.yaml"]


def test_an_undo_gives_the_same_bytes(shop: ShopLayers) -> None:
    """Tests that the file is as before, and gone when there was none."""
    change(shop, (AGEING, "2"))
    file = shop.folder / f"{FAMILY}.yaml"
    before = file.read_bytes()
    change(shop, ("causes / pump-failed / weight", "150"))
    assert file.read_bytes() != before
    shop.undo(FAMILY, "2", BY, advised=False)
    assert file.read_bytes() == before
    shop.undo(FAMILY, "1", BY, advised=False)
    assert list(shop.folder.iterdir()) == []


@pytest.mark.parametrize(
    ("place", "value", "what"),
    [
        ("causes / pump-failed / weight", "1001", "weights of causes"),
        ("causes / pump-failed / kind", "part", "cannot be 'part'"),
        ("checks / drain-hose-look / customer_step", None, "customer_step"),
        ("remedies / clear-pump / who", ["customer", "technician", "dog"], "'dog'"),
        ("parts / own", {"title": "clip"}, "lacks 'price_low'"),
        ("causes / pump-object", None, "came with the pack"),
    ],
)
def test_what_is_refused_leaves_everything(
    shop: ShopLayers, place: str, value: Tree | None, what: str
) -> None:
    """Tests that a change the pack's rules do not take is told, and nothing is written."""
    change(shop, (AGEING, "2"))
    before = shop.exported(FAMILY)
    with pytest.raises((LayerError, LayerFileError), match=what):
        change(shop, (place, value))
    assert shop.exported(FAMILY) == before


def test_an_undo_that_leaves_the_pack_wrong_is_refused(shop: ShopLayers) -> None:
    """Tests that an own part stays while an own use of it stands."""
    change(shop, ("parts / own-clip", CLIP))
    parts = shop.source(FAMILY).pack.remedies["replace-drain-pump"].parts
    change(shop, ("remedies / replace-drain-pump / parts", [*parts, "own-clip"]))
    before = shop.exported(FAMILY)
    with pytest.raises(LayerFileError, match=r"change 2 by Ada .*unknown part 'own-clip'"):
        shop.undo(FAMILY, "1", BY, advised=False)
    assert shop.exported(FAMILY) == before


def test_a_change_tried_is_not_kept(shop: ShopLayers) -> None:
    """Tests that trying writes nothing, and tells warnings that were not there before."""
    tried = shop.tried(FAMILY, [(("parts", "own-clip"), CLIP)], BY)
    assert "own-clip" in tried.source.pack.parts
    assert ["own-clip" in warning.what for warning in tried.warnings] == [True]
    assert shop.families() == []


def test_out_and_in_again(shop: ShopLayers, packs: Path, tmp_path: Path) -> None:
    """Tests that another shop takes in what this one gave out, the same to the byte."""
    change(shop, (AGEING, "2"))
    change(shop, ("causes / pump-failed / title", 'pump: "failed" \u00e9\n'))
    shop.undo(FAMILY, "1", BY, advised=True)
    other = ShopLayers(tmp_path / "other", packs)
    assert other.taken_in(shop.exported(FAMILY)) == FAMILY
    assert other.exported(FAMILY) == shop.exported(FAMILY)
    with pytest.raises(LayerError, match="already"):
        other.taken_in(shop.exported(FAMILY))
    other.undo(FAMILY, "2", BY, advised=False)
    other.taken_in(shop.exported(FAMILY), again=True)
    assert other.exported(FAMILY) == shop.exported(FAMILY)


def test_nothing_is_half_taken_in(shop: ShopLayers, packs: Path, tmp_path: Path) -> None:
    """Tests that a file with any problem leaves no trace."""
    change(shop, (AGEING, "2"))
    change(shop, ("costs / visit", "50"))
    good, other = shop.exported(FAMILY).decode(), ShopLayers(tmp_path / "other", packs)
    for old, new, what in (
        ("now: 50", "now: -50", "change 2 by Ada"),
        ("now: 50", "now: [50]", "change 2 by Ada"),
        ("id: 2", "id: 1", "have the id"),
        ("now: 2", "then: 2", "unknown key"),
        (f"family: {FAMILY}", "family: mangle", "mangle"),
    ):
        assert good.count(old) == 1
        with pytest.raises((LayerFileError, UnknownNameError), match=what):
            other.taken_in(good.replace(old, new).encode())
    assert not other.folder.exists()


@pytest.mark.parametrize("content", [b"", b"\xff", b"{", b"family: small_pack\nchanges: [a: 1]\n"])
def test_what_is_no_layer(shop: ShopLayers, content: bytes) -> None:
    """Tests that files of any other kind are refused in words."""
    with pytest.raises(LayerFileError):
        shop.taken_in(content)
    assert not shop.folder.exists()


@pytest.mark.parametrize("content", ["family: x\n", "{", "family: small_pack\nchanges: 3\n"])
def test_a_layer_that_cannot_be_read_stops_nothing(
    shop: ShopLayers, packs: Path, content: str
) -> None:
    """Tests that the shipped pack is used then, and why is told."""
    shop.folder.mkdir()
    (shop.folder / f"{FAMILY}.yaml").write_text(content, encoding="utf-8")
    known = Library(packs, layers=shop.folder).family(FAMILY)
    assert known.unused_layer is not None
    assert f"layers/{FAMILY}.yaml:" in known.unused_layer
    assert known.model.digest == knowledge_of_family(FAMILY, packs).model.digest
    assert list(shop.problems()) == [FAMILY]


def test_a_layer_that_leaves_the_pack_wrong_stops_nothing(shop: ShopLayers, packs: Path) -> None:
    """Tests that each rule of a pack holds at loading, those for customers too."""
    change(shop, ("remedies / clear-pump / minutes", "9"))
    file = shop.folder / f"{FAMILY}.yaml"
    text = file.read_text(encoding="utf-8")
    for old, new, what in (
        ("now: 9", "now: -9", "is -9"),
        ("remedies / clear-pump / minutes", "remedies / clear-pump / power", "cannot be '9'"),
    ):
        file.write_text(text.replace(old, new), encoding="utf-8")
        unused = knowledge_of_family(FAMILY, packs, shop.folder).unused_layer
        assert unused is not None
        assert what in unused
        assert "change 1 by Ada" in unused


def test_a_newer_pack_keeps_the_layer(shop: ShopLayers, packs: Path) -> None:
    """Tests that an update is told as a conflict, stays in force, and can be settled."""
    change(shop, (AGEING, "2"))
    ship(packs, "ageing: 1.5", "ageing: 1.8")
    (one,) = shop.conflicts(FAMILY)
    assert (one.was, one.ships, one.own) == ("1.5", "1.8", "2")
    known = knowledge_of_family(FAMILY, packs, shop.folder)
    assert (known.unused_layer, known.pack.causes["pump-failed"].ageing) == (None, 2.0)
    shop.settle(FAMILY, "1", BY)
    assert shop.conflicts(FAMILY) == []
    assert shop.beside(FAMILY)[0].texts == ("1.8", "2")
    assert shop.problems() == {}


def test_a_change_that_a_newer_pack_broke_can_go(shop: ShopLayers, packs: Path) -> None:
    """Tests that a layer no longer fit is taken apart change by change."""
    change(
        shop,
        ("causes / pump-failed / reported_as / wont_spin", "0.05"),
        ("causes / pump-failed / reported_as / wont_drain", "0.95"),
    )
    change(shop, ("causes / pump-object / reported_as", {"wont_drain": "0.95", "wont_spin": ".05"}))
    file = packs / FAMILY / "drain.yaml"
    text = file.read_text(encoding="utf-8")
    newer = "reported_as: {wont_drain: .8, wont_spin: .1, no_power: .1}"
    old = "reported_as: {wont_drain: .9, wont_spin: .1}"
    file.write_text(text.replace(old, newer), encoding="utf-8")
    assert "change 1 by Ada" in shop.problems()[FAMILY]
    assert knowledge_of_family(FAMILY, packs, shop.folder).unused_layer is not None
    shop.undo(FAMILY, "1", BY, advised=False)
    assert shop.problems() == {}


def test_two_people_at_once(shop: ShopLayers, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a change made while another one is checked is not overwritten."""
    change(shop, (AGEING, "2"))
    other = ShopLayers(shop.folder, shop.packs)
    trying = ShopLayers.tried

    def meanwhile(self: ShopLayers, *given: object) -> object:
        monkeypatch.setattr(ShopLayers, "tried", trying)
        change(other, ("costs / visit", "50"))
        return trying(self, *given)  # type: ignore[arg-type]  # as given

    monkeypatch.setattr(ShopLayers, "tried", meanwhile)
    with pytest.raises(LayerError, match="somebody else"):
        change(shop, ("costs / visit", "60"))
    assert [each.edits[0].now for each in shop.read(FAMILY).changes] == ["2", "50"]


@pytest.mark.parametrize("name", ["../small_pack", "", "nowhere", "a/b"])
def test_no_way_out_of_the_folder(shop: ShopLayers, name: str) -> None:
    """Tests that only a family there is a pack for leads to a file."""
    for act in (shop.read, shop.exported, shop.conflicts):
        with pytest.raises(UnknownNameError):
            act(name)
    with pytest.raises(UnknownNameError):
        shop.change(name, [(("costs", "visit"), "50")], BY)
    assert not shop.folder.exists()


def test_whether_anything_was_advised(
    shop: ShopLayers, packs: Path, tmp_path: Path, clock: Ticking
) -> None:
    """Tests that a fact computed from the layer of now counts, and one of another does not."""
    numbers = count(1)
    store, library = open_data(tmp_path / "data", clock), Library(packs, layers=shop.folder)
    author = Author("phone", clock, lambda: f"{next(numbers):032x}")
    job = new_job(store, author, [CameBack()])
    shipped = library.content_hash(JobFile(family=FAMILY))
    record(store, job, author, CameBack(), computed_from=shipped)
    assert advised_on(store, library, FAMILY)
    change(shop, (AGEING, "2"))
    assert not advised_on(store, library, FAMILY)
    own = library.content_hash(JobFile(family=FAMILY))
    record(store, job, author, CameBack(), computed_from=own)
    assert advised_on(store, library, FAMILY)
    store.close()


@pytest.mark.parametrize(
    ("place", "value", "plays"),
    [
        ("causes / pump-failed / reported_as", {"wont_drain": "0.8", "wont_spin": "0.2"}, True),
        ("conditions / wont_drain / leak", "0.004", True),
        ("causes / pump-failed / weight", "150", False),
        ("costs / visit", "50", False),
    ],
)
def test_the_machine_is_played_where_it_may_tell(
    shop: ShopLayers, monkeypatch: pytest.MonkeyPatch, place: str, value: Tree, *, plays: bool
) -> None:
    """Tests that cycles are played for changes they depend on, and for no others."""
    asked: list[bool] = []
    checking = checked_pack

    def noted(source: PackSource, *, play: bool) -> CheckedPack:
        asked.append(play)
        return checking(source, play=play)

    monkeypatch.setattr("tubside.service.shop_layer.checked_pack", noted)
    shop.tried(FAMILY, [(target_of(place), value)], BY)
    assert asked == [plays]


@pytest.mark.soak
def test_a_shipped_pack_takes_changes_of_its_machine(tmp_path: Path) -> None:
    """Tests that moves that contradict the reports are found by playing the machine."""
    shop = ShopLayers(tmp_path / "layers")
    moves: Tree = {"levelness": {"to": "1.0"}}
    with pytest.raises(LayerFileError, match="never bring that about"):
        shop.tried("top_load", [(("causes", "not-level", "moves"), moves)], BY)
    assert layer_text(shop.read("top_load").file).endswith("changes: []\n")
