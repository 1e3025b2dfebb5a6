"""``python -m tubside``: the same as the ``tubside`` command."""

from __future__ import annotations

from tubside.cli import main

if __name__ == "__main__":
    main(prog_name="tubside")
