"""The page about ``tubside solve`` shows files that are there and tells every key."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import msgspec
import pytest

from tubside.diagnosis.solve import problem_schema
from tubside.diagnosis.solve.problem_file import read_problem
from tubside.service.solving import CHOICES, as_data, solve_problem

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
EXAMPLE = DOCS / "examples" / "problems" / "drain.json"
HEADINGS: dict[str, type[msgspec.Struct]] = {
    "Whole file": problem_schema.ProblemRecord,
    "Check": problem_schema.CheckRecord,
    "Remedy": problem_schema.RemedyRecord,
    "Cover": problem_schema.CoverRecord,
    "Stop": problem_schema.StopRecord,
}


@pytest.fixture(scope="module")
def page() -> str:
    """Return the page."""
    return (DOCS / "solve.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def drawing() -> ModuleType:
    """Return the script that prints the outputs."""
    spec = importlib.util.spec_from_file_location("make_pictures", DOCS / "make_pictures.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rows(text: str, heading: str) -> list[str]:
    """Return what stands in the first column of the table below a heading."""
    below = re.split(rf"^#+ {re.escape(heading)}$", text, maxsplit=1, flags=re.MULTILINE)[1]
    below = re.split(r"^#", below, maxsplit=1, flags=re.MULTILINE)[0]
    return re.findall(r"^\| `([\w-]+)` \|", below, re.MULTILINE)


@pytest.mark.parametrize("heading", HEADINGS)
def test_every_field_is_described(page: str, heading: str) -> None:
    """Tests that the table of each record tells its fields, and no other."""
    kind = HEADINGS[heading]
    assert sorted(rows(page, heading)) == sorted(kind.__struct_encode_fields__)


def test_every_policy_is_described(page: str) -> None:
    """Tests that the policies of the command are told in their order."""
    assert rows(page, "Policies") == list(CHOICES)


def test_every_key_of_the_output_is_described(page: str) -> None:
    """Tests that the keys of the data are told in their order."""
    data = as_data(solve_problem(read_problem(EXAMPLE)))
    assert rows(page, "Output") == list(data)


def test_the_example_is_the_file(page: str) -> None:
    """Tests that the problem on the page is the one that its output comes from."""
    (block,) = re.findall(r"^```json\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    assert block == EXAMPLE.read_text(encoding="utf-8")


def test_the_output_is_that_of_today(page: str, drawing: ModuleType) -> None:
    """Tests that the page shows what is printed (else ``make pictures``)."""
    assert len(drawing.OUTPUT.findall(page)) == 1
    assert drawing.filled(page) == page


def test_the_drawing_is_that_of_today(drawing: ModuleType, tmp_path: Path) -> None:
    """Tests that the picture on the page is what is drawn (else ``make pictures``)."""
    drawing.draw_plan(solve_problem(read_problem(EXAMPLE)), tmp_path / "plan.svg")
    kept = (DOCS / "pictures" / "plan.svg").read_text(encoding="utf-8")
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8") == kept


def test_the_lines_of_python_work(page: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that what the page says to type in Python runs as it stands."""
    (block,) = re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    monkeypatch.chdir(EXAMPLE.parent)
    exec(compile(block, "solve.md", "exec"), {})  # noqa: S102  # our own page
