"""Settings of the pages."""

from __future__ import annotations

import tomllib
from pathlib import Path

FILE = Path(__file__).parents[1] / "pyproject.toml"
PROJECT = tomllib.loads(FILE.read_text(encoding="utf-8"))["project"]

project = PROJECT["name"].capitalize()
version = release = PROJECT["version"]
extensions = ["myst_parser"]
exclude_patterns = ["_build"]
myst_heading_anchors = 3
myst_enable_extensions = ["deflist", "colon_fence", "dollarmath"]
html_theme = "furo"
html_title = f"{project} {version}"
html_copy_source = False
html_show_sourcelink = False
