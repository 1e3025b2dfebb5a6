"""Make the inner loops fast where numba is installed; plain Python otherwise, same answers.

The loops are plain functions. Compiled, each is the same code with the compiled ones in
place of those that it calls, so nothing has to be imported before it is needed.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from functools import cache
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


@cache
def fast() -> Kernels | None:
    """Return the compiled loops, None where numba is not installed.

    Their cache is bound to the text of all of them: numba looks only at the file of the
    outermost one to see whether what it kept is still true.
    """
    os.environ.setdefault("NUMBA_OPT", "1")  # a third less time to compile, no slower here
    try:
        from numba import config, njit  # noqa: PLC0415 - an extra, and slow to import
    except ImportError:
        return None
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for path in (*sorted(here.glob("kernel_*.py")), *(here / name for name in SHAPES)):
        digest.update(path.read_bytes())
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    vars(config)["CACHE_DIR"] = str(home / "tubside" / f"kernels-{digest.hexdigest()[:16]}")
    made: dict[str, Any] = {}
    for module in IN_ORDER:
        for name, plain in vars(module).items():
            if isinstance(plain, FunctionType) and plain.__module__ == module.__name__:
                same = FunctionType(plain.__code__, {**vars(module), **made}, name)
                made[name] = njit(cache=True, error_model="numpy")(same)
    return Kernels(made["node_of"], made["settle"], made["search"])
