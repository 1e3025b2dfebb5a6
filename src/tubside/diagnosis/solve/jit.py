"""Make the inner loops fast where numba is installed; plain Python otherwise, same answers.

The loops are plain functions. Compiled, each is the same code with the compiled ones in
place of those that it calls, so nothing has to be imported before it is needed.
"""

from __future__ import annotations

import hashlib
import os
import platform
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from types import FunctionType
from typing import Any, NamedTuple

from tubside.diagnosis.solve import (
    kernel_advice,
    kernel_floor,
    kernel_node,
    kernel_pairs,
    kernel_search,
    kernel_tries,
)

IN_ORDER = (kernel_floor, kernel_tries, kernel_pairs, kernel_node, kernel_advice, kernel_search)
"""A loop calls only what stands above it."""
SHAPES = ("given.py", "graph.py", "jit.py", "known_cause.py")


class Kernels(NamedTuple):
    """What the search calls."""

    node_of: Callable[..., int]
    settle: Callable[..., None]
    search: Callable[..., bool]


PLAIN = Kernels(kernel_node.node_of, kernel_node.settle, kernel_search.search)


def installed() -> bool:
    """Whether there is anything to compile with; numba itself is not loaded for that."""
    return find_spec("numba") is not None


def compiled() -> bool:
    """Whether this installation has compiled the loops as they are, on this machine."""
    return _mark().exists()


def note_compiled() -> None:
    """Note that the loops were compiled; where that cannot be written, it is not known later."""
    with suppress(OSError):
        _mark().parent.mkdir(parents=True, exist_ok=True)
        _mark().touch()


def _mark() -> Path:
    """An empty file; its name holds what numba binds compiled loops to."""
    name = f"{version('numba')} {platform.python_version()} {platform.node()}"
    digest = hashlib.sha256(name.encode()).hexdigest()[:16]
    return _folder() / f"compiled-{digest}"


@cache
def _folder() -> Path:
    """Where compiled loops are kept, bound to the text of all of them.

    Numba looks only at the file of the outermost one to see whether what it kept is true.
    """
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for path in (*sorted(here.glob("kernel_*.py")), *(here / name for name in SHAPES)):
        digest.update(path.read_bytes())
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return home / "tubside" / f"kernels-{digest.hexdigest()[:16]}"


@cache
def fast() -> Kernels | None:
    """Return the compiled loops, None where numba is not installed."""
    os.environ.setdefault("NUMBA_OPT", "1")  # a third less time to compile, no slower here
    try:
        from numba import config, njit  # noqa: PLC0415 - an extra, and slow to import
    except ImportError:
        return None
    vars(config)["CACHE_DIR"] = str(_folder())
    made: dict[str, Any] = {}
    for module in IN_ORDER:
        for name, plain in vars(module).items():
            if isinstance(plain, FunctionType) and plain.__module__ == module.__name__:
                same = FunctionType(plain.__code__, {**vars(module), **made}, name)
                made[name] = njit(cache=True, error_model="numpy")(same)
    return Kernels(made["node_of"], made["settle"], made["search"])
