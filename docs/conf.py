"""Settings of the pages."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

FILE = Path(__file__).parents[1] / "pyproject.toml"
PROJECT = tomllib.loads(FILE.read_text(encoding="utf-8"))["project"]

sys.path.insert(0, str(Path(__file__).parent))  # for formulas.py

project = PROJECT["name"].capitalize()
version = release = PROJECT["version"]
extensions = ["myst_parser", "formulas"]
exclude_patterns = ["_build"]
myst_heading_anchors = 3
myst_enable_extensions = ["deflist", "colon_fence", "dollarmath"]
html_math_renderer = "mathml"
html_static_path = ["static"]
html_css_files = ["formulas.css"]
html_theme = "furo"
html_title = f"{project} {version}"
html_copy_source = False
html_show_copyright = False
html_show_sphinx = False
html_show_sourcelink = False
