"""The demonstration's jobs: small files with the call, and the truth that is kept hidden."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tubside.service.job_file import JobFile, JobSource, Record
from tubside.service.play import Truth
from tubside.strict_yaml import Document, convert, read_file

FOLDER = Path(__file__).parent / "demo_jobs"


class DemoFile(Record, frozen=True, kw_only=True):
    """One file: who rings and says what, the job's facts, the hidden truth, what was found."""

    title: str
    who: str
    told: str
    job: JobFile
    truth: Truth
    found: str


@dataclass(frozen=True, slots=True)
class DemoJob:
    """A job of the demonstration, ready to be played."""

    file: DemoFile
    source: JobSource


def demo_jobs(folder: Path = FOLDER) -> list[DemoJob]:
    """Every job of the demonstration, in the order of the file names."""
    return [read_demo_job(path) for path in sorted(folder.glob("*.yaml"))]


def read_demo_job(path: Path) -> DemoJob:
    """Read one file.

    Raises
    ------
    FileProblemsError
        With every problem: file:line, what, and how to mend it.
    """
    document = read_file(path, path.name)
    file = convert(document, DemoFile)
    assert isinstance(document.tree, dict)
    places = {p[1:]: at for p, at in document.places.items() if p[:1] == ("job",)}
    return DemoJob(file, JobSource(file.job, Document(document.tree["job"], places)))
