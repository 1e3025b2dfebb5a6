"""People, words and photos are kept beside the facts, and can be erased."""

from __future__ import annotations

from pathlib import Path

import pytest

from pictures_made import picture, picture_with_place
from stores import START, Ticking
from tubside.errors import AttachmentError, FactError, NotThereError
from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.attachments import (
    PHOTO_LIMIT,
    add_photo,
    add_words,
    erase_photo,
    erase_words,
    read_photo,
)
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_lines, job_view, new_job, record
from tubside.service.library import Library
from tubside.service.panel_photo import shrunk
from tubside.service.people import Person, PersonData, add_person, erase_person, read_person
from tubside.service.records import Machine, PersonNamed, PhotoKept, Reported, WordsKept
from tubside.store.opening import Store

ADA = PersonData(name="Ada Quill", phone="0555 0199", address="3 Mill Lane")
PNG = picture()


@pytest.fixture
def job(store: Store, author: Author) -> str:
    """Return a job that can be advised on, with a person, words and a photo."""
    job = new_job(store, author, [Machine(family="top_load"), Reported(conditions=["wont_spin"])])
    add_person(store, "person-0001", ADA, START)
    add_words(store, job, "words-00001", "Ada says it stinks", START)
    add_photo(store, job, "photo-00001", PNG, START)
    for body in (
        PersonNamed(ref="person-0001"),
        WordsKept(ref="words-00001"),
        PhotoKept(ref="photo-00001", of="rating-plate"),
    ):
        record(store, job, author, body)
    return job


def test_erasing_leaves_the_belief(store: Store, job: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that after a person is erased every fact is there and the advice is the same."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))
    library = Library()
    before = job_view(store, library, job)
    assert before.person == Person("person-0001", ADA)
    assert before.words == {"words-00001": "Ada says it stinks"}
    assert [note.media_type for note in before.photos] == ["image/jpeg"]
    erase_person(store, "person-0001", START)
    after = job_view(store, library, job)
    assert after.person == Person("person-0001", None)
    assert after.words == {"words-00001": None}
    assert [note.media_type for note in after.photos] == [None]
    assert after.entries == before.entries
    assert after.advice == before.advice is not None
    assert job_lines(store, library)[0].person is None
    with pytest.raises(NotThereError):
        read_photo(store, job, "photo-00001")


def test_what_is_erased_is_in_no_file(tmp_path: Path, clock: Ticking, author: Author) -> None:
    """Tests that nothing of an erased person is left in the database's files."""
    store = open_data(tmp_path, clock)
    opened = new_job(store, author, [Machine(family="top_load")])
    add_person(store, "person-0001", ADA, START)
    record(store, opened, author, PersonNamed(ref="person-0001"))

    def left() -> bool:
        return any(b"Ada Quill" in path.read_bytes() for path in tmp_path.glob("tubside*"))

    assert left()
    erase_person(store, "person-0001", START)
    assert not left()
    store.close()


def test_all_versions_are_erased(store: Store, author: Author, job: str) -> None:
    """Tests that erasing one version of a person erases those before and after it."""
    moved = PersonData(name="Ada Quill", address="9 Weir Street")
    add_person(store, "person-0002", moved, START, replaces="person-0001")
    add_person(store, "person-0003", moved, START, replaces="person-0002")
    record(store, job, author, PersonNamed(ref="person-0003"))
    add_person(store, "person-0009", PersonData(name="Bo Tarn"), START)
    erase_person(store, "person-0002", START)
    for ref in ("person-0001", "person-0002", "person-0003"):
        assert read_person(store, ref).data is None
    assert read_person(store, "person-0009").data == PersonData(name="Bo Tarn")


def test_what_was_erased_does_not_come_back(store: Store, job: str) -> None:
    """Tests that a late copy from a phone does not bring an erased person or photo back."""
    erase_person(store, "person-0001", START)
    assert add_person(store, "person-0001", ADA, START).data is None
    add_photo(store, job, "photo-00001", PNG, START)
    with pytest.raises(NotThereError):
        read_photo(store, job, "photo-00001")


def test_one_by_one(store: Store, job: str) -> None:
    """Tests that words and a photo can be erased alone, and only through their own job."""
    with pytest.raises(NotThereError):
        erase_photo(store, "job-elsewhere", "photo-00001", START)
    assert read_photo(store, job, "photo-00001").content == shrunk(PNG)
    erase_photo(store, job, "photo-00001", START)
    erase_words(store, job, "words-00001", START)
    view = job_view(store, Library(), job)
    assert view.words == {"words-00001": None}
    assert view.person == Person("person-0001", ADA)


def test_the_same_again_is_kept_once(store: Store, job: str) -> None:
    """Tests that the same under a reference changes nothing, and something else is refused."""
    add_person(store, "person-0001", ADA, START)
    add_photo(store, job, "photo-00001", PNG, START)
    with pytest.raises(AttachmentError, match="taken"):
        add_person(store, "person-0001", PersonData(name="Bo"), START)
    with pytest.raises(AttachmentError, match="taken"):
        add_photo(store, job, "photo-00001", picture(colour=(1, 2, 3)), START)


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"<svg onload='x'/>", "no JPEG"),
        (b"", "no JPEG"),
        (b"RIFF....WAVE", "no JPEG"),
        (b"\xff\xd8\xff" + bytes(PHOTO_LIMIT), "at most 8"),
    ],
)
def test_no_other_files(store: Store, job: str, content: bytes, what: str) -> None:
    """Tests that only pictures of a few kinds, and not too large, are kept."""
    with pytest.raises(AttachmentError, match=what):
        add_photo(store, job, "photo-00009", content, START)


@pytest.mark.parametrize("form", ["JPEG", "WEBP", "PNG"])
def test_kinds_of_photos(store: Store, job: str, form: str) -> None:
    """Tests that a photo of each kind is kept as a JPEG."""
    assert add_photo(store, job, "photo-00009", picture(form), START) == "image/jpeg"
    kept = read_photo(store, job, "photo-00009")
    assert (kept.media_type, kept.content[:3]) == ("image/jpeg", b"\xff\xd8\xff")


def test_a_photo_does_not_say_where_it_was_taken(store: Store, job: str) -> None:
    """Tests that place, camera and comment never reach the store."""
    taken = picture_with_place()
    assert taken.count(b"SECRET") == 2
    add_photo(store, job, "photo-00009", taken, START)
    kept = read_photo(store, job, "photo-00009").content
    assert b"SECRET" not in kept
    assert b"Exif" not in kept


@pytest.mark.parametrize("text", ["", " \n", "x" * 4001, "a\x00b", "a\x1bb", "\ud800"])
def test_no_strange_words(store: Store, job: str, text: str) -> None:
    """Tests that words which a page or a database could not hold are refused."""
    with pytest.raises(AttachmentError):
        add_words(store, job, "words-00009", text, START)


def test_people_are_checked(store: Store) -> None:
    """Tests that names too long, references malformed and unknown people are refused."""
    with pytest.raises(AttachmentError, match="name"):
        add_person(store, "person-0009", PersonData(name="x" * 501), START)
    with pytest.raises(FactError, match="reference"):
        add_person(store, "../../x", ADA, START)
    with pytest.raises(NotThereError):
        add_person(store, "person-0009", ADA, START, replaces="person-0008")
    with pytest.raises(NotThereError):
        read_person(store, "person-0009")
    with pytest.raises(NotThereError):
        erase_person(store, "person-0009", START)
