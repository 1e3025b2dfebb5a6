"""Let the tests of this folder find the second engines beside them."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

# Without pyagrum they cannot be imported, and they hold no examples to run.
collect_ignore = ["all_plans.py", "independent.py", "one_node.py", "wildcatter.py"]
